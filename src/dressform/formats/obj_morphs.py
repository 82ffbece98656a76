"""A folder of OBJs with the body's topology: each is a morph named after its file.

Most are the base with other positions: all that follows the first face is the same text. Of these only the numbers of
the positions are read, in a fifteenth of the time. Whatever is not plainly so is read as any OBJ is.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import msgspec
import numpy as np
from jaxtyping import Float

from dressform.errors import FileError
from dressform.formats.file_mesh import FileMesh
from dressform.formats.guards.file_names import stem_of
from dressform.formats.guards.limits import mesh_bytes, read_bytes, refuse_excess, text_limit
from dressform.formats.obj import read_obj

MORPH_FOLDER = "morphs"
POSITION_LETTERS = b"v 0123456789.+-eE\n"
"""All that plain lines of positions are made of; other white space, comments and words need the whole reader."""
HIDDEN_LINES = (b"\t", b"\n ", b"\r", b"\\", b"\0", b"\x0b", b"\x0c", b"\x1c", b"\x1d", b"\x1e")
"""With these, and with what is not ASCII, a line may be one that does not look like one."""


def with_morphs(base: FileMesh, base_path: Path, folder: Path) -> FileMesh:
    """The base with one morph per OBJ in `folder`, in the order of their names.

    Raises:
        FileError: the folder is missing or holds no OBJ, or a morph has another vertex count or other faces.
    """
    if not folder.is_dir():
        raise FileError.of(folder, "", "is no folder", "Name the folder that holds the morph OBJs")
    paths = sorted(path for path in folder.iterdir() if path.suffix.lower() == ".obj")
    if not paths:
        raise FileError.of(folder, "", "holds no OBJ", "Put one OBJ per morph into it")
    refuse_excess(folder, "", mesh_bytes(len(base.vertices), base.faces.size, moved=len(base.vertices) * len(paths)))
    deltas = np.zeros((len(paths), len(base.vertices), 3))
    is_obj = base_path.suffix.lower() == ".obj"
    model = _model_of(read_bytes(base_path, most=text_limit()), base.vertices) if is_obj else None
    for delta, path in zip(deltas, paths):
        data = read_bytes(path, most=text_limit())
        vertices = None if model is None else model.vertices(data)
        if vertices is None:
            morph = read_obj(path)
            _refuse_other(morph, path, base, base_path)
            vertices, model = morph.vertices, model or _model_of(data, morph.vertices)
        delta[:] = vertices - base.vertices
    names = base.morph_names + tuple(stem_of(path) for path in paths)
    return replace(
        base,
        morph_names=names,
        deltas=np.concatenate([base.deltas, deltas]),
        default_weights=np.zeros(len(names)),
    )


def _refuse_other(morph: FileMesh, path: Path, base: FileMesh, base_path: Path) -> None:
    """Refuse a morph of another topology."""
    if len(morph.vertices) != len(base.vertices):
        problem = f"has {len(morph.vertices)} vertices, its base {base_path.name} has {len(base.vertices)}"
        raise FileError.of(path, "", problem, "Export base and morphs together")
    if not np.array_equal(morph.faces, base.faces):
        problem = f"has other faces than its base {base_path.name}"
        raise FileError.of(path, "", problem, "Export base and morphs with the same vertex order")


@dataclass(frozen=True)
class _Model:
    """A file that was read and found to have the base's faces; others are held against it.

    Attributes:
        faces: Its text from the first face on; no column goes on in it.
        counts: How many positions, texture coordinates and normals it has before that.
    """

    faces: bytes
    counts: Sequence[int]

    def vertices(self, data: bytes) -> Float[np.ndarray, "V 3"] | None:
        """Positions of a file that has the same faces in the same words, (V, 3); None where that is not plain."""
        block, rest, faces = _split(data)
        if faces != self.faces or not rest.isascii() or any(sign in rest for sign in HIDDEN_LINES):
            return None
        return _positions(block) if _counts(block, rest) == self.counts else None


def _model_of(data: bytes, vertices: Float[np.ndarray, "V 3"]) -> _Model | None:
    """What other files can be held against; None unless the quick way finds what the whole reader found."""
    block, rest, faces = _split(data)
    if not faces or any(b"\nv" + letter in faces for letter in (b" ", b"t ", b"n ")):
        return None
    model = _Model(faces, _counts(block, rest))
    found = model.vertices(data)
    return model if found is not None and np.array_equal(found, vertices) else None


def _split(data: bytes) -> tuple[bytes, bytes, bytes]:
    """Positions; what else stands before the first face; and all from there on. Each begins with the end of a line."""
    data = b"\n" + data.replace(b"\r\n", b"\n")
    face = data.find(b"\nf ")
    head, faces = (data[:face], data[face:]) if face >= 0 else (data, b"")
    start, last = head.find(b"\nv "), head.rfind(b"\nv ")
    end = head.find(b"\n", last + 1) if last >= 0 else -1
    end = len(head) if end < 0 else end
    return head[start:end] if start >= 0 else b"", head[: max(start, 0)] + head[end:], faces


def _counts(block: bytes, rest: bytes) -> list[int]:
    return [block.count(b"\n"), *(rest.count(b"\nv" + letter + b" ") for letter in (b"t", b"n"))]


def _positions(block: bytes) -> Float[np.ndarray, "V 3"] | None:
    """Numbers of `v` lines, (V, 3); None where there is anything else among them."""
    if not block or block.translate(None, POSITION_LETTERS):
        return None
    rows = b"[" + block[1:].replace(b"v ", b"[").replace(b"\n", b"],").replace(b" ", b",") + b"]]"
    try:  # lines of three plain numbers are JSON once their signs are; its reader is the quickest there is
        numbers = np.array(_ROWS.decode(rows), dtype=np.float64)
    except msgspec.MsgspecError:
        return None
    return numbers if np.isfinite(numbers).all() else None


_ROWS = msgspec.json.Decoder(list[tuple[float, float, float]])
