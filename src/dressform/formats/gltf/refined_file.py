"""A garment's file on its refined mesh: every attribute that a vertex has is carried to the new ones."""

import copy
from dataclasses import dataclass
from typing import Any

import numpy as np
from jaxtyping import Bool, Float, Int
from scipy.sparse import coo_array, csr_array

from dressform.body.skeleton import JOINTS_PER_VERTEX, Skin
from dressform.errors import ArgumentError
from dressform.formats.file_mesh import Piece
from dressform.formats.frames.units import Frame
from dressform.formats.gltf.accessors import WIDTHS, read_floats, read_integers
from dressform.formats.gltf.builder import Builder
from dressform.formats.gltf.document import Document, parse_document
from dressform.formats.gltf.fit_source import fit_source
from dressform.formats.gltf.normals import unit_rows
from dressform.formats.gltf.read import read_scene
from dressform.formats.gltf.reading.bases import default_scene
from dressform.formats.gltf.reading.primitive import TRIANGLES
from dressform.formats.load import GarmentFile
from dressform.repair.bisect import Bisected
from dressform.repair.refine import refined_garment

ANY = tuple(kind for kind in WIDTHS if kind != "MAT4")


def refine_file(garment_file: GarmentFile, split: Bisected) -> GarmentFile:
    """The file of a garment whose mesh was refined, as if its maker had modelled it so.

    Corners, not vertices, are split: along a seam each side gets vertices of its own, with its own texture
    coordinates. Texture coordinates, colours, own attributes, normals, tangents, joint weights and morph targets are
    interpolated; positions are those of the refined mesh. Old vertices keep their places in the file. Nothing is
    written to disk; `save_fit` takes the result together with a fit of the refined garment.

    Raises:
        ArgumentError: the split is that of another garment.
        FileError: an attribute of the file cannot be read.

    Proof: tests/formats/gltf/test_refined_file.py
    """
    garment = garment_file.garment
    if split.rows.shape[1] != len(garment.vertices) or split.parents.max(initial=-1) >= len(garment.faces):
        rule = f"a split of {garment_file.path} ({len(garment.vertices)} vertices)"
        raise ArgumentError.of("refine_file", "split", rule, f"{split.rows.shape[1]}", "Refine this garment again")
    source = fit_source(garment_file)
    builder = Builder.of(source.document)
    stored_faces = source.stored.faces
    taken: set[int] = set()
    file_to_cloth = []
    node_mesh: dict[int, int] = {}
    cloth_faces = source.file_to_cloth[stored_faces]
    kept = np.flatnonzero(_with_area(cloth_faces))
    corners = stored_faces[kept[_same_faces(garment.faces, cloth_faces[kept])]][split.parents]
    refined = refined_garment(garment, split)
    for piece in source.stored.pieces:
        own = (corners[:, 0] >= piece.start) & (corners[:, 0] < piece.stop)
        grown = _grown(piece, corners[own], split.corners[own], split.faces[own])
        unkept = _of_piece(np.delete(stored_faces, kept, axis=0), piece)
        entry = _entry(builder, piece, taken, node_mesh)
        _write(builder, source.document, entry, piece, grown, unkept, refined.vertices)
        file_to_cloth += [source.file_to_cloth[piece.start : piece.stop], grown.cloth]
    document = parse_document(garment_file.path, builder.glb())
    stored = read_scene(document, default_scene(document)).turned(source.linear)
    to_cloth = np.concatenate(file_to_cloth)
    own_frame = garment_file.frame if garment_file.document is not None else Frame(1.0, "y", garment_file.frame.notes)
    return GarmentFile(
        refined, garment_file.path, stored, to_cloth, _with_area(to_cloth[stored.faces]), own_frame, document
    )


@dataclass(frozen=True)
class _Grown:
    """One primitive's new vertices: rows of interpolation (M, n), their cloth vertices (M,), all its faces (T, 3)."""

    rows: csr_array
    cloth: Int[np.ndarray, " M"]
    faces: Int[np.ndarray, "T 3"]


def _grown(
    piece: Piece, corners: Int[np.ndarray, "T 3"], shares: Float[np.ndarray, "T 3 3"], cloth: Int[np.ndarray, "T 3"]
) -> _Grown:
    """New stored vertices: one for each distinct mixture of stored corners. Shares are halves of halves, so exact."""
    count = piece.stop - piece.start
    shares, cloth = shares.reshape(-1, 3), cloth.ravel()
    ends = np.where(shares > 0, np.repeat(corners - piece.start, 3, axis=0), count)
    order = np.argsort(ends, axis=1, kind="stable")
    ends, shares = np.take_along_axis(ends, order, axis=1), np.take_along_axis(shares, order, axis=1)
    new = np.flatnonzero(shares[:, 0] < 1)
    keys = np.concatenate([ends[new].astype(np.float64), shares[new]], axis=1)
    _, first, inverse = np.unique(keys, axis=0, return_index=True, return_inverse=True)
    chosen = new[first]
    vertex = ends[:, 0].copy()
    vertex[new] = count + inverse.ravel()
    used = shares[chosen] > 0
    at = np.nonzero(used)[0]
    rows = coo_array((shares[chosen][used], (at, ends[chosen][used])), shape=(len(chosen), count))
    return _Grown(csr_array(rows), cloth[chosen], vertex.reshape(-1, 3))


