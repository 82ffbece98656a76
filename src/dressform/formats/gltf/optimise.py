"""A fitted file made small: rounded so far that no vertex is ever off by more than is allowed, then compressed.

Positions and their targets stay float32, on a grid of a power of two whose rounding costs nothing to store (the filter
EXPONENTIAL); normals and tangents of targets become bytes (KHR_mesh_quantization), joint weights 12 bits, and every
view is compressed (EXT_meshopt_compression). Vertices and triangles of a primitive, and the joints of a vertex, come in
another order. All rows of a kind share a view. How far a vertex may be off is no estimate: what is lost at the base and
in each target is known, so the farthest that any weights within the range can bring it together has a closed bound.
"""

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from jaxtyping import Float, Int

from dressform.errors import ArgumentError
from dressform.formats.file_mesh import FileMesh
from dressform.formats.gltf.document import Document, parse_document
from dressform.formats.gltf.meshopt.grids import choose_grids, even_grids
from dressform.formats.gltf.meshopt.rewriter import FileRewriter
from dressform.formats.gltf.meshopt.unused import unused_accessors
from dressform.formats.gltf.morphs.basis import BASIS
from dressform.formats.gltf.morphs.bound import bound_over_range
from dressform.formats.gltf.morphs.slider_ranges import RANGES, is_interval
from dressform.formats.gltf.read import read_scene
from dressform.formats.gltf.reading.bases import default_scene
from dressform.units import MM_PER_M

ALLOWED = 1e-4
"""How far a vertex may be off at any shape, metres."""
COARSEST, FINEST = -6, -24
"""Grids tried, as powers of two of a metre: 16 mm to 0.06 µm."""


@dataclass(frozen=True)
class Optimised:
    """A small file.

    Attributes:
        data: The GLB.
        error: How far any vertex is off at any shape of the range, metres; never more. What a basis in the file leaves
            out is counted in.
        was: Bytes of the file with all targets dense.
        pictures: Bytes of its pictures, which are as they were.
    """

    data: bytes
    error: float
    was: int
    pictures: int = 0

    def words(self) -> str:
        """One line for a person."""
        size, was = (bytes_ / 1000 for bytes_ in (len(self.data) - self.pictures, self.was - self.pictures))
        beside = f" and {self.pictures / 1000:,.0f} kB of pictures" if self.pictures else ""
        apart = ", pictures apart" if beside else ""
        return (
            f"{size:,.0f} kB{beside}, {size / was:.1%} of {was:,.0f} kB with dense targets{apart}; no vertex is off by "
            f"more than {self.error * MM_PER_M:.3f} mm at any shape of the range"
        )


def optimise(data: bytes, path: Path, *, allowed: float = ALLOWED) -> Optimised:
    """The small file of a fitted GLB.

    Args:
        data: A file as `save_fit` writes it.
        path: Its name, for messages.
        allowed: How far making it small may move a vertex at any shape of the range, metres.

    Raises:
        ArgumentError: `allowed` is less than float32 can hold.

    Proof: tests/formats/gltf/test_optimise.py
    """
    document = parse_document(path, data)
    before = read_scene(document, default_scene(document))
    was = _dense_bytes(document, len(data))
    ranges = _ranges(document, before.morph_names)
    for exponent in range(COARSEST, FINEST - 1, -1):
        chosen = choose_grids(
            before.vertices, before.deltas, before.morph_names, ranges, exponent=exponent, allowed=allowed
        )
        for grids in () if chosen is None else (chosen, even_grids(exponent)):
            rewriter = FileRewriter(document, grids)
            small = rewriter.glb()
            again = read_scene(parse_document(path, small), default_scene(document))
            rows = _rows(document, before, rewriter)
            error = bound_over_range(
                again.vertices - before.vertices[rows], again.deltas - before.deltas[:, rows], ranges
            )
            if error <= allowed:
                return _with_basis(Optimised(small, error, was, _pictures_bytes(document)), rewriter)
    rule = "more than float32 loses by itself"
    raise ArgumentError.of("optimise", "allowed", rule, f"{allowed * MM_PER_M:g} mm", "Allow more")


def _with_basis(made: Optimised, rewriter: FileRewriter) -> Optimised:
    """The small file, in which a basis tells what it left out and what rounding adds to that."""
    told = [mesh["extras"][BASIS] for mesh in rewriter.tree["meshes"] if BASIS in (mesh.get("extras") or {})]
    if not told:
        return made
    for one in told:
        one["error_mm"] += made.error * MM_PER_M
    error = max(one["error_mm"] for one in told) / MM_PER_M
    return replace(made, data=rewriter.buffers.glb(rewriter.tree), error=error)


def _pictures_bytes(document: Document) -> int:
    """Bytes of the pictures inside a file."""
    views = {one.buffer_view for one in document.gltf.images if one.buffer_view is not None}
    return sum(document.gltf.buffer_views[view].byte_length for view in views)


def _ranges(document: Document, names: tuple[str, ...]) -> Float[np.ndarray, "K 2"]:
    """The range of each morph that the file tells, [0, 1] where it tells none."""
    told: dict[str, Any] = {}
    for mesh in document.gltf.meshes:
        found = mesh.extras.get(RANGES) if isinstance(mesh.extras, dict) else None
        if isinstance(found, dict):
            told |= {name: ends for name, ends in found.items() if is_interval(ends)}
    return np.array([told.get(name, (0.0, 1.0)) for name in names], dtype=np.float64).reshape(-1, 2)


def _rows(document: Document, before: FileMesh, rewriter: FileRewriter) -> Int[np.ndarray, " N"]:
    """Which vertex of the file each vertex of the small file was."""
    rows = np.arange(len(before.vertices))
    for piece in before.pieces:
        primitive = document.gltf.meshes[piece.mesh].primitives[piece.primitive]
        order = rewriter.orders.get(primitive.attributes["POSITION"])
        if order is not None:
            rows[piece.start : piece.stop] = piece.start + order
    return rows


def _dense_bytes(document: Document, size: int) -> int:
    """Bytes of the file were every target dense float32, without accessors that nothing uses."""
    used = {
        index
        for mesh in document.gltf.meshes
        for one in mesh.primitives
        for target in one.targets
        for index in target.values()
    }
    accessors = document.gltf.accessors
    targets = [accessors[index] for index in used]
    dense = sum(12 * one.count for one in targets)
    views = document.gltf.buffer_views
    own = {one.buffer_view for one in targets if one.buffer_view is not None}
    for one in targets:
        if one.sparse is not None:
            own |= {one.sparse.indices.buffer_view, one.sparse.values.buffer_view}
    unused = {accessors[index].buffer_view for index in unused_accessors(document)}
    unused -= {one.buffer_view for index, one in enumerate(accessors) if index not in unused_accessors(document)}
    return size - sum(views[view].byte_length for view in own | unused if view is not None) + dense
