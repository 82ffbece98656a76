"""Repair of the base: cloth that lies in the skin before anything moves is brought out of it."""

from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.faults.skin.cloth_at_base import find_cloth_at_base
from dressform.faults.skin.cloth_sides import ClothSides, trust_skin
from dressform.faults.skin.show_through import base_normals, base_sides
from dressform.fit.fit import Fit
from dressform.mesh.geometry import face_normals
from dressform.mesh.tree import Tree
from dressform.repair.clear.clearance import BASE_PRICE, CONFLICT_CAP, change_energy
from dressform.repair.clear.programme import Constraints, solve

MAX_ROUNDS = 10
MORE = 2e-4
"""Asked beyond the margin, so that a later round meets new places only, metres."""
NO_RANGE: Float[np.ndarray, " K"] = np.zeros(0)


@dataclass(frozen=True)
class BroughtOut:
    """A fit whose base keeps out of the skin.

    Attributes:
        fit: The repaired fit; the one given where nothing lay in the skin.
        rounds: Times that the programme was solved.
        largest_move: Farthest that a vertex of the base moved, metres.
        rms_move: Root-mean-square of these moves, metres.
        wrong_before: Cloth faces that crossed the skin or lay in it, tucked rims apart.
        left: Those that still do, (N,): cloth that does not follow, or between two parts of the body.
    """

    fit: Fit
    rounds: int
    largest_move: float
    rms_move: float
    wrong_before: int
    left: Int[np.ndarray, " N"]


def bring_out(fit: Fit, *, tree: Tree | None = None) -> BroughtOut:
    """Move the base as little and as smoothly as possible so that no cloth lies in the skin before anything moves.

    Each round asks every vertex in the skin, or nearer to it than the margin at a triangle that is wrong, to keep the
    margin along the normal at its foot. Where all vertices of a triangle are out and the skin still comes through, the
    triangle must lie wholly on the outer side of the skin triangle that it crosses. What earlier rounds asked stays
    asked. Tucked rims stay where they are, and so does cloth that does not follow. Morphs are not changed.

    Args:
        fit: The fit; its following sets the clearance to keep.
        tree: The body's triangles, if already built.

    Source: the programme of the clearance repair, for the base alone. Proof: tests/repair/test_bring_out.py
    """
    body = Tree(fit.body.vertices, fit.body.faces) if tree is None else tree
    trusted = trust_skin(body)
    cloth = Tree(fit.base, fit.garment.faces)
    sides = base_sides(cloth, body, trusted)
    at_base = find_cloth_at_base(cloth, body, trusted, sides)
    excused = ((at_base.tucked > 0) & (at_base.inside == 0)) | (fit.garment.strength <= 0)
    wrong = _wrong(sides, fit, excused)
    before = int(wrong.sum())
    energy, mass = change_energy(fit)
    held: list[Constraints] = []
    base, rounds = fit.base, 0
    while wrong.any() and rounds < MAX_ROUNDS:
        held.append(_asked(fit, body, sides, wrong, excused))
        rows = Constraints(
            *(np.concatenate([getattr(one, name) for one in held]) for name in Constraints.__dataclass_fields__)
        )
        moves = solve(energy, mass, rows, NO_RANGE, NO_RANGE, base_price=BASE_PRICE, cap=CONFLICT_CAP).moves[:, 0]
        base, rounds = fit.base + moves, rounds + 1
        sides = base_sides(cloth.refit(base), body, trusted)
        wrong = _wrong(sides, fit, excused)
    lengths = np.linalg.norm(base - fit.base, axis=1)
    return BroughtOut(
        replace(fit, base=base) if rounds else fit,
        rounds,
        float(lengths.max(initial=0.0)),
        float(np.sqrt(np.mean(lengths**2))),
        before,
        np.flatnonzero(wrong),
    )


def _wrong(sides: ClothSides, fit: Fit, excused: Bool[np.ndarray, " G"]) -> Bool[np.ndarray, " F"]:
    """Triangles that cross the skin or touch it from inside, without those of excused vertices, (F,)."""
    faces = fit.garment.faces
    return (sides.crossed | (sides.signed[faces] <= 0).any(axis=1)) & ~excused[faces].any(axis=1)


def _asked(
    fit: Fit, body: Tree, sides: ClothSides, wrong: Bool[np.ndarray, " F"], excused: Bool[np.ndarray, " G"]
) -> Constraints:
    """What one round asks: of vertices along the normal at their feet, of triangles along that of the skin they cross.

    Terms are those of the base as it was given, since the programme finds the whole move from there.
    """
    faces, needed = fit.garment.faces, fit.following.margin + MORE
    near = np.zeros(len(fit.base), dtype=bool)
    near[faces[wrong]] = True
    vertex = np.flatnonzero(near & ~excused & (sides.signed < needed))
    normals = base_normals(sides, body)[vertex]
    usable = np.abs(normals).sum(axis=1) > 0
    vertex, normals = vertex[usable], normals[usable]
    corners = body.vertices[body.faces[sides.nearest[vertex]]]
    feet = np.einsum("nc,ncx->nx", sides.barycentric[vertex], corners)
    between = wrong & (sides.signed[faces] > 0).all(axis=1)  # the skin comes through between vertices that are out
    pairs = sides.pairs[between[sides.pairs[:, 0]]]
    skin = face_normals(body.vertices, body.faces)[pairs[:, 1]]
    outer = np.einsum("pcx,px->pc", body.vertices[body.faces[pairs[:, 1]]], skin).max(axis=1)
    found = [(vertex, normals, np.einsum("nx,nx->n", feet, normals))]
    found += [(faces[pairs[:, 0], corner], skin, outer) for corner in range(3)]
    at, along, level = (np.concatenate(column) for column in zip(*found))
    terms = np.einsum("nx,nx->n", fit.base[at], along) - level
    return Constraints(at, along, terms[:, None], np.full(len(at), needed))
