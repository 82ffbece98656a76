"""From a number to a word: at which values a fault is slight, moderate or grave."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields

import numpy as np

from dressform.errors import ArgumentError
from dressform.faults.results import SEVERITIES, Broken, Ease, Pucker, ShowThrough, Stretch

Band = tuple[float, float, float]
"""The values from which on a fault is slight, moderate and grave; below the first it is clean."""


@dataclass(frozen=True)
class Bands:
    """Default bands, one per fault. A value counts from the bound on. `docs/faults.md` gives the reasons.

    Attributes:
        exposed: Skin come through the cloth, m². 0.2 cm² is a speck, 2 cm² a thumbnail, 20 cm² a palm.
        inside: Share of the cloth's area newly inside the body.
        depth: Deepest cloth under the skin, metres. 1 mm is what published work tolerates.
        pucker: 99th percentile of the pucker index (of a shirt, a palm puckers more); a guess to be tuned with
            viewers.
        stretch: 99th percentile of |ln stretch| against the skin: 16 %, 35 %, 82 % longer or shorter.
        ease: Clearance that the worse of the 5th and 95th percentile has lost or gained, metres. By 2πc these are
            3, 9 and 19 cm of girth: within one size interval, two sizes, another garment.
        folded: Triangles turned over.
        crossing: Pairs of the garment's triangles that newly cross.
        seam: Widest gap in a seam, metres.
        hard: Bending of a hard part, metres.
        layers: Vertices of an outer layer that have come under an inner one.
    """

    exposed: Band = (0.2e-4, 2e-4, 20e-4)
    inside: Band = (0.0005, 0.005, 0.03)
    depth: Band = (0.001, 0.003, 0.010)
    pucker: Band = (0.005, 0.02, 0.03)
    stretch: Band = (0.15, 0.30, 0.60)
    ease: Band = (0.005, 0.015, 0.030)
    folded: Band = (1.0, 10.0, 100.0)
    crossing: Band = (1.0, 20.0, 200.0)
    seam: Band = (0.0001, 0.0005, 0.002)
    hard: Band = (0.0005, 0.002, 0.005)
    layers: Band = (1.0, 20.0, 200.0)

    def grade(self, fault: str, value: float) -> str:
        """Severity of a value of a fault: the last word whose bound it reaches."""
        bounds: Band = getattr(self, fault)
        return SEVERITIES[int(np.searchsorted(bounds, value, side="right"))]


BAND_NAMES = tuple(field.name for field in fields(Bands))


def make_bands(settings: Mapping[str, object]) -> Bands:
    """Bands from plain settings; faults that are not named keep their defaults.

    Args:
        settings: Per fault three rising bounds: slight, moderate, grave. Units as in `Bands`.

    Raises:
        ArgumentError: a name is no fault (the valid ones are listed), or its bounds are not three rising positive
            numbers.
    """
    bands: dict[str, Band] = {}
    for name, bounds in settings.items():
        if name not in BAND_NAMES:
            raise ArgumentError.of(
                "make_bands", "settings", f"named {', '.join(BAND_NAMES)}", repr(name), "Use one of these names"
            )
        if not (isinstance(bounds, Sequence) and _is_band(bounds)):
            raise ArgumentError.of(
                "make_bands",
                f"settings[{name!r}]",
                "three rising positive numbers: slight, moderate, grave",
                repr(bounds),
                "Correct these bounds",
            )
        bands[name] = (float(bounds[0]), float(bounds[1]), float(bounds[2]))
    return Bands(**bands)


def _is_band(bounds: Sequence[object]) -> bool:
    if len(bounds) != len(SEVERITIES) - 1:
        return False
    if not all(isinstance(bound, int | float) and not isinstance(bound, bool) for bound in bounds):
        return False
    values = np.array(bounds, dtype=np.float64)
    return bool(np.all(np.isfinite(values)) and values[0] > 0 and np.all(np.diff(values) > 0))


def graded_values(
    show_through: ShowThrough, pucker: Pucker, stretch: Stretch, ease: Ease, broken: Broken
) -> dict[str, float]:
    """The one number of each fault that its band judges, in the unit of the band."""
    return {
        "exposed": show_through.exposed_area,
        "inside": show_through.inside_share,
        "depth": show_through.depth_max,
        "pucker": pucker.p99,
        "stretch": stretch.relative_p99,
        "ease": max(abs(ease.drift_p5), abs(ease.drift_p95)),
        "folded": float(broken.folded_faces),
        "crossing": float(broken.crossing_pairs),
        "seam": broken.seam_opening,
        "hard": broken.hard_bend,
        "layers": float(broken.layer_swaps),
    }
