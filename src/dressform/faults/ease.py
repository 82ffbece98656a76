"""Ease: girth of the cloth minus girth of the body, by a tape at one height."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Int

from dressform.arrays import BodyPoints, ClothPoints, Faces
from dressform.body.body import Body
from dressform.body.measure_limbs import find_limbs
from dressform.body.measure_marks import UP, Mark, Standing
from dressform.body.measure_slices import cut
from dressform.body.measure_trunk import Trunk, find_trunk
from dressform.errors import ArgumentError
from dressform.faults.kernels.ease import hull_perimeter, section_points

AROUND = 0.9
"""Cloth goes around the trunk at a level where its girth at the base is at least this share of the body's."""


@dataclass(frozen=True)
class Tapes:
    """Where the tape goes around trunk and cloth; see `make_tapes`.

    Attributes:
        marks: A point per level that follows the skin and gives its height.
        base: Ease at each level at the base, metres.
        trunk: Triangles of the body without its arms, (N,).
        cloth: Triangles of the garment without its sleeves, (M,).
        body_faces: Triangles of the body, (F, 3).
        cloth_faces: Triangles of the garment, (F, 3).
    """

    marks: Mapping[str, Mark]
    base: Mapping[str, float]
    trunk: Int[np.ndarray, " N"]
    cloth: Int[np.ndarray, " M"]
    body_faces: Faces
    cloth_faces: Int[np.ndarray, "C 3"]


def make_tapes(
    body: Body,
    cloth: ClothPoints,
    cloth_faces: Faces,
    foot_faces: Int[np.ndarray, " G"],
    *,
    levels: Mapping[str, float] | None = None,
    standing: Standing | None = None,
    trunk: Callable[[], Trunk] | None = None,
) -> Tapes:
    """Choose the levels that a garment goes around at the base.

    Args:
        body: The body.
        cloth: The garment as its maker modelled it, (G, 3), metres.
        cloth_faces: Its triangles.
        foot_faces: Body triangle under each cloth vertex, (G,): cloth whose feet are all on an arm is a sleeve.
        levels: Heights at the base by name, metres. By default bust, under-bust, waist and hip, as far as the
            trunk shows them; a body on which no trunk is found has none.
        standing: The body prepared for searches, where that was done before.
        trunk: Gives its trunk, where that was found before.

    Raises:
        ArgumentError: a level misses the body; it is named.
    """
    standing = standing or standing_body(body)
    arms = standing.arm_faces
    if levels is None:
        marks = trunk_marks(body.vertices, find_trunk(standing) if trunk is None else trunk())
    else:
        marks = {name: _mark_at(body, name, height) for name, height in levels.items()}
    sleeves = arms[foot_faces][cloth_faces].all(axis=1)
    without_arms = np.flatnonzero(~arms), np.flatnonzero(~sleeves)
    tapes = Tapes(
        marks, {}, *without_arms, np.asarray(body.faces, dtype=np.int64), np.asarray(cloth_faces, dtype=np.int64)
    )
    base = {}
    for name, (around_body, around_cloth) in _girths(tapes, body.vertices, cloth).items():
        if around_cloth >= AROUND * around_body > 0:
            base[name] = around_cloth - around_body
    return replace(tapes, marks={name: marks[name] for name in base}, base=base)


def standing_body(body: Body) -> Standing:
    """A body at its base, prepared for searches."""
    return Standing(body.vertices, body.faces, find_limbs(body.vertices, body.faces))


def girth_ease(tapes: Tapes, body: BodyPoints, cloth: ClothPoints) -> dict[str, tuple[float, float]]:
    """Ease at the base and on this shape, metres, at each level that the garment goes around.

    Ease is the girth of the cloth minus that of the trunk in one horizontal plane, each the perimeter of a convex hull:
    a taut tape. The plane follows the skin. A uniform clearance c around a convex section gives 2πc.

    Source: [Steiner1840]. Proof: tests/faults/test_ease.py::test_uniform_clearance_gives_two_pi_times_itself
    """
    girths = _girths(tapes, body, cloth)
    return {name: (tapes.base[name], around - skin) for name, (skin, around) in girths.items()}


def _girths(tapes: Tapes, body: BodyPoints, cloth: ClothPoints) -> dict[str, tuple[float, float]]:
    """Girth of trunk and of cloth at each level, metres."""
    skin, fabric = np.ascontiguousarray(body), np.ascontiguousarray(cloth)
    girths = {}
    for name, mark in tapes.marks.items():
        level = float(mark.at(body)[1])
        around_skin = hull_perimeter(section_points(skin, tapes.body_faces, tapes.trunk, level))
        around_cloth = hull_perimeter(section_points(fabric, tapes.cloth_faces, tapes.cloth, level))
        girths[name] = (float(around_skin), float(around_cloth))
    return girths


def trunk_marks(vertices: BodyPoints, trunk: Trunk) -> dict[str, Mark]:
    """Bust: the vertex of the chest farthest in front; hip: that of the seat farthest behind; waist; under-bust."""
    found = {}
    for name, masks, sign in (("bust", trunk.bust, 1.0), ("hip", trunk.seat, -1.0)):
        chosen = np.flatnonzero(np.any(list(masks.values()), axis=0)) if masks else np.zeros(0, dtype=np.int64)
        if chosen.size:
            found[name] = Mark.of_vertex(int(chosen[np.argmax(sign * vertices[chosen, 2])]))
    return found | {name: trunk.marks[name] for name in ("under-bust", "waist") if name in trunk.marks}


def _mark_at(body: Body, name: str, height: float) -> Mark:
    """Centre of the body's outline at a height."""
    slices = cut(body.vertices, body.faces, UP, np.array([float(height)]))
    if not len(slices.pieces):
        low, high = body.vertices[:, 1].min(), body.vertices[:, 1].max()
        raise ArgumentError.of(
            "make_tapes", f"levels[{name!r}]", f"between {low:.3f} and {high:.3f} m", height, "Use a height in between"
        )
    return Mark.of_outline(slices)
