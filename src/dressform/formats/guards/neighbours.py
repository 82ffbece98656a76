"""Which files a run reads with those that were named: what lies beside a body, and what a glTF refers to."""

from collections.abc import Iterable, Iterator
from contextlib import suppress
from pathlib import Path

from dressform.errors import DressformError

MORPHS, RANGE, STANCES = "morphs", ".range.toml", ".stances.toml"
"""What lies beside a body without being named."""


def with_neighbours(
    named: Iterable[Path | None], *, morphs: Path | None = None, range_file: Path | None = None
) -> Iterator[Path]:
    """Files that were named, and what is read because it lies beside one or is named in it; some may not exist.

    Args:
        named: Bodies, garments, settings.
        morphs: Folder of the body's morphs, where one was named.
        range_file: Range of the body, where one was named.
    """
    for path in filter(None, (*named, range_file)):
        yield path
        yield path.with_name(path.stem + RANGE)
        yield path.with_name(path.stem + STANCES)
        yield from _inside(path.with_name(MORPHS))
        yield from named_in(path)
    if morphs is not None:
        yield from _inside(morphs)


def _inside(folder: Path) -> Iterator[Path]:
    with suppress(OSError):
        yield from folder.iterdir()


def named_in(path: Path) -> Iterator[Path]:
    """Files that a glTF or a USD refers to, none for other files; a damaged one is told of when it is read."""
    ending = path.suffix.lower()
    if ending == ".gltf":
        yield from _named_in_gltf(path)
    elif ending.startswith(".usd"):
        from dressform.formats.usd.apart import layer_files  # noqa: PLC0415  # not for a command's help

        with suppress(DressformError):
            yield from layer_files(path)


def _named_in_gltf(path: Path) -> Iterator[Path]:
    from dressform.formats.gltf.document import read_document  # noqa: PLC0415  # not for a command's help
    from dressform.formats.gltf.uris import beside, is_data  # noqa: PLC0415

    with suppress(DressformError):
        tree = read_document(path).json
        for entry in (*tree.get("buffers", ()), *tree.get("images", ())):
            uri = entry.get("uri", "")
            if uri and not is_data(uri):
                yield beside(path, uri, "")
