"""The files of a wardrobe: folders and patterns become garments, each with a name of its own and its content."""

import glob
import os
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from dressform.errors import FileError
from dressform.formats.guards.file_names import stem_of
from dressform.formats.guards.inputs import identity_of
from dressform.formats.guards.neighbours import MORPHS, named_in
from dressform.formats.usd.modules import SUFFIXES as USD_SUFFIXES
from dressform.leftovers import PLAIN, owned

SUFFIXES = (".glb", ".gltf", ".obj", ".ply", ".dae", *USD_SUFFIXES)
"""Endings of the files of garments."""
TOGETHER = 24
"""More files than this are a wardrobe, even if each is named."""
_WILD = set("*?[")


@dataclass(frozen=True)
class WardrobeFile:
    """One garment of a wardrobe.

    Attributes:
        name: Its name; with its folders where two files have one name.
        path: The file, as it was asked for.
        size: Bytes, 0 where it cannot be read: the largest garments are begun first.
    """

    name: str
    path: Path
    size: int


def is_wardrobe(asked: Sequence[Path]) -> bool:
    """Whether a folder or a pattern is among what was asked for, or more files than are looked at together."""
    return len(asked) > TOGETHER or any(path.is_dir() or _is_pattern(path) for path in asked)


def wardrobe_files(asked: Sequence[Path], *, body: Path | None = None) -> tuple[WardrobeFile, ...]:
    """The garments that files, folders and patterns stand for, each once, in the order asked for.

    A folder stands for all garment files in it and below, hidden ones and folders of morphs apart. The body's own file
    is left out of folders and patterns.

    Raises:
        FileError: a folder holds no garment, or a pattern meets none.
    """
    skin = None if body is None else identity_of(body)
    found: dict[Path, None] = {}
    for path in asked:
        if path.is_dir():
            met = [one for one in _inside(path) if identity_of(one) != skin]
            problem, advice = "holds no garment", f"Garments end with {', '.join(SUFFIXES)}"
        elif _is_pattern(path):
            met = [Path(one) for one in sorted(glob.glob(str(path), recursive=True))]
            met = [one for one in met if one.suffix.lower() in SUFFIXES and identity_of(one) != skin]
            problem, advice = "meets no garment", "Quote it, and look where it leads from this folder"
        else:
            met = [path]
        if not met:
            raise FileError.of(path, "", problem, advice)
        found.update(dict.fromkeys(met))
    paths = _each_once(found)
    return tuple(WardrobeFile(name, path, _size(path)) for name, path in zip(_names(paths), paths))


def contents_of(path: Path) -> dict[str, bytes]:
    """A garment's file and, of a glTF or USD, those that it names, by name relative to its folder.

    Raises:
        FileError: it cannot be read.
    """
    try:
        found = {path.name: path.read_bytes()}
    except OSError as problem:
        raise FileError.of(path, "", f"cannot be read ({problem.strerror})", "Name a garment's file") from None
    for beside in named_in(path):
        if beside.is_file():
            found[os.path.relpath(beside, path.resolve().parent)] = beside.read_bytes()
    return found


@contextmanager
def written_out(name: str, contents: Mapping[str, bytes]) -> Iterator[Path]:
    """The files of a garment in a folder of their own, while the context lasts; the path of the first."""
    with TemporaryDirectory(prefix=owned(PLAIN)) as folder:
        for one, data in contents.items():
            target = Path(folder, one)
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(data)
        yield Path(folder, name)


def _is_pattern(path: Path) -> bool:
    return bool(_WILD & set(str(path))) and not path.exists()


def _inside(folder: Path) -> Iterator[Path]:
    for place, folders, names in os.walk(folder):
        folders[:] = sorted(one for one in folders if not one.startswith(".") and one != MORPHS)
        for name in sorted(names):
            if not name.startswith(".") and name.lower().endswith(SUFFIXES):
                yield Path(place, name)


def _each_once(paths: Iterable[Path]) -> list[Path]:
    """Paths that lead to different files; those that lead nowhere stay, to be told."""
    seen: set[object] = set()
    kept = []
    for path in paths:
        identity = identity_of(path) or path
        if identity not in seen:
            seen.add(identity)
            kept.append(path)
    return kept


def _names(paths: Sequence[Path]) -> list[str]:
    """The stem of each, with so many of its folders that no two are the same."""
    parts = [(*path.resolve().parts[1:-1], stem_of(path)) for path in paths]
    depth = [1] * len(paths)
    while True:
        names = ["/".join(one[-count:]) for one, count in zip(parts, depth)]
        often = Counter(names)
        longer = [number for number, name in enumerate(names) if often[name] > 1 and depth[number] < len(parts[number])]
        if not longer:
            return _numbered(names)
        for number in longer:
            depth[number] += 1


def _numbered(names: Sequence[str]) -> list[str]:
    """The names; of those that are still the same (one folder, two endings) every further one with a number."""
    seen = Counter[str]()
    told = []
    for name in names:
        seen[name] += 1
        told.append(name if seen[name] == 1 else f"{name} ({seen[name]})")
    return told


def _size(path: Path) -> int:
    try:
        return path.stat().st_size
    except OSError:
        return 0
