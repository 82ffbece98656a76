"""The state of one clearance repair: which pairs fall short, and the cutting planes that hold them."""

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.body.range import Range
from dressform.fit.fit import Fit
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.nearest import closest
from dressform.mesh.tree import Tree
from dressform.proof.certificate import SPLIT_BUDGET, base_gaps, bounds_of, without
from dressform.proof.linear_mesh import LinearMesh, linear_cloth
from dressform.proof.pairs import near_pairs
from dressform.proof.split_kernels import split_bounds
from dressform.repair.clear.programme import Constraints, Solution

KEPT_SHARE = 0.3  # cloth nearer than the margin at the base keeps this share of what its maker left
ASKED_MORE = (
    1e-4  # metres; constraints require this much more than is checked, so that later rounds meet new pairs only
)
NEARLY = 5e-4  # metres; corners this near to falling short are held too
SAVING = 0.95  # once nothing falls short, rounds go on while each lowers the energy below this share of the last


@dataclass(frozen=True)
class State:
    """The state of the repair: the fit so far and the pairs (P, 2) that fall short, by how much and along what.

    `keys` name the constraints of `solution`, so that the next programme can start from their forces.
    """

    fit: Fit
    cloth: LinearMesh
    solution: Solution | None
    keys: Int[np.ndarray, " R"]
    pairs: Int[np.ndarray, "P 2"]
    depth: Float[np.ndarray, " P"]
    directions: Float[np.ndarray, "P 3"]

    @property
    def settled(self) -> bool:
        """Whether no pair falls short."""
        return len(self.pairs) == 0

    @property
    def short(self) -> float:
        """By how much pairs fall short, summed, metres."""
        return float(self.depth.sum())

    @property
    def priced(self) -> Int[np.ndarray, " N"]:
        """Keys of the constraints that were active in the last programme."""
        return self.keys[:0] if self.solution is None else self.keys[self.solution.multipliers > 0]

    def warm(self, keys: Int[np.ndarray, " R"]) -> tuple[Float[np.ndarray, "G M 3"], Float[np.ndarray, "R M 3"]] | None:
        """Moves so far, and the forces of those constraints in `keys` that were there before."""
        if self.solution is None:
            return None
        forces = np.zeros((len(keys), *self.solution.forces.shape[1:]))
        _, old, new = np.intersect1d(self.keys, keys, assume_unique=True, return_indices=True)
        forces[new] = self.solution.forces[old]
        return self.solution.moves, forces

    def ends(self, best: "State") -> bool:
        """Whether to stop: nothing falls short, and the last round saved little."""
        if not self.settled:
            return False
        if self.solution is None:
            return True
        return best.solution is not None and best.settled and self.solution.energy > SAVING * best.solution.energy


@dataclass(frozen=True)
class ClearanceCase:
    """The inputs that stay the same over all rounds.

    With `divide`, a pair that dividing the range proves to keep its gap does not fall short.
    """

    fit: Fit
    start: LinearMesh
    body: LinearMesh
    box: Range
    left_alone: Bool[np.ndarray, " F"]
    crossing: Int[np.ndarray, "N 2"]
    margin: float
    slack: float
    divide: bool = False

    def needed(self, pairs: Int[np.ndarray, "P 2"]) -> Float[np.ndarray, " P"]:
        """The gap that each pair must keep: the margin, or a share of the gap that its maker left, (P,), metres."""
        return np.minimum(self.margin, KEPT_SHARE * base_gaps(self.start, self.body, pairs)) + self.slack

    def stand(self, fit: Fit, solution: Solution | None, keys: Int[np.ndarray, " R"]) -> State:
        """Gather the near pairs of a fit and keep those that fall short."""
        cloth = linear_cloth(fit)
        pairs = near_pairs(cloth, self.body, self.box, margin=self.margin + self.slack)
        pairs = without(pairs[~self.left_alone[pairs[:, 0]]], self.crossing)
        bounds, directions = bounds_of(cloth, self.body, pairs, self.box, enough=self.margin + self.slack)
        asked = bounds < self.margin + self.slack  # no pair needs more: of the others the gap at the base is not asked
        pairs, bounds, directions = pairs[asked], bounds[asked], directions[asked]
        depth = self.needed(pairs) - bounds
        short = depth > 0
        if self.divide and short.any():
            needed = depth[short] + bounds[short]
            proven, _ = split_bounds(
                cloth.terms, cloth.faces, self.body.terms, self.body.faces, pairs[short], self.box.low, self.box.high,
                needed, SPLIT_BUDGET,
            )  # fmt: skip
            short[short] = ~proven
        return State(fit, cloth, solution, keys, pairs[short], depth[short], directions[short])

    @cached_property
    def placed(self) -> Constraints:
        """Keep cloth that its maker placed in the skin from going deeper: one constraint per vertex left alone.

        Along the skin's normal at the foot, the signed distance over the range may not fall below that of the base.
        """
        vertex = np.unique(self.start.faces[self.left_alone])
        vertex = vertex[self.fit.garment.strength[vertex] > 0]
        solid = Tree(self.body.tree.vertices, self.body.solid_faces)
        foot = closest(solid, self.start.terms[vertex, 0])
        normals = vertex_normals(solid.vertices, solid.faces)[solid.faces[foot.faces]]
        direction = np.einsum("qc,qcx->qx", foot.barycentric, normals)
        direction /= np.maximum(np.linalg.norm(direction, axis=1, keepdims=True), 1e-12)
        skin = np.einsum("qc,qcmx->qmx", foot.barycentric, self.body.terms[solid.faces[foot.faces]])
        terms = np.einsum("qmx,qx->qm", self.start.terms[vertex] - skin, direction)
        return Constraints(vertex, direction, terms, terms[:, 0].copy())

    def cutting_planes(
        self, cloth: LinearMesh, pairs: Int[np.ndarray, "P 2"], priced: Int[np.ndarray, " N"]
    ) -> tuple[Constraints, Int[np.ndarray, " R"]]:
        """Constraints for the corners of each pair's cloth triangle against the body corner that comes nearest.

        Only corners that fall short, or nearly, are in, and those that the last programme leant on: without these,
        cloth that a better direction shows to be clear falls back in every second round. The rest would cost time and
        hold nothing. Keys number them by pair and corner. The direction of a pair is the best one for the cloth as it
        is now: it is found anew in every round, since a direction that served cloth still in the way may later hold it
        off sideways for nothing.
        """
        _, directions = bounds_of(cloth, self.body, pairs, self.box)
        needed = self.needed(pairs) + ASKED_MORE
        planes = corner_planes(self.start, cloth, self.body, self.box, pairs, directions, needed, priced)
        return both((planes[0], planes[1]), (self.placed, -1 - self.placed.vertex))

    def costliest_morphs(self, state: State) -> Int[np.ndarray, " P"]:
        """The morph that takes most clearance from each pair that falls short, judged at the triangles' centres.

        -1 where the body has no morphs.
        """
        cloth = state.cloth.terms[state.cloth.faces[state.pairs[:, 0]]].mean(axis=1)
        body = self.body.terms[self.body.faces[state.pairs[:, 1]]].mean(axis=1)
        slopes = np.einsum("pmx,px->pm", (cloth - body)[:, 1:], state.directions)
        if not slopes.shape[1]:
            return np.full(len(slopes), -1)
        return np.argmin(np.minimum(self.box.low * slopes, self.box.high * slopes), axis=1)


