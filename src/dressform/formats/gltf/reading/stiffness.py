"""Stiffness of a garment's parts, as the `extras` of its glTF say it."""

from collections.abc import Iterator, Mapping

import numpy as np

from dressform.formats.file_mesh import FileMesh, Piece
from dressform.formats.gltf.document import Document

KEY = "stiffness"
"""A number from 0, cloth, to 1, rigid; true is 1, false 0."""


def stiffness_of_parts(document: Document, stored: FileMesh) -> tuple[Mapping[str, float], tuple[str, ...]]:
    """How stiff each part is, by its name, and notes; what the file says nothing of is left out.

    `extras.stiffness` of the primitive counts before that of its material, of the mesh, and of the node. A part of
    several primitives is as stiff as the softest of those of which something is said. What is no number from 0 to 1 is
    left out with a note: `extras` belong to whoever wrote the file.

    Args:
        document: The file.
        stored: What was read from it.

    Proof: tests/formats/gltf/reading/test_stiffness.py
    """
    found: dict[str, float] = {}
    notes = []
    for piece in stored.pieces:
        own = (stored.faces[:, 0] >= piece.start) & (stored.faces[:, 0] < piece.stop)
        for place, value in _said(document, piece) if own.any() else ():
            if isinstance(value, bool | int | float) and 0.0 <= value <= 1.0:
                part = stored.part_names[int(stored.face_parts[np.argmax(own)])]
                found[part] = min(found.get(part, 1.0), float(value))
                break
            notes.append(f"`{place}.extras.{KEY}` is {value!r}, not a number from 0 to 1; it was left out.")
    return found, tuple(dict.fromkeys(notes))


def _said(document: Document, piece: Piece) -> Iterator[tuple[str, object]]:
    """Where the file says something of one primitive, and what, the nearest first."""
    gltf, mesh = document.gltf, document.gltf.meshes[piece.mesh]
    primitive = mesh.primitives[piece.primitive]
    places = [(f"meshes[{piece.mesh}].primitives[{piece.primitive}]", primitive.extras)]
    if primitive.material is not None and primitive.material < len(gltf.materials):
        places.append((f"materials[{primitive.material}]", gltf.materials[primitive.material].extras))
    places += [(f"meshes[{piece.mesh}]", mesh.extras), (f"nodes[{piece.node}]", gltf.nodes[piece.node].extras)]
    for place, extras in places:
        if isinstance(extras, dict) and KEY in extras:
            yield place, extras[KEY]
