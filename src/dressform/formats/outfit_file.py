"""The small TOML that says which garments are worn together.

    [outfit.ashore]
    layers = ["guernsey.glb", "coat.glb"]

Order is from the skin outward; files are looked for beside the TOML.
"""

from pathlib import Path
from typing import Any

import msgspec

from dressform.errors import ArgumentError, FileError
from dressform.formats.guards.toml import converted, read_toml

EXAMPLE = 'Write [outfit.NAME] and below it layers = ["inner.glb", "outer.glb"]'


class _OutfitFile(msgspec.Struct, forbid_unknown_fields=True):
    outfit: dict[str, dict[str, Any]]


class _Outfit(msgspec.Struct, forbid_unknown_fields=True):
    layers: list[str]


def read_outfits(path: Path | str) -> dict[str, tuple[Path, ...]]:
    """Garment files of every outfit, from the skin outward, in the order of the file.

    Raises:
        FileError: not TOML, another key than these, an outfit without layers, a layer twice in one outfit, or a garment
            file that is not there; file and key are named.

    Proof: tests/formats/test_outfit_file.py
    """
    path = Path(path)
    tree = read_toml(path)
    outfits = converted(path, "", tree, _OutfitFile, advice=EXAMPLE).outfit
    if not outfits:
        raise FileError.of(path, "outfit", "names no outfit", EXAMPLE)
    return {name: _layers(path, f"outfit.{name}", entry) for name, entry in outfits.items()}


def outfit_files(path: Path | str, name: str) -> tuple[Path, ...]:
    """Garment files of one outfit of a file, from the skin outward.

    Raises:
        FileError: as for `read_outfits`. ArgumentError: no outfit has that name; the valid names are listed.
    """
    known = read_outfits(path)
    if name not in known:
        raise ArgumentError.of("outfit", "name", f"one of {', '.join(known)}", repr(name), "Use one of these names")
    return known[name]


def _layers(path: Path, key: str, entry: dict[str, Any]) -> tuple[Path, ...]:
    """The garment files of one outfit."""
    names = converted(path, key, entry, _Outfit, advice=EXAMPLE).layers
    if not names:
        raise FileError.of(path, f"{key}.layers", "lists no garment", EXAMPLE)
    for index, name in enumerate(names):
        place = f"{key}.layers[{index}]"
        if name in names[:index]:
            raise FileError.of(path, place, f"lists {name} again", "Wear each garment once")
        if not _is_file(path.parent / name):
            raise FileError.of(path, place, f"there is no file {path.parent / name}", "Correct the name")
    return tuple(path.parent / name for name in names)


def _is_file(path: Path) -> bool:
    """Whether there is such a file; no name that no file can have is an error."""
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False
