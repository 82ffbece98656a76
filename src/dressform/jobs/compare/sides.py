"""Sides of a comparison that are measured now: methods, settings and repairs over the same garments and shapes."""

import time
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from dressform.body.body import Body
from dressform.body.shapes import Shape, ShapeSettings, distinct
from dressform.body.stance import Stance
from dressform.causes.explained_garment import explained_wardrobe
from dressform.errors import ArgumentError
from dressform.faults.severity import DEFAULT_BANDS, Bands
from dressform.fit.fit import Fit
from dressform.fit.shaped import ShapedFit
from dressform.formats.results.check_json import to_results
from dressform.formats.results.check_report import CheckReport
from dressform.formats.results.check_schema import StoredResults
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.jobs.arguments import refuse_stances
from dressform.jobs.check_result import CheckResult
from dressform.jobs.fit import fit
from dressform.jobs.progress import Progress, stage
from dressform.jobs.provenance import now
from dressform.jobs.repair import repair
from dressform.mesh.tree import Tree
from dressform.sweep.run import choose_shapes, run_sweep

COMPARED_SHAPES = ShapeSettings(strongest=0, sobol=16)
"""Shapes of a comparison: both ends of each morph, an even spread, and the corners that are worst for any side."""


@dataclass(frozen=True)
class Side:
    """One side: how every garment follows.

    Attributes:
        name: What it is called.
        following: How garments follow, by name; `default` for others.
        default: How garments follow that are not named.
        repaired: Whether they are repaired over the whole range.
    """

    name: str
    following: Mapping[str, Following]
    default: Following
    repaired: bool = False

    def of(self, garment: str) -> Following:
        """How a garment follows."""
        return self.following.get(garment, self.default)


@dataclass(frozen=True)
class MeasuredSides:
    """Several sides, measured at the same shapes and stances.

    Attributes:
        check: All of them as one check, whose garments have the side's name as their method.
        keys: The keys of each side's garments, by the side's name.
    """

    check: CheckResult
    keys: Mapping[str, tuple[str, ...]]

    @property
    def report(self) -> CheckReport:
        """What was found, with the names of the sides as methods."""
        side_of = {key: name for name, keys in self.keys.items() for key in keys}
        garments = tuple(replace(one, method=side_of[one.key], given_key=one.key) for one in self.check.report.garments)
        return replace(self.check.report, garments=garments)

    def results(self, side: str) -> StoredResults:
        """The results of one side, as a check of it alone would write them."""
        whole = self.report
        chosen = tuple(one for one in whole.garments if one.key in self.keys[side])
        return to_results(replace(whole, garments=chosen))


@dataclass(frozen=True)
class SideSettings:
    """At what all sides are measured.

    Attributes:
        shapes: Which shapes, beside the base and those that are worst for any side.
        stances: Stances beside rest.
        bands: From which value on a fault is slight, moderate, grave.
        workers: Processes that measure.
    """

    shapes: ShapeSettings = COMPARED_SHAPES
    stances: Sequence[Stance] = ()
    bands: Bands = DEFAULT_BANDS
    workers: int = 1


DEFAULT_SIDES = SideSettings()
"""At what sides are measured where nothing else is said."""


def measure_sides(
    body: Body,
    garments: Sequence[Garment],
    sides: Sequence[Side],
    settings: SideSettings = DEFAULT_SIDES,
    *,
    progress: Progress | None = None,
) -> MeasuredSides:
    """Fit every garment on every side, and measure all at the same shapes: those that are worst for any side too.

    Args:
        body: The body.
        garments: The garments, of different names.
        sides: Two or more, of different names.
        settings: At what they are measured.
        progress: Told how far it has come.

    Raises:
        ArgumentError: fewer than two sides, two of one name, or as for `fit`.
        DressformError: a garment cannot be fitted or measured on a side.
    """
    names = [side.name for side in sides]
    if len(set(names)) < max(len(names), 2):
        raise ArgumentError.of("compare", "sides", "two or more, of different names", ", ".join(names), "Name others")
    start, tree = time.perf_counter(), Tree(body.vertices, body.faces)
    fits: dict[str, Fit] = {}
    seconds: dict[str, float] = {}
    told = stage(progress, "fitting")
    for number, (side, garment) in enumerate((side, garment) for side in sides for garment in garments):
        began, key = time.perf_counter(), _key(garment.name, side.name)
        fits[key] = _fitted(body, garment, side, tree)
        seconds[key] = time.perf_counter() - began
        if told is not None:
            told(number + 1, len(sides) * len(garments))
    refuse_stances("compare", settings.stances, fits.values())
    chosen = _same_shapes(fits, garments, sides, settings)
    check = measured_fits(fits, chosen, settings, seconds=seconds, start=start, progress=progress)
    return MeasuredSides(
        check, {side.name: tuple(_key(garment.name, side.name) for garment in garments) for side in sides}
    )


def measured_fits(
    fits: Mapping[str, Fit],
    chosen: Mapping[str, Sequence[Shape]],
    settings: SideSettings,
    *,
    seconds: Mapping[str, float],
    start: float,
    notes: Mapping[str, tuple[str, ...]] | None = None,
    progress: Progress | None = None,
) -> CheckResult:
    """Fits measured at their shapes, as a check.

    Args:
        fits: The fits by key.
        chosen: Their shapes by the same keys.
        settings: At what they are measured.
        seconds: What each took to fit.
        start: When the work began, as `time.perf_counter` told it.
        notes: What must be known of each.
        progress: Told how far it has come.
    """
    wardrobe = explained_wardrobe(bands=settings.bands)
    swept = run_sweep(
        fits, chosen, bands=settings.bands, workers=settings.workers, progress=stage(progress, "measuring"),
        wardrobe=wardrobe,
    )  # fmt: skip
    return CheckResult(
        fits, swept, None, settings.shapes, settings.bands, settings.workers, now(), time.perf_counter() - start,
        wardrobe, setup_seconds=seconds, stances=tuple(settings.stances), notes=notes or {},
    )  # fmt: skip


def _key(garment: str, side: str) -> str:
    return f"{garment} {side}"


def _fitted(body: Body, garment: Garment, side: Side, tree: Tree) -> Fit:
    made = fit(body, garment, side.of(garment.name), tree=tree)
    return repair(made, tree=tree).fit if side.repaired else made


def _same_shapes(
    fits: Mapping[str, Fit],
    garments: Sequence[Garment],
    sides: Sequence[Side],
    settings: SideSettings,
) -> dict[str, list[Shape]]:
    """For all sides of a garment the shapes of each; where one is known by a folder of meshes, those alone."""
    own = choose_shapes(fits, settings=settings.shapes, stances=settings.stances)
    chosen: dict[str, list[Shape]] = {}
    for garment in garments:
        keys = [_key(garment.name, side.name) for side in sides]
        fixed = [key for key in keys if isinstance(one := fits[key], ShapedFit) and one.fixed is not None]
        there: dict[bytes, list[Shape]] = {}
        for shape in (shape for key in fixed or keys for shape in own[key]):
            there.setdefault(b"" if shape.stance is None else shape.stance.worlds.tobytes(), []).append(shape)
        same = [
            Shape(_renamed(shape, number), shape.weights, shape.stance)
            for found in there.values()
            for number, shape in enumerate(distinct(found))
        ]
        chosen |= {key: same for key in keys}
    return chosen


def _renamed(shape: Shape, number: int) -> str:
    """Labels of worst corners, which each side numbers by itself, told apart."""
    return f"worst {number}" if shape.label.startswith("worst ") else shape.label
