"""Signs that a part is meant to be stiff: what its file says, its name, or that it is a small or a solid piece."""

import re
from collections.abc import Mapping

import numpy as np

from dressform.arrays import Faces, Points
from dressform.garment.garment import Garment
from dressform.garment.parts import HARD_WORDS, STIFF, find_pieces
from dressform.mesh.geometry import face_areas
from dressform.units import MM_PER_M

STIFF_WORDS = HARD_WORDS | frozenset(
    ("clog", "cuirass", "frame", "handle", "heel", "helmet", "lantern", "lens", "scabbard", "sheath", "sole", "visor")
)
"""A part whose name holds one of these is likely stiff. Common practice, no source."""
SOLID = 0.006
"""A closed piece so thick is no cloth, metres: cloth laid double is a few millimetres. Common practice, no source."""


def stiff_signs(garment: Garment) -> Mapping[str, str]:
    """Parts that are likely stiff, each with the sign in words; what the file says of stiffness alone counts.

    Signs, in this order: the file says so, the name says so, the part is made of small closed pieces, or of closed
    pieces at least `SOLID` thick. The thickness of a closed piece is twice its volume over its area, that of a wall.

    Proof: tests/garment/test_stiff_signs.py
    """
    hard = find_pieces(garment)
    small = hard.hard_vertices()
    signs: dict[str, str] = {}
    for part, name in enumerate(garment.part_names):
        faces = garment.faces[garment.face_parts == part]
        if name in garment.stiffness:
            if garment.stiffness[name] >= STIFF:
                signs[name] = f"its file calls it stiff ({garment.stiffness[name]:g})"
        elif not len(faces):
            continue
        elif word := _stiff_word(name):
            signs[name] = f"it is called a {word}"
        elif small[faces].all():
            signs[name] = "it is a small closed piece"
        elif hard.closed[hard.of_vertices[faces]].all() and (thick := wall(garment.vertices, faces)) >= SOLID:
            signs[name] = f"it is closed and {thick * MM_PER_M:.0f} mm thick"
    return signs


def wall(vertices: Points, faces: Faces) -> float:
    """Twice the volume over the area of closed triangles, metres: how thick the wall of a thin shell is."""
    corners = vertices[faces] - vertices[faces].reshape(-1, 3).mean(axis=0)
    volume = float(np.einsum("ni,ni->n", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])).sum()) / 6.0
    return 2.0 * abs(volume) / max(float(face_areas(vertices, faces).sum()), np.finfo(float).tiny)


def _stiff_word(name: str) -> str:
    """The word in a name that says stiff, in singular; empty where there is none."""
    words = re.findall(r"[a-z]+", re.sub(r"([a-z])([A-Z])", r"\1 \2", name).lower())
    known = [word if word in STIFF_WORDS else word.removesuffix("s") for word in words]
    return next((word for word in known if word in STIFF_WORDS), "")
