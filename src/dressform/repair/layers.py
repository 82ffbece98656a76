"""Repair of layers: garments worn together, each kept clear of the body and of all that lies under it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Int

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.errors import MatchError
from dressform.fit.fit import Fit
from dressform.mesh.geometry import face_normals
from dressform.mesh.nearest import closest
from dressform.proof.certificate import SPLIT_BUDGET, Certificate, certify
from dressform.proof.moving import Moving, joined, moving, moving_body, moving_cloth
from dressform.repair.clearance import DEFAULT_MARGIN, MOST_ROUNDS, Clearance, keep_clear
from dressform.repair.cost import Cost, cost_of

SKIN = 0  # number of the body among the layers; garments count from 1


@dataclass(frozen=True)
class Layer:
    """One garment of an outfit after its repair.

    Attributes:
        number: Its place from the skin outward, from 1.
        fit: The repaired fit.
        clearance: What the repair changed and could not do; its body faces are those of the body, then of each layer
            under this one.
        certificate: What is proven of the repaired fit, against body and layers alike, at `proven_margin`.
        pair_layers: Layer that each of the certificate's pairs is with, `SKIN` or a number, (P,).
        conflict_layers: Layer that each of the repair's conflicts is with, likewise, (N,).
        crossing: Pairs of triangles that cross a layer under it on the base shape, by that layer's number: its
            maker's own, left as they are.
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
    body: Body,
    fits: Sequence[Fit],
    *,
    box: Range | None = None,
    margin: float = DEFAULT_MARGIN,
    proven_margin: float = 0.0,
    most_rounds: int = MOST_ROUNDS,
    budget: int = SPLIT_BUDGET,
    progress: Callable[[int, int, int], None] | None = None,
) -> tuple[Layer, ...]:
    """Repair garments that are worn together, from the skin outward, and prove what can be proven.

    Each garment keeps clear of the body and of the repaired garments before it, as one joined obstacle. Inner cloth
    is open and thin, so it has no inside: its outward side is the side on which the outer cloth lies on the base
    shape, pair by pair, however its triangles are turned. Layers that are nearer than the margin there keep most of
    the room that they have; where they cross already, those pairs are left out and counted.

    Args:
        body: The body.
        fits: The garments' fits, from the skin outward.
        box: The range; the body's where left out.
        margin: Clearance wanted from body and layers, metres, positive.
        proven_margin: Gap that the certificates ask for, metres.
        progress: Called with the layer's number, the round and the pairs that still fall short.

    Raises:
        MatchError: a fit has other morphs than the body.
        ArgumentError: `margin` is not positive.

    Proof: tests/repair/test_layers.py
    """
    for fit in fits:
        if fit.morph_names != body.morph_names:
            raise MatchError(
                f"repair_outfit: the fit of {fit.garment.name!r} must have the morphs of {body.name!r}, "
                f"{list(body.morph_names)}, got {list(fit.morph_names)}. Fit every layer to this body."
            )
    box = body.range if box is None else box
    skin = moving_body(body)
    sizes = [len(body.faces)]
    done: list[Layer] = []
    for number, fit in enumerate(fits, 1):
        cloth = moving_cloth(fit)
        under = joined(skin, *(turned_towards(moving_cloth(layer.fit), cloth) for layer in done)) if done else skin
        repaired = keep_clear(
            fit, under, box, margin=margin, most_rounds=most_rounds, progress=_numbered(progress, number)
        )
        proof = certify(moving_cloth(repaired.fit), under, box, margin=proven_margin, budget=budget)
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
                cost_of(fit, repaired.fit, box),
            )
        )
        sizes.append(len(fit.garment.faces))
    return tuple(done)


def turned_towards(sheet: Moving, cloth: Moving) -> Moving:
    """Inner cloth with every triangle turned so that it faces the outer cloth on the base shape.

    The repair pushes outer cloth that has come through along these normals, so they must point back to its own side.
    Over coarse tubes whose inner one was wound inside out, 455 pairs stayed in conflict without this, none with it.
    """
    vertices, faces = sheet.tree.vertices, sheet.faces
    middles = vertices[faces].mean(axis=1)
    towards = closest(cloth.tree, middles).points - middles
    behind = np.einsum("fx,fx->f", towards, face_normals(vertices, faces)) < 0
    facing = np.where(behind[:, None], faces[:, ::-1], faces)
    return moving(sheet.terms[:, 0], sheet.terms[:, 1:].transpose(1, 0, 2), facing)


def _numbered(progress: Callable[[int, int, int], None] | None, number: int) -> Callable[[int, int], None] | None:
    """The same report with the layer's number before it."""
    if progress is None:
        return None
    return lambda rounds, short: progress(number, rounds, short)
