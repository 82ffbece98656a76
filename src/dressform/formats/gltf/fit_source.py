"""Where a fit goes: the primitives of a garment's glTF, each with its cloth vertices and its own space."""

import copy
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from jaxtyping import Float, Int
from scipy.spatial import cKDTree

from dressform.formats.file_mesh import FileMesh, Piece
from dressform.formats.gltf.accessors import read_floats
from dressform.formats.gltf.builder import Builder
from dressform.formats.gltf.document import Document, parse_document
from dressform.formats.gltf.normals import unit_rows
from dressform.formats.gltf.read import read_scene
from dressform.formats.gltf.save import PlainMesh, add_mesh, add_scene, fresh_builder
from dressform.formats.load import GarmentFile


@dataclass(frozen=True)
class FitSource:
    """The glTF that the fit is written into.

    Attributes:
        document: The garment's own file, or a fresh one for other kinds of files.
        stored: Its mesh in metres, +Y up.
        file_to_cloth: Garment vertex of each stored vertex, -1 for none, (N,).
        linear: From the file's scene to metres, +Y up, +Z front, (3, 3).
    """

    document: Document
    stored: FileMesh
    file_to_cloth: Int[np.ndarray, " N"]
    linear: Float[np.ndarray, "3 3"]


@dataclass
class FitPrimitive:
    """One primitive under one node: where the fit goes.

    Attributes:
        entry: Its JSON.
        matrix: From its own space to metres, (4, 4).
        cloth: Garment vertex of each of its vertices, -1 for none, (n,).
        rows: Its vertices in the merged mesh, or None where it draws lines or points.
        targets: Morph targets added so far.
        own_turns: How each target that the file has of its own changes `NORMAL` and `TANGENT` at weight 1, by its name;
            None where nothing is to be written.
    """

    entry: dict[str, Any]
    matrix: Float[np.ndarray, "4 4"]
    cloth: Int[np.ndarray, " n"]
    rows: slice | None
    targets: list[dict[str, int]] = field(default_factory=list)
    own_turns: dict[str, dict[str, Float[np.ndarray, "n 3"] | None]] = field(default_factory=dict)

    def inward(self, vectors: Float[np.ndarray, "n 3"]) -> Float[np.ndarray, "n 3"]:
        """Displacements in metres, in the primitive's own space."""
        return vectors @ np.linalg.inv(self.matrix[:3, :3]).T

    def picked(self, field: Float[np.ndarray, "G 3"]) -> Float[np.ndarray, "n 3"]:
        """Rows of a garment field, zero for vertices without cloth."""
        return np.where(self.cloth[:, None] >= 0, field[self.cloth], 0.0)

    def unit_normals(self, normals: Float[np.ndarray, "n 3"]) -> Float[np.ndarray, "n 3"]:
        """Normals of the scene, in the primitive's own space: covectors go back by the transpose."""
        return unit_rows(normals @ self.matrix[:3, :3])


def fit_source(garment_file: GarmentFile) -> FitSource:
    """The garment's own glTF, or a fresh one with its texture coordinates and hard edges."""
    stored = garment_file.stored
    if garment_file.document is not None:
        return FitSource(garment_file.document, stored, garment_file.file_to_cloth, garment_file.frame.linear)
    mesh = PlainMesh(
        stored.name,
        stored.vertices,
        stored.faces,
        stored.part_names,
        stored.face_parts,
        stored.corner_uv,
        stored.corner_normals,
        (),
        np.zeros((0, len(stored.vertices), 3)),
        None,
        {},
        (),
    )
    builder = fresh_builder()
    index, sources = add_mesh(builder, mesh)
    add_scene(builder, garment_file.garment.name, index)
    document = parse_document(garment_file.path, builder.glb())
    file_to_cloth = garment_file.file_to_cloth[np.concatenate(sources)]
    return FitSource(document, read_scene(document, 0), file_to_cloth, np.eye(3))


def stored_directions(source: FitSource, name: str) -> Float[np.ndarray, "N 3"]:
    """The file's own `NORMAL` or `TANGENT` in the scene, unit; zero where it has none, (N, 3)."""
    found = np.full(source.stored.vertices.shape, 0.0)
    for piece in source.stored.pieces:
        entry = source.document.json["meshes"][piece.mesh]["primitives"][piece.primitive]
        index = entry["attributes"].get(name)
        if index is None:
            continue
        linear = piece.matrix[:3, :3]
        own = read_floats(source.document, index, name, ("VEC3", "VEC4"))[:, :3]
        turned = own @ (np.linalg.inv(linear) if name == "NORMAL" else linear.T)
        length = np.linalg.norm(turned, axis=1, keepdims=True)
        found[piece.start : piece.stop] = np.divide(turned, length, out=np.zeros_like(turned), where=length > 0)
    return found


def own_primitives(builder: Builder, source: FitSource) -> dict[int, list[FitPrimitive]]:
    """The primitives of each node; a mesh that several nodes show is copied, as each follows differently."""
    pieces: dict[int, list[Piece]] = {}
    for piece in source.stored.pieces:
        pieces.setdefault(piece.node, []).append(piece)
    tree = cKDTree(source.stored.vertices)
    taken: set[int] = set()
    result: dict[int, list[FitPrimitive]] = {}
    for node, own in pieces.items():
        index = own[0].mesh
        if index in taken:
            index = builder.add("meshes", copy.deepcopy(source.document.json["meshes"][index]))
            builder.table("nodes")[node]["mesh"] = index
        taken.add(index)
        rows = {piece.primitive: slice(piece.start, piece.stop) for piece in own}
        result[node] = [
            _primitive(source, entry, own[0], number, rows.get(number), tree)
            for number, entry in enumerate(builder.table("meshes")[index]["primitives"])
        ]
    return result


def _primitive(
    source: FitSource, entry: dict[str, Any], piece: Piece, number: int, rows: slice | None, tree: cKDTree
) -> FitPrimitive:
    if rows is not None:
        return FitPrimitive(entry, piece.matrix, source.file_to_cloth[rows], rows)
    stored = source.document.gltf.meshes[piece.mesh].primitives[number]
    place = f"meshes[{piece.mesh}].primitives[{number}]"
    if "POSITION" not in stored.attributes:
        raise source.document.error(place, "has no positions", "Remove this primitive")
    positions = read_floats(source.document, stored.attributes["POSITION"], f"{place}.POSITION", ("VEC3",))
    moved = positions @ piece.matrix[:3, :3].T + piece.matrix[:3, 3]
    return FitPrimitive(entry, piece.matrix, source.file_to_cloth[tree.query(moved)[1]], None)
