"""The whole job: how garments should follow, by what each way leaves over the range, and the file that says so."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from dressform.body.body import Body
from dressform.body.shapes import ShapeSettings
from dressform.body.stance import Stance
from dressform.calls import called, refuse_misfit
from dressform.errors import ArgumentError, DressformError
from dressform.faults.severity import DEFAULT_BANDS, Bands
from dressform.fit.fit import Fit
from dressform.formats.following_file import write_following
from dressform.formats.results.failed import FailedGarment
from dressform.formats.results.suggest_schema import StoredSuggestions
from dressform.garment.following import DEFAULT_FOLLOWING, Following
from dressform.garment.garment import Garment
from dressform.garment.methods import is_lifted
from dressform.jobs.arguments import refuse_stances, refuse_workers, shape_settings
from dressform.jobs.check import DEFAULT_SHAPES, check
from dressform.jobs.check_report import body_source, garment_source
from dressform.jobs.fit import fit
from dressform.jobs.progress import Progress, stage
from dressform.jobs.provenance import now, versions
from dressform.jobs.suggest.comments import comments_of
from dressform.jobs.suggest.stored import stored_garment
from dressform.jobs.suggest.verified import Checked, suggest_all
from dressform.report.tables.suggestion import print_suggestions
from dressform.report.tables.text import WIDE_WIDTH, printed_text


@dataclass(frozen=True, eq=False, repr=False)
class SuggestResult:
    """How garments should follow; `print` shows the verdict and the tables that a person reads.

    Attributes:
        told: Everything that was found, in the units that people read.
        followings: How each garment should follow, by name; as it does where nothing should change.
    """

    told: StoredSuggestions
    followings: Mapping[str, Following]

    @property
    def differs(self) -> bool:
        """Whether a garment should follow differently."""
        return bool(self.told.differing)

    def __str__(self) -> str:
        return printed_text(lambda console: print_suggestions(self.told, console), width=WIDE_WIDTH)

    def __repr__(self) -> str:
        names = ", ".join(one.name for one in self.told.differing) or "none"
        return f"<SuggestResult of {len(self.told.garments)} garments; should follow differently: {names}>"


@called("suggest_following", apart=("garments", "following", "shapes", "stances", "workers"))
def suggest_following(
    body: Body,
    garments: Garment | Sequence[Garment],
    following: Following | Mapping[str, Following] = DEFAULT_FOLLOWING,
    *,
    shapes: ShapeSettings | int = DEFAULT_SHAPES,
    stances: Sequence[Stance] = (),
    bands: Bands = DEFAULT_BANDS,
    workers: int = 1,
    failed: Sequence[FailedGarment] = (),
    progress: Progress | None = None,
) -> SuggestResult:
    """Find out how garments should follow: on or off, how strongly, how soft the rim, stiff, per part or painted.

    Each way is measured on the shapes that tell most; what eases most is checked over the whole range as `check` does.
    Nothing is suggested that makes any fault graver on any shape that either check looks at.

    Args:
        body: The body.
        garments: One garment, or several of different names.
        following: How they follow now, for all or by name; it must be by a lift of ours.
        shapes: Which shapes a check looks at, beside the base and the worst corners of the range.
        stances: Stances to look at beside rest.
        bands: From which value on a fault is slight, moderate, grave.
        workers: Processes that check at the same time.
        failed: Garments that could not be read, to be told in the result.
        progress: Told how far it has come.

    Raises:
        ArgumentError: no garments, two of one name, one follows by a method that is not ours, or as for `check`.
        DressformError: a single garment cannot be fitted or measured; of several it is told, and the others go on.

    Proof: tests/jobs/suggest/test_suggest_following.py
    """
    listed = [garments] if isinstance(garments, Garment) else list(garments)
    starts = _starts(listed, following)
    looked = shape_settings("suggest_following", shapes, DEFAULT_SHAPES)
    refuse_workers("suggest_following", workers)
    fits, broken = _fitted(body, listed, starts)
    refuse_stances("suggest_following", stances, fits.values())

    def checked(asked: Mapping[str, Fit], words: str) -> Checked:
        told = stage(progress, words)
        result = check(
            asked, shapes=looked, stances=stances, bands=bands, workers=workers, causes=False,
            progress=None if told is None else lambda done, of, _: told(done, of),
        )  # fmt: skip
        broken.extend(result.failed)
        return {key: result.swept.of(key) for key in result.fits}

    step = stage(progress, "trying ways to follow")
    found = suggest_all(body, listed, fits, check=checked, bands=bands, searched=step)
    told = StoredSuggestions(
        made=now(),
        versions=dict(versions()),
        body=body.name,
        source=body_source(body),
        shapes=looked.sobol,
        stances=tuple(one.name for one in stances),
        garments=tuple(stored_garment(one) for one in found),
        failed=(*failed, *broken),
    )
    return SuggestResult(told, {one.garment.name: one.following for one in found})


def write_suggestion(result: SuggestResult, path: Path) -> tuple[Path, ...]:
    """Write the settings file, with the reason of each line as a comment; painted strengths lie beside it.

    Returns:
        The files written, the TOML first.

    Raises:
        FileError: a file cannot be written.
    """
    return write_following(
        path, result.followings, comments={one.name: comments_of(one) for one in result.told.garments}
    )


def _starts(garments: Sequence[Garment], following: Following | Mapping[str, Following]) -> dict[str, Following]:
    """How each garment follows now."""
    for one in garments:
        refuse_misfit("suggest_following", "garments", one, Garment)
    names = [one.name for one in garments]
    if len(set(names)) != max(len(names), 1):
        rule, advice = "one or more, of different names", "Name others"
        raise ArgumentError.of("suggest_following", "garments", rule, ", ".join(names) or "none", advice)
    if isinstance(following, Following):
        starts = dict.fromkeys(names, following)
    else:
        refuse_misfit("suggest_following", "following", following, Mapping[str, Following])
        starts = {name: following.get(name, DEFAULT_FOLLOWING) for name in names}
    for name, start in starts.items():
        if not is_lifted(start.method):
            rule, observed = "by a lift of ours, whose strength can be set", f"{start.method} for {name!r}"
            advice = "Leave the method out: then `smooth` lifts it"
            raise ArgumentError.of("suggest_following", "following.method", rule, observed, advice)
    return starts


def _fitted(
    body: Body, garments: Sequence[Garment], starts: Mapping[str, Following]
) -> tuple[dict[str, Fit], list[FailedGarment]]:
    """Every garment as it follows now, and those that cannot be fitted."""
    fits: dict[str, Fit] = {}
    broken: list[FailedGarment] = []
    for garment in garments:
        try:
            fits[garment.name] = fit(body, garment, starts[garment.name])
        except ArgumentError:
            raise
        except DressformError as error:
            if len(garments) == 1:
                raise
            file = garment_source(garment).file
            broken.append(FailedGarment(name=garment.name, file=file, stage="fitted", reason=str(error)))
    if not fits:
        raise DressformError(" ".join(one.sentence for one in broken))
    return fits, broken