def _entry(builder: Builder, piece: Piece, taken: set[int], node_mesh: dict[int, int]) -> dict[str, Any]:
    """The JSON of the piece's primitive; a mesh that several nodes show is copied, as each may be split its own way."""
    if piece.node not in node_mesh:
        index = piece.mesh
        if index in taken:
            index = builder.add("meshes", copy.deepcopy(builder.table("meshes")[index]))
            builder.table("nodes")[piece.node]["mesh"] = index
        taken.add(index)
        node_mesh[piece.node] = index
    entry: dict[str, Any] = builder.table("meshes")[node_mesh[piece.node]]["primitives"][piece.primitive]
    return entry


def _write(
    builder: Builder,
    document: Document,
    entry: dict[str, Any],
    piece: Piece,
    grown: _Grown,
    unkept: Int[np.ndarray, "U 3"],
    cloth: Float[np.ndarray, "G 3"],
) -> None:
    """Put the grown attributes, targets and faces into a primitive; they are read from the unchanged document."""
    stored = document.json["meshes"][piece.mesh]["primitives"][piece.primitive]
    place = f"meshes[{piece.mesh}].primitives[{piece.primitive}]"
    if not len(grown.cloth):
        return
    attributes: dict[str, int] = {}
    for name, index in stored["attributes"].items():
        if name.startswith(("JOINTS_", "WEIGHTS_")):
            continue
        values = read_floats(document, index, f"{place}.{name}", ANY)
        more = grown.rows @ values
        if name == "POSITION":
            back = np.linalg.inv(piece.matrix)
            more = cloth[grown.cloth] @ back[:3, :3].T + back[:3, 3]
        elif name in ("NORMAL", "TANGENT"):
            more[:, :3] = unit_rows(more[:, :3])
            more[:, 3:] = np.sign(more[:, 3:]) + (more[:, 3:] == 0)
        attributes[name] = builder.add_floats(np.concatenate([values, more]), bounds=name == "POSITION")
    entry["attributes"] = attributes | _joints(builder, document, stored["attributes"], grown.rows, place)
    if "targets" in stored:
        entry["targets"] = [_target(builder, document, target, grown.rows, place) for target in stored["targets"]]
    faces = np.concatenate([grown.faces, unkept])
    if np.linalg.det(piece.matrix[:3, :3]) < 0:
        faces = faces[:, ::-1]
    entry["indices"] = builder.add_indices(faces, piece.stop - piece.start + len(grown.cloth))
    entry["mode"] = TRIANGLES


def _target(
    builder: Builder, document: Document, target: dict[str, int], rows: csr_array, place: str
) -> dict[str, int]:
    """A morph target of the garment's own, carried to the new vertices."""
    grown = {}
    for name, index in target.items():
        values = read_floats(document, index, f"{place}.targets.{name}", ANY)
        grown[name] = builder.add_floats(np.concatenate([values, rows @ values]), bounds=name == "POSITION")
    return grown


def _joints(
    builder: Builder, document: Document, attributes: dict[str, int], rows: csr_array, place: str
) -> dict[str, int]:
    """The garment's own joint weights; the largest four of a new vertex are kept, all sets of an old one."""
    sets = sum(name.startswith("JOINTS_") for name in attributes)
    if not sets:
        return {}
    names = [(f"JOINTS_{number}", f"WEIGHTS_{number}") for number in range(sets)]
    joints = [read_integers(document, attributes[name], f"{place}.{name}", ("VEC4",)) for name, _ in names]
    weights = [read_floats(document, attributes[name], f"{place}.{name}", ("VEC4",)) for _, name in names]
    count = int(max(part.max(initial=0) for part in joints)) + 1
    dense = Skin(np.concatenate(joints, axis=1), np.concatenate(weights, axis=1)).dense(count)
    more = Skin.from_dense(rows @ dense, most=JOINTS_PER_VERTEX)
    nothing = Skin(np.zeros_like(more.joints), np.zeros_like(more.weights))
    written = {}
    for number, (joint_name, weight_name) in enumerate(names):
        added = nothing if number else more
        written[joint_name] = builder.add_joints(np.concatenate([joints[number], added.joints]), count)
        written[weight_name] = builder.add_floats(np.concatenate([weights[number], added.weights]))
    return written


def _same_faces(wanted: Int[np.ndarray, "F 3"], found: Int[np.ndarray, "F 3"]) -> Int[np.ndarray, " F"]:
    """Where each wanted face is among those found, (F,); a repeated face keeps its rank among its like."""
    order = np.zeros(len(wanted), dtype=np.int64)
    order[np.lexsort(wanted.T)] = np.lexsort(found.T)
    return order


def _of_piece(faces: Int[np.ndarray, "U 3"], piece: Piece) -> Int[np.ndarray, "P 3"]:
    """The faces that a piece holds, counted from its first vertex."""
    return faces[(faces[:, 0] >= piece.start) & (faces[:, 0] < piece.stop)] - piece.start


def _with_area(faces: Int[np.ndarray, "T 3"]) -> Bool[np.ndarray, " T"]:
    """Faces of three different cloth vertices."""
    return (faces[:, 0] != faces[:, 1]) & (faces[:, 1] != faces[:, 2]) & (faces[:, 2] != faces[:, 0])
