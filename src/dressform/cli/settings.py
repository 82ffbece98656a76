"""How each garment follows: what the options say, and for the rest what a file of settings says."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Annotated

import msgspec
from cyclopts import Parameter

from dressform.cli.arguments import Following, strengths
from dressform.errors import ArgumentError, FileError
from dressform.formats.following_file import FollowingEntry, FollowingSettings, read_following
from dressform.garment.garment import FULL_STRENGTH, Garment
from dressform.garment.strength import DEFAULT_FALLOFF, NO_STRENGTH, with_strength
from dressform.lift.lift import DEFAULT_METHOD
from dressform.units import MM_PER_M

Saved = Mapping[str, FollowingSettings]
"""What a file says, by garment."""

NOTHING_SAVED: Saved = {}

SettingsOption = Annotated[
    Path | None,
    Parameter(name="--settings", help="TOML that says how each garment follows; options given beside it win."),
]


def read_settings(path: Path | None, garments: Sequence[Path]) -> Saved:
    """The settings of a file, or none.

    Raises:
        FileError: the file cannot be read, or names none of the garments, so that it would say nothing.
    """
    if path is None:
        return {}
    saved = read_following(path)
    names = [garment.stem for garment in garments]
    if not any(name in saved for name in names):
        known = ", ".join(saved) or "none"
        problem = f"says nothing of {', '.join(names)}"
        raise FileError.of(path, "garment", problem, f"It names {known}; give one of its garments, or leave it out")
    return saved


def settled(follow: Following, saved: Saved, name: str) -> FollowingSettings:
    """How one garment follows: options first, then what is saved for it.

    An option that is given replaces what the file says of the same thing; strengths of parts that no option names stay.
    """
    base = saved.get(name, FollowingSettings())
    overall, parts = strengths(follow)
    given = [piece for piece in follow.strength or () if "=" not in piece]
    return replace(
        base,
        follow=base.follow or bool(given),
        strength=overall if given else base.strength,
        parts={**base.parts, **parts},
        falloff=base.falloff if follow.falloff is None else follow.falloff / MM_PER_M,
        mask=follow.mask or base.mask,
        painted=base.painted if follow.mask is None else None,
        ease=follow.ease_asked or base.ease,
        rotation_share=base.rotation_share if follow.rotation_share is None else follow.rotation_share,
    )


def saved_object(how: FollowingSettings) -> dict[str, object]:
    """Settings for a report, as their file has them; of a painted strength only that there is one."""
    painted = None if how.painted is None else f"{len(how.painted)} numbers"
    entry: dict[str, object] = msgspec.to_builtins(FollowingEntry.of(how, painted))
    return entry


def saved_again(objects: object) -> Saved:
    """Settings from a report, made by `saved_object`.

    Raises:
        ArgumentError: a strength was painted, which a report does not hold.
    """
    entries = msgspec.convert(objects, dict[str, FollowingEntry])
    for name, entry in entries.items():
        if entry.painted:
            rule, advice = "of strengths that were not painted", "Check again with the paint as a mask of the file"
            raise ArgumentError.of("explain", "results", rule, f"paint on {name}", advice)
    return {name: entry.settings(None) for name, entry in entries.items()}


def methods_of(lift: list[str] | None, follow: Following, saved: Saved, names: Sequence[str]) -> dict[str, str]:
    """The way in which each garment is followed that no option names, by garment; empty where one does."""
    if lift:
        return {}
    return {name: settled(follow, saved, name).lift or DEFAULT_METHOD for name in names}


def weakened(garment: Garment, how: FollowingSettings) -> Garment:
    """The garment with the strengths that are asked for; parts of other garments are passed over.

    Raises:
        ArgumentError: a strength outside [0, 1], or paint that has not one number per vertex of this garment.
    """
    said = (how.strength, how.falloff, how.painted)
    if how.follow and all(one is None for one in said) and not how.parts:
        return garment
    overall = FULL_STRENGTH if how.strength is None else how.strength
    return with_strength(
        garment,
        overall=overall if how.follow else NO_STRENGTH,
        parts={name: value for name, value in how.parts.items() if name in garment.part_names},
        mask=garment.strength if how.painted is None else how.painted,
        falloff=DEFAULT_FALLOFF if how.falloff is None else how.falloff,
    )
