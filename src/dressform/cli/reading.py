"""Bodies and garments read as the shared options say."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from dressform.body.body import Body
from dressform.cli.arguments import Following, Reading, strengths
from dressform.errors import ArgumentError
from dressform.formats.gltf import scene_has_surface
from dressform.formats.load import STRENGTH_ATTRIBUTE, BodyFile, GarmentFile, load_bodies, load_body, load_garment
from dressform.formats.scene import scene_names
from dressform.garment.garment import Garment
from dressform.garment.strength import DEFAULT_FALLOFF, with_strength
from dressform.report.units import MM_PER_M


def read_bodies(path: Path, how: Reading) -> tuple[BodyFile, ...]:
    """Every base shape of a file, or the one that is named."""
    if how.base is not None:
        return (read_body(path, how),)
    return load_bodies(path, morphs_dir=how.morphs, range_file=how.range_, units=how.units, up=how.up)


def read_body(path: Path, how: Reading) -> BodyFile:
    """One base shape: the one that is named, else the one that the file shows first; a note tells of the others."""
    one = load_body(path, base=how.base, morphs_dir=how.morphs, range_file=how.range_, units=how.units, up=how.up)
    others = _other_bases(one) if how.base is None else []
    if not others:
        return one
    note = f"The file holds {', '.join(others)} too; --base chooses."
    return replace(one, body=replace(one.body, notes=(*one.body.notes, note)))


def _other_bases(one: BodyFile) -> list[str]:
    """Names of the base shapes that the file holds beside the one that was read."""
    document = one.document
    if document is None:
        return []
    names = scene_names(document)
    return [name for scene, name in enumerate(names) if name != one.body.name and scene_has_surface(document, scene)]


def read_garments(paths: Sequence[Path], how: Reading, follow: Following, *, worn_by: Body) -> list[GarmentFile]:
    """Garments of one body, each with a name of its own, that follow as strongly as the options say.

    Raises:
        ArgumentError: two files have the same name, so that their results could not be told apart.
    """
    names = [path.stem for path in paths]
    for name in names:
        if names.count(name) > 1:
            raise ArgumentError.of(
                "check", "garments", "named differently", f"{name!r} twice", "Rename one file or check them apart"
            )
    mask = follow.mask or STRENGTH_ATTRIBUTE
    files = [load_garment(path, units=how.units, up=how.up, strength=mask, beside=worn_by) for path in paths]
    overall, parts = strengths(follow)
    known = {part for one in files for part in one.garment.part_names}
    for part in parts:
        if part not in known:
            rule = f"parts of the garments: {', '.join(sorted(known))}"
            raise ArgumentError.of("check", "strength", rule, repr(part), "Use one of these")
    if not (follow.strength or follow.off or follow.falloff is not None):
        return files
    falloff = DEFAULT_FALLOFF if follow.falloff is None else follow.falloff / MM_PER_M
    return [replace(one, garment=_weakened(one.garment, overall, parts, falloff)) for one in files]


def _weakened(garment: Garment, overall: float, parts: Mapping[str, float], falloff: float) -> Garment:
    """The garment with the strengths asked for; parts of other garments are passed over."""
    own = {name: value for name, value in parts.items() if name in garment.part_names}
    return with_strength(garment, overall=overall, parts=own, mask=garment.strength, falloff=falloff)
