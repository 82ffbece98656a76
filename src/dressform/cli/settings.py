"""How each garment follows: by the options, and for the rest by a settings file."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from dressform.cli.arguments import FollowingOptions
from dressform.errors import FileError
from dressform.formats.guards.file_names import stem_of
from dressform.garment.methods import METHODS

if TYPE_CHECKING:
    import dressform.garment.following

Saved = Mapping[str, "dressform.garment.following.Following"]
"""What a file says, by garment."""

NOTHING_SAVED: Saved = {}
ALL_METHODS = ["all"]

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
        return NOTHING_SAVED
    from dressform.formats.following_file import read_following  # noqa: PLC0415  # help must not load numerics

    saved = read_following(path)
    names = [stem_of(garment) for garment in garments]
    if not any(name in saved for name in names):
        known = ", ".join(saved) or "none"
        problem = f"says nothing of {', '.join(names)}"
        raise FileError.of(path, "garment", problem, f"It names {known}; give one of its garments, or leave it out")
    return saved


def settled(
    options: FollowingOptions, saved: Saved, name: str, *, method: str | None = None, margin_mm: float | None = None
) -> "dressform.garment.following.Following":
    """How one garment follows: options first, then what is saved for it.

    An option that is given replaces what the file says of the same thing; strengths of parts that no option names stay.

    Raises:
        ArgumentError: an option is not valid.
    """
    from dressform.garment.following import DEFAULT_FOLLOWING  # noqa: PLC0415
    from dressform.jobs.methods.code import method_of  # noqa: PLC0415

    following = options.over(saved.get(name, DEFAULT_FOLLOWING))
    return replace(
        following,
        method=method_of("fit", method) if method else following.method,
        margin_mm=following.margin_mm if margin_mm is None else margin_mm,
    )


def methods_asked(function: str, methods: list[str] | None) -> tuple[str, ...]:
    """Methods that options name, each once; none where each garment follows by its own.

    Raises:
        ArgumentError: there is no such method; the valid ones are listed.
    """
    from dressform.jobs.methods.code import method_of  # noqa: PLC0415

    if methods == ALL_METHODS:
        return METHODS
    return tuple(dict.fromkeys(method_of(function, method) for method in methods or ()))
