"""Reads bodies and garments by the shared options."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from dressform.body.body import Body
from dressform.cli.arguments import FollowingOptions, ReadingOptions
from dressform.cli.settings import NOTHING_SAVED, Saved, of_garment, settled
from dressform.errors import ArgumentError
from dressform.formats.guards.file_names import stem_of
from dressform.formats.load import (
    STRENGTH_ATTRIBUTE,
    BodyFile,
    GarmentFile,
    load_bodies,
    load_body,
    load_garment,
    other_bases,
)
from dressform.garment.following import Following


def read_bodies(path: Path, how: ReadingOptions) -> tuple[BodyFile, ...]:
    """Every base body of a file, or the one that is named."""
    if how.base is not None:
        return (read_body(path, how),)
    return load_bodies(path, morphs_dir=how.morphs, range_file=how.range_, units=how.units, up=how.up, front=how.front)


def read_body(path: Path, how: ReadingOptions) -> BodyFile:
    """One base body: the one that is named, else the first that the file shows; a note lists the others."""
    one = load_body(
        path, base=how.base, morphs_dir=how.morphs, range_file=how.range_, units=how.units, up=how.up, front=how.front
    )
    others = other_bases(one) if how.base is None else []
    if not others:
        return one
    note = f"The file holds {', '.join(others)} too; --base chooses."
    return replace(one, body=replace(one.body, notes=(*one.body.notes, note)))


@dataclass(frozen=True)
class Asked:
    """A garment that was read, and how it is to follow.

    Attributes:
        file: The garment and its file.
        following: What options and settings say of it.
    """

    file: GarmentFile
    following: Following

    @property
    def name(self) -> str:
        """Name of the garment."""
        return self.file.garment.name


def read_garments(
    paths: Sequence[Path],
    how: ReadingOptions,
    options: FollowingOptions | None = None,
    *,
    worn_by: Body,
    saved: Saved = NOTHING_SAVED,
    method: str | None = None,
    margin_mm: float | None = None,
) -> list[Asked]:
    """Garments of one body, each with a name of its own, and how they follow by options and settings.

    Raises:
        ArgumentError: two files have the same name, so that their results could not be told apart, an option is not
            valid, or it names a part that none of them has.
    """
    names, options = [stem_of(path) for path in paths], options or FollowingOptions()
    for name in names:
        if names.count(name) > 1:
            raise ArgumentError.of(
                "check", "garments", "named differently", f"{name!r} twice", "Rename one file or check them apart"
            )
    said = [settled(options, saved, name, method=method, margin_mm=margin_mm) for name in names]
    masks = [one.mask if isinstance(one.mask, str) else STRENGTH_ATTRIBUTE for one in said]
    files = [
        load_garment(
            path,
            units=how.garment_units or how.units,
            up=how.garment_up or how.up,
            strength=mask,
            beside=worn_by,
        )
        for path, mask in zip(paths, masks)
    ]
    known = {part for one in files for part in one.garment.part_names}
    for part in options.parts:
        if part not in known:
            rule = f"parts of the garments: {', '.join(sorted(known))}"
            raise ArgumentError.of("check", "strength", rule, repr(part), "Use one of these")
    return [Asked(file, of_garment(following, file.garment)) for file, following in zip(files, said)]
