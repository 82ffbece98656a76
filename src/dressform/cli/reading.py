"""Bodies and garments read as the shared options say."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from dressform.body.body import Body
from dressform.cli.arguments import Following, Reading, strengths
from dressform.cli.settings import NOTHING_SAVED, Saved, settled, weakened
from dressform.errors import ArgumentError
from dressform.formats.gltf.read import scene_has_surface
from dressform.formats.gltf.scene import scene_names
from dressform.formats.load import STRENGTH_ATTRIBUTE, BodyFile, GarmentFile, load_bodies, load_body, load_garment


def read_bodies(path: Path, how: Reading) -> tuple[BodyFile, ...]:
    """Every base body of a file, or the one that is named."""
    if how.base is not None:
        return (read_body(path, how),)
    return load_bodies(path, morphs_dir=how.morphs, range_file=how.range_, units=how.units, up=how.up)


def read_body(path: Path, how: Reading) -> BodyFile:
    """One base body: the one that is named, else the one that the file shows first; a note tells of the others."""
    one = load_body(path, base=how.base, morphs_dir=how.morphs, range_file=how.range_, units=how.units, up=how.up)
    others = _other_bases(one) if how.base is None else []
    if not others:
        return one
    note = f"The file holds {', '.join(others)} too; --base chooses."
    return replace(one, body=replace(one.body, notes=(*one.body.notes, note)))


def read_others(one: BodyFile, how: Reading) -> tuple[Body, ...]:
    """The base bodies that the file of a body holds beside it: shapes that a garment may have been modelled on."""
    return tuple(
        load_body(one.path, base=name, morphs_dir=how.morphs, range_file=how.range_, units=how.units, up=how.up).body
        for name in _other_bases(one)
    )


def _other_bases(one: BodyFile) -> list[str]:
    """Names of the base bodies that the file holds beside the one that was read."""
    document = one.document
    if document is None:
        return []
    names = scene_names(document)
    return [name for scene, name in enumerate(names) if name != one.body.name and scene_has_surface(document, scene)]


def read_garments(
    paths: Sequence[Path], how: Reading, follow: Following, *, worn_by: Body, saved: Saved = NOTHING_SAVED
) -> list[GarmentFile]:
    """Garments of one body, each with a name of its own, that follow as strongly as options and settings say.

    Raises:
        ArgumentError: two files have the same name, so that their results could not be told apart, or a part is named
            that none of them has.
    """
    names = [path.stem for path in paths]
    for name in names:
        if names.count(name) > 1:
            raise ArgumentError.of(
                "check", "garments", "named differently", f"{name!r} twice", "Rename one file or check them apart"
            )
    methods = [settled(follow, saved, name) for name in names]
    files = [
        load_garment(path, units=how.units, up=how.up, strength=method.mask or STRENGTH_ATTRIBUTE, beside=worn_by)
        for path, method in zip(paths, methods)
    ]
    known = {part for one in files for part in one.garment.part_names}
    for part in strengths(follow)[1]:
        if part not in known:
            rule = f"parts of the garments: {', '.join(sorted(known))}"
            raise ArgumentError.of("check", "strength", rule, repr(part), "Use one of these")
    return [replace(one, garment=weakened(one.garment, method)) for one, method in zip(files, methods)]
