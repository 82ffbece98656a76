"""Reads bodies and garments by the shared options."""

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from dressform.body.body import Body
from dressform.body.stances.found import FoundStances
from dressform.cli.arguments import BodyReading, FollowingOptions, ReadingOptions
from dressform.cli.settings import NOTHING_SAVED, Saved, settled
from dressform.cli.standard_input import given
from dressform.errors import ArgumentError, DressformError
from dressform.formats.guards.file_names import stem_of
from dressform.formats.guards.limits import GIB, set_memory_limit
from dressform.formats.results.failed import FailedGarment
from dressform.formats.results.receipt_read import following_by_receipt
from dressform.garment.following import NO_JOINTS, Following, for_garment
from dressform.garment.garment import Garment
from dressform.jobs.load import load_bodies, load_body
from dressform.jobs.load_garments import load_garments
from dressform.jobs.methods.code import set_time_limit
from dressform.jobs.stances import NONE, find_stances


def read_bodies(path: Path, how: BodyReading | None) -> tuple[Body, ...]:
    """Every base body of a file, or the one that is named."""
    if how is not None and how.base is not None:
        return (read_body(path, how),)
    return load_bodies(given(path), **_of_body(how))


def read_body(path: Path, how: BodyReading | None) -> Body:
    """One base body: the one that is named, else the first that the file shows; a note lists the others."""
    return load_body(given(path), base=None if how is None else how.base, **_of_body(how))


def allow_memory(how: BodyReading) -> None:
    """Let reading take as much memory as was asked for; as much as ever where nothing was."""
    if how.memory is not None:
        set_memory_limit(round(how.memory * GIB))


def _of_body(how: BodyReading | None) -> dict[str, Any]:
    """The options by the arguments of `load_body`."""
    how = how or BodyReading()
    allow_memory(how)
    return {"morphs_dir": how.morphs, "range_file": how.range_, "units": how.units, "up": how.up, "front": how.front}


@dataclass(frozen=True)
class Asked:
    """A garment that was read, and how it is to follow.

    Attributes:
        garment: The garment; its source is its file.
        following: What options and settings say of it.
    """

    garment: Garment
    following: Following

    @property
    def name(self) -> str:
        """Name of the garment."""
        return self.garment.name


@dataclass(frozen=True)
class AskedGarments:
    """Garments that were read, and those that could not be.

    Attributes:
        sound: Those that were read.
        failed: Those that are broken, each with the reason.
    """

    sound: tuple[Asked, ...]
    failed: tuple[FailedGarment, ...] = ()

    def whole(self) -> tuple[Asked, ...]:
        """All of them, where all are needed.

        Raises:
            DressformError: one is broken.
        """
        if self.failed:
            raise DressformError(" ".join(one.sentence for one in self.failed))
        return self.sound


def read_garments(
    paths: Sequence[Path],
    how: ReadingOptions | None,
    options: FollowingOptions | None = None,
    *,
    worn_by: Body,
    saved: Saved = NOTHING_SAVED,
    method: str | None = None,
    margin_mm: float | None = None,
    as_filed: bool = False,
) -> AskedGarments:
    """Garments of one body, each with a name of its own, and how they follow by options and settings.

    Of several garments one that is broken is told in the result, and the others are read.

    Args:
        as_filed: Whether a garment that carries a receipt of ours follows as its file holds it where nothing else is
            said, with the settings that it was fitted with.

    Raises:
        ArgumentError: two files have the same name, so that their results could not be told apart, an option is not
            valid, or it names a part that none of them has.
        DressformError: no garment can be read.
    """
    paths = [given(path) for path in paths]
    names, how, options = [stem_of(path) for path in paths], how or ReadingOptions(), options or FollowingOptions()
    for name in names:
        if names.count(name) > 1:
            raise ArgumentError.of(
                "check", "garments", "named differently", f"{name!r} twice", "Rename one file or check them apart"
            )
    if options.time_limit is not None:
        set_time_limit(options.time_limit)
    if as_filed:
        carried = {name: found for name, path in zip(names, paths) if (found := following_by_receipt(path)) is not None}
        saved = {**carried, **saved}
    said = {name: settled(options, saved, name, method=method, margin_mm=margin_mm) for name in names}
    masks = {name: one.mask for name, one in said.items() if isinstance(one.mask, str)}
    units, up = how.garment_units or how.units, how.garment_up or how.up
    loaded = load_garments(paths, beside=worn_by, masks=masks, units=units, up=up)
    if not loaded.failed:  # a part that is not found may be one of a garment that was not read
        _refuse_unknown_parts(options, loaded.garments)
    sound = tuple(Asked(one, for_garment(said[one.name], one)) for one in loaded.garments)
    return AskedGarments(sound, loaded.failed)


def stances_of(body: Body, asked: str | None, garments: AskedGarments) -> FoundStances:
    """The stances that `--stances` asks for; without the option none where a garment is to have no joint weights.

    Raises:
        ArgumentError, FileError: see `find_stances`.
    """
    rigid = [one.name for one in garments.sound if one.following.joint_weights == NO_JOINTS]
    if rigid and asked not in (None, NONE):
        rule, advice = f"{NONE!r} where a garment has no joint weights", "Leave one of both out"
        raise ArgumentError.of("check", "asked", rule, f"{asked!r} and {', '.join(rigid)} without", advice)
    if asked is not None or not rigid or body.skeleton is None:
        return find_stances(body, asked)
    note = f"{', '.join(rigid)} has no joint weights, so garments are looked at in the modelled pose alone."
    return FoundStances(source=NONE, notes=(note,))


def _refuse_unknown_parts(options: FollowingOptions, garments: Sequence[Garment]) -> None:
    known = {part for one in garments for part in one.part_names}
    for argument, parts in (("strength", options.parts), ("part_joints", options.part_joints)):
        for part in parts:
            if part not in known:
                rule = f"parts of the garments: {', '.join(sorted(known))}"
                raise ArgumentError.of("check", argument, rule, repr(part), "Use one of these")
