"""Reading several garments of one body: one that is broken is told, and the others are read."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from dressform.body.body import Body
from dressform.errors import ArgumentError, DressformError
from dressform.formats.guards.file_names import stem_of
from dressform.formats.masks import STRENGTH_ATTRIBUTE
from dressform.formats.results.failed import FailedGarment
from dressform.garment.garment import Garment
from dressform.jobs.load import load_garment


@dataclass(frozen=True, eq=False)
class LoadedGarments:
    """Garments that were read, and those that could not be.

    Attributes:
        garments: In the order asked for.
        failed: Those that are broken, each with the reason.
    """

    garments: tuple[Garment, ...]
    failed: tuple[FailedGarment, ...] = ()


def load_garments(
    paths: Sequence[Path],
    *,
    beside: Body,
    masks: Mapping[str, str] | None = None,
    units: str | None = None,
    up: str | None = None,
) -> LoadedGarments:
    """Read garments; one that is broken is told in the result, unless none is sound.

    Args:
        paths: Their files, of different names.
        beside: The body that they are worn on.
        masks: By name, the attribute that says how strongly each vertex follows; see `load_garment`.
        units: As for `load_garment`.
        up: As for `load_garment`.

    Raises:
        FileError, MeshError, MatchError: the only garment is broken; where there are several, all of them.
        ArgumentError: an argument is not valid.
    """
    garments, failed = [], []
    for path in paths:
        name = stem_of(path)
        try:
            mask = (masks or {}).get(name, STRENGTH_ATTRIBUTE)
            garments.append(load_garment(path, units=units, up=up, mask=mask, beside=beside))
        except ArgumentError:  # a wrong call, whatever the file
            raise
        except DressformError as error:
            if len(paths) == 1:
                raise
            failed.append(FailedGarment(name=name, file=str(path), stage="read", reason=str(error)))
    if failed and not garments:
        raise none_left(failed)
    return LoadedGarments(tuple(garments), tuple(failed))


def none_left(failed: Sequence[FailedGarment]) -> DressformError:
    """What to say where every garment of several is broken."""
    return DressformError(f"No garment is sound. {' '.join(one.sentence for one in failed)}")
