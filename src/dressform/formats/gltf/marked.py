"""A copy of a garment to look at in one's own tool: faults as colours and numbers, worst shapes, actions as texts."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from jaxtyping import Float
from scipy.spatial import cKDTree

from dressform.arrays import ClothPoints, VertexScalars
from dressform.formats.file_mesh import FileMesh, Piece
from dressform.formats.gltf.builder import Builder
from dressform.formats.gltf.document import parse_document
from dressform.formats.gltf.morphs.targets import add_morph
from dressform.formats.gltf.read import read_scene, target_names
from dressform.formats.gltf.reading.bases import default_scene

COLOURS = "faultColours"
"""In `mesh.extras`: what each vertex colour shows, `{"COLOR_0": "all", "COLOR_1": "pucker"}`."""
ALL = "all"
NUMBERS = "_FAULT_"
"""Beginning of the attributes that hold the same as numbers, in the unit that reports use."""
STOPS = np.array([0.0, 0.34, 0.67, 1.0])
CLEAN_TO_GRAVE = np.array([[0.85, 0.85, 0.85], [1.0, 0.85, 0.2], [0.95, 0.45, 0.05], [0.7, 0.0, 0.05]])
"""Pale where nothing is, then slight, moderate, grave: a third of the scale each; linear RGB as glTF has it."""


@dataclass(frozen=True)
class Marks:
    """What is marked on a garment.

    Attributes:
        points: Where its vertices are at the base, (G, 3), metres, as the file has them.
        shares: How bad each fault is at each vertex, from 0, clean, to 1, grave or worse, by the fault, each (G,).
        numbers: The same faults in the unit that reports use, each (G,).
        shapes: The worst shapes by name: weights of morphs by name.
        texts: What to do, by a short key: becomes `extras` of the node.
    """

    points: ClothPoints
    shares: Mapping[str, VertexScalars]
    numbers: Mapping[str, VertexScalars]
    shapes: Mapping[str, Mapping[str, float]]
    texts: Mapping[str, str]


def mark(data: bytes, path: Path, marks: Marks) -> bytes:
    """A fitted GLB with marks on it: vertex colours, numbers, a target per worst shape, texts.

    The first vertex colour shows the worst of all faults; vertex colours that the garment had are left out, since they
    would dye the marks, and so are the pictures of its materials. A target is the sum of the morphs' own, weighted, so
    it shows just what an engine plays.

    Proof: tests/formats/gltf/test_marked.py, tests/outside/test_marked_copy.py
    """
    document = parse_document(path, data)
    stored = read_scene(document, default_scene(document))
    builder = Builder.of(document)
    nearest = np.asarray(cKDTree(marks.points).query(stored.vertices)[1], dtype=np.int64)
    for piece in stored.pieces:
        mesh = builder.table("meshes")[piece.mesh]
        primitive = mesh["primitives"][piece.primitive]
        rows = nearest[piece.start : piece.stop]
        primitive["attributes"] = _coloured(builder, primitive["attributes"], marks, rows)
        sums = _sums(stored, piece, marks, rows_of=slice(piece.start, piece.stop))
        primitive.setdefault("targets", []).extend(add_morph(builder, one, None) for one in sums)
    for index in dict.fromkeys(piece.mesh for piece in stored.pieces):
        mesh = builder.table("meshes")[index]
        extras = mesh.get("extras") if isinstance(mesh.get("extras"), dict) else {}
        names = [*target_names(document, index), *marks.shapes]
        shown = {f"COLOR_{number}": name for number, name in enumerate((ALL, *marks.shares))}
        mesh["extras"] = {**(extras or {}), "targetNames": names, COLOURS: shown}
        mesh["weights"] = [0.0] * len(names)
    for node in dict.fromkeys(piece.node for piece in stored.pieces):
        entry = builder.table("nodes")[node]
        own = entry.get("extras") if isinstance(entry.get("extras"), dict) else {}
        entry["extras"] = {**(own or {}), **marks.texts}
        if "weights" in entry:
            entry["weights"] = [0.0] * len(builder.table("meshes")[entry["mesh"]]["weights"])
    for material in builder.table("materials"):
        _blank(material)
    return builder.glb()


def colours(share: VertexScalars) -> Float[np.ndarray, "G 3"]:
    """The colour of how bad it is."""
    return np.stack([np.interp(share, STOPS, channel) for channel in CLEAN_TO_GRAVE.T], axis=1)


def _coloured(builder: Builder, attributes: dict[str, int], marks: Marks, rows: np.ndarray) -> dict[str, int]:
    kept = {name: index for name, index in attributes.items() if not name.startswith("COLOR_")}
    worst = np.max([*marks.shares.values(), np.zeros(len(marks.points))], axis=0)
    for number, share in enumerate((worst, *marks.shares.values())):
        kept[f"COLOR_{number}"] = builder.add_floats(colours(share[rows]))
    for name, values in marks.numbers.items():
        kept[f"{NUMBERS}{name.upper()}"] = builder.add_floats(values[rows, None])
    return kept


def _sums(stored: FileMesh, piece: Piece, marks: Marks, *, rows_of: slice) -> list[Float[np.ndarray, "n 3"]]:
    """The displacement of each worst shape in the primitive's own space."""
    back = np.linalg.inv(piece.matrix[:3, :3]).T
    found = []
    for weights in marks.shapes.values():
        vector = np.array([weights.get(name, 0.0) for name in stored.morph_names])
        found.append(np.tensordot(vector, stored.deltas[:, rows_of], axes=1) @ back)
    return found


def _blank(material: dict[str, Any]) -> None:
    """Take away what would dye the marks: a material's colour and its picture."""
    surface = material.setdefault("pbrMetallicRoughness", {})
    surface.pop("baseColorTexture", None)
    surface["baseColorFactor"] = [1.0, 1.0, 1.0, 1.0]
    surface["metallicFactor"] = 0.0