def corner_planes(
    start: LinearMesh,
    cloth: LinearMesh,
    body: LinearMesh,
    box: Range,
    pairs: Int[np.ndarray, "P 2"],
    directions: Float[np.ndarray, "P 3"],
    needed: Float[np.ndarray, " P"],
    priced: Int[np.ndarray, " N"],
) -> tuple[Constraints, Int[np.ndarray, " R"]]:
    """Corners of each pair's cloth triangle that fall short of `needed`, or nearly, or are `priced`, and their keys.

    Each is held against the body corner that comes nearest over the range, from where it was at the start.
    """
    corners = body.faces[pairs[:, 1]]
    along_body = [np.einsum("pmx,px->pm", body.terms[corners[:, j]], directions) for j in range(3)]
    pieces, keys = [], []
    for i in range(3):
        vertex = cloth.faces[pairs[:, 0], i]
        now = np.einsum("pmx,px->pm", cloth.terms[vertex], directions)
        least = np.stack([box.minimum((now - along)[:, 0], (now - along)[:, 1:].T) for along in along_body])
        leant_on = np.isin(3 * np.arange(len(pairs)) + i, priced)
        rows = np.flatnonzero(leant_on | (least.min(axis=0) < needed + NEARLY))
        nearest = np.choose(np.argmin(least, axis=0)[:, None], along_body)[rows]
        terms = np.einsum("pmx,px->pm", start.terms[vertex[rows]], directions[rows]) - nearest
        pieces.append((vertex[rows], directions[rows], terms, needed[rows]))
        keys.append(3 * rows + i)
    return Constraints(*(np.concatenate(column) for column in zip(*pieces))), np.concatenate(keys)


def both(
    *parts: tuple[Constraints, Int[np.ndarray, " _"]],
) -> tuple[Constraints, Int[np.ndarray, " N"]]:
    """Several sets of constraints with their keys as one."""
    fields = Constraints.__dataclass_fields__
    rows = Constraints(*(np.concatenate([getattr(part, name) for part, _ in parts]) for name in fields))
    return rows, np.concatenate([keys for _, keys in parts])


def with_new(held: Int[np.ndarray, "H 2"], short: Int[np.ndarray, "S 2"], width: int) -> Int[np.ndarray, "N 2"]:
    """The pairs held so far, in their order, then those that are new."""
    new = ~np.isin(short[:, 0] * width + short[:, 1], held[:, 0] * width + held[:, 1])
    return np.concatenate([held, short[new]])


def moved_fit(fit: Fit, solution: Solution) -> Fit:
    """The original fit with the moves of a solution added."""
    base = fit.base + solution.moves[:, 0] if solution.moves[:, 0].any() else fit.base
    return replace(fit, base=base, deltas=fit.deltas + solution.moves[:, 1:].transpose(1, 0, 2))
