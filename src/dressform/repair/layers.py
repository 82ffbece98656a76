"""Repair of layers: garments worn together, each kept clear of the body and of all that lies under it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Bool, Int

from dressform.arrays import Faces
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.errors import MatchError
from dressform.fit.fit import Fit
from dressform.mesh.geometry import face_normals
from dressform.mesh.nearest import closest
from dressform.mesh.tree import Tree
from dressform.proof.certificate import SPLIT_BUDGET, Certificate, certify
from dressform.proof.linear_mesh import joined, linear_body, linear_cloth, linear_mesh
from dressform.repair.clear.clearance import MAX_ROUNDS, Clearance, keep_clear
from dressform.repair.cost import Cost, cost_of

SKIN = 0  # number of the body among the layers; garments count from 1
WAY = "repair"  # the morph that leads from the base of a layer as it was made to its repaired one


@dataclass(frozen=True)
class Layer:
    """One garment of an outfit after its repair.

    Attributes:
        number: Its place from the skin outward, from 1.
        fit: The repaired fit.
        clearance: What the repair changed and could not do. Its body faces are those of the body, then of each layer
            under this one.
        certificate: Proof for the repaired fit, against the body and the layers under it, at `proven_margin`.
        pair_layers: Layer under each of the certificate's pairs, `SKIN` or a number, (P,).
        conflict_layers: Layer under each of the repair's conflicts, `SKIN` or a number, (N,).
        crossing: Number of triangle pairs that cross a layer under it at the base, by that layer's number. These come
            from the maker and are left alone.
        cost: How far the cloth moved, and whether it is rougher.
    """

    number: int
    fit: Fit
    clearance: Clearance
    certificate: Certificate
    pair_layers: Int[np.ndarray, " P"]
    conflict_layers: Int[np.ndarray, " N"]
    crossing: dict[int, int]
    cost: Cost

    def share(self, under: int) -> float:
        """Certified share of the near pairs with one layer under it, or the skin; 1 where there are none."""
        chosen: Bool[np.ndarray, " P"] = self.pair_layers == under
        return float(self.certificate.certified[chosen].mean()) if chosen.any() else 1.0


def repair_outfit(
    fits: Sequence[Fit],
    *,
    box: Range | None = None,
    proven_margin: float = 0.0,
    max_rounds: int = MAX_ROUNDS,
    budget: int = SPLIT_BUDGET,
    progress: Callable[[int, int, int], None] | None = None,
) -> tuple[Layer, ...]:
    """Repair garments that are worn together, from the skin outward, and prove what can be proven.

    Each garment keeps clear of the body and of the repaired garments before it, as one joined obstacle. Inner cloth
    is open and thin, so it has no inside. Its outward side is the side on which the outer cloth lies at the base,
    pair by pair, however its triangles are turned. Layers that are nearer than the margin there keep a share of their
    distance. Pairs that cross already are left out and counted.

    Args:
        fits: The garments' fits, from the skin outward; each keeps the margin of its own following.
        box: The range, by default the body's.
        proven_margin: Gap that the certificates prove, metres.
        max_rounds: Most rounds of the clearance repair of each garment.
        budget: Most pieces of the range that a certificate looks at for one pair.
        progress: Called with the layer's number, the round and the pairs that still fall short.

    Raises:
        MatchError: a fit has other morphs than the body of the first.

    Proof: tests/repair/test_layers.py
    """
    if not fits:
        return ()
    body = fits[0].body
    for fit in fits:
        if fit.morph_names != body.morph_names:
            raise MatchError(
                f"repair_outfit: the fit of {fit.garment.name!r} must have the morphs of {body.name!r}, "
                f"{list(body.morph_names)}, got {list(fit.morph_names)}. Fit every layer to this body."
            )
    box = body.range if box is None else box
    skin = linear_body(body)
    sizes = [len(body.faces)]
    done: list[Layer] = []
    for number, fit in enumerate(fits, 1):
        sheets = [_turned_faces(made, fit) for made in fits[: number - 1]]
        start = _lifted_over(fit, list(fits[: number - 1]), [layer.fit for layer in done], sheets)
        worn = [linear_mesh(layer.fit.base, layer.fit.deltas, faces) for layer, faces in zip(done, sheets)]
        under = joined(skin, *worn) if worn else skin
        repaired = keep_clear(start, under, box=box, max_rounds=max_rounds, progress=_numbered(progress, number))
        proof = certify(linear_cloth(repaired.fit), under, box, margin=proven_margin, budget=budget)
        ends = np.cumsum(sizes)
        crossed, times = np.unique(np.searchsorted(ends, proof.crossing[:, 1], side="right"), return_counts=True)
        done.append(
            Layer(
                number,
                repaired.fit,
                repaired,
                proof,
                np.searchsorted(ends, proof.pairs[:, 1], side="right").astype(np.int64),
                np.searchsorted(ends, repaired.conflicts[:, 1], side="right").astype(np.int64),
                dict(zip(crossed.tolist(), times.tolist())),
                cost_of(fit, repaired.fit, box=box),
            )
        )
        sizes.append(len(fit.garment.faces))
    return tuple(done)


def _turned_faces(inner: Fit, outer: Fit) -> Faces:
    """Triangles of an inner layer, each turned so that it faces the outer layer as both were made, (F, 3).

    The repair pushes outer cloth that has come through along these normals, so they must point back to its own side.
    With a tube that was wound inside out under another, 455 pairs stayed in conflict without this, none with it.
    """
    vertices, faces = inner.base, inner.garment.faces
    middles = vertices[faces].mean(axis=1)
    towards = closest(Tree(outer.base, outer.garment.faces), middles).points - middles
    behind = np.einsum("fx,fx->f", towards, face_normals(vertices, faces)) < 0
    return np.where(behind[:, None], faces[:, ::-1], faces)


def _lifted_over(fit: Fit, made: Sequence[Fit], worn: Sequence[Fit], sheets: Sequence[Faces]) -> Fit:
    """The fit with its base moved clear of the repaired bases under it.

    The repaired base of an inner layer may lie beyond the outer one. Then the final positions alone do not show which
    side is outward. So the move of the inner bases is treated as a morph, and the outer base is kept clear along all of
    it. Without this, a waistcoat over a guernsey whose base moved out by 2 cm crossed it and puckered to 28 times its
    p95, instead of 1.7 times.
    """
    if all(np.array_equal(before.base, after.base) for before, after in zip(made, worn)):
        return fit
    skin = fit.body
    still = Body(skin.name, skin.vertices, skin.faces, (WAY,), np.zeros((1, len(skin.vertices), 3)), Range.unit((WAY,)))
    on_the_way = [
        linear_mesh(before.base, (after.base - before.base)[None], faces)
        for before, after, faces in zip(made, worn, sheets)
    ]
    start = Fit(still, fit.garment, fit.following, fit.base, np.zeros((1, len(fit.base), 3)))
    cleared = keep_clear(start, joined(linear_body(still), *on_the_way))
    return replace(fit, base=cleared.fit.at(np.ones(1)))


def _numbered(progress: Callable[[int, int, int], None] | None, number: int) -> Callable[[int, int], None] | None:
    """The progress callback, with the layer's number put first."""
    if progress is None:
        return None
    return lambda rounds, short: progress(number, rounds, short)
