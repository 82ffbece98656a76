"""Cutting planes of one stance: what the cloth must keep there, written as demands on the cloth at rest."""

from dataclasses import dataclass, field

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.fit.fit import Fit
from dressform.mesh.geometry import vertex_normals
from dressform.proof.at_stance import PosedPair
from dressform.proof.certificate import base_gaps, bounds_of
from dressform.proof.linear_mesh import LinearMesh, linear_cloth
from dressform.repair.clear.clearance_case import ASKED_MORE, KEPT_SHARE, both, corner_planes, with_new
from dressform.repair.clear.programme import Constraints

ROOM = 5e-4
"""Kept from own skin at a stance, metres: a fault is skin that shows; the margin is kept at rest."""
KEPT_OF = 0.25
"""Rows that blending shortens below this share of their length move cloth far at rest for little: they give way."""
TOO_DEEP = 0.010
"""What falls short by more than this is not asked for, metres: such demands were met nowhere but by others' loss."""
PIECES = 8
"""Pieces of the range looked at for one pair: what is contact or clear for certain shows in few."""
MOST_ROWS = 3
"""Planes for one cloth vertex at one stance: the deepest are held, others ask for nearly the same."""
VERTEX_KEYS = 2**40
"""Keys of planes that hold a vertex off the skin at its foot start here, above those of pairs."""


@dataclass(frozen=True)
class StanceState:
    """How a fit stands at one stance: pairs with own skin that fall short, and what lies under its own skin.

    Pairs that are contact on some shapes and open on others are not among them: a demand over the whole range would ask
    for room where there is none, and cost pucker. The certificate tells them as open.

    Attributes:
        cloth: The cloth at the stance.
        pairs: Near pairs that fall short, those of sunk faces apart, (P, 2).
        depth: By how much, (P,), metres.
        directions: Along what, (P, 3).
        sunk: Cloth vertices of faces with a corner under their own skin at the base, now or before, (S,).
        foot: The own skin closest to each: its face, (S,), and barycentric coordinates, (S, 3).
        under: How far each falls short over the range, along the normal there, (S,), metres; 0 where it does not.
        normals: These normals, (S, 3).
    """

    cloth: LinearMesh
    pairs: Int[np.ndarray, "P 2"]
    depth: Float[np.ndarray, " P"]
    directions: Float[np.ndarray, "P 3"]
    sunk: Int[np.ndarray, " S"]
    foot: tuple[Int[np.ndarray, " S"], Float[np.ndarray, "S 3"]]
    under: Float[np.ndarray, " S"]
    normals: Float[np.ndarray, "S 3"]

    @property
    def short(self) -> float:
        """By how much pairs and sunk vertices fall short, summed, metres."""
        return float(self.depth.sum() + self.under.sum())

    @property
    def count(self) -> int:
        """Pairs and sunk vertices that fall short."""
        return len(self.pairs) + int((self.under > 0).sum())

    @property
    def deepest(self) -> float:
        """The most that anything falls short, metres."""
        return max(float(self.depth.max(initial=0.0)), float(self.under.max(initial=0.0)))


@dataclass(eq=False)
class StancePlanes:
    """One stance of a repair; it remembers which pairs, and which vertices, it has held.

    Attributes:
        pair: Body and cloth at the stance, as the repair found them.
        start: The cloth at rest before any repair, from which moves are counted.
        margin: Gap to keep, metres, where the maker left more than that.
        too_deep: What falls short by more than this is not asked for, metres.
        held: Pairs that have fallen short, (H, 2).
        lifted: Cloth vertices that have lain under their own skin, (L,).
    """

    pair: PosedPair
    start: LinearMesh
    margin: float
    too_deep: float = TOO_DEEP
    held: Int[np.ndarray, "H 2"] = field(default_factory=lambda: np.zeros((0, 2), dtype=np.int64))
    lifted: Int[np.ndarray, " L"] = field(default_factory=lambda: np.zeros(0, dtype=np.int64))

    def __post_init__(self) -> None:
        self.posed_start = self.pair.carried(self.start)

    def needed(self, pairs: Int[np.ndarray, "P 2"]) -> Float[np.ndarray, " P"]:
        """The gap that each pair must keep at the stance, (P,), metres: never more than a share of that at rest."""
        gaps = base_gaps(self.start, self.pair.case.body, pairs)
        return np.minimum(self.margin, KEPT_SHARE * gaps) + self.pair.slack

    def stand(self, fit: Fit) -> StanceState:
        """How a fit stands here."""
        pair, case = self.pair, self.pair.case
        cloth = pair.carried(linear_cloth(fit))
        signed, found = pair.heights(cloth)
        faces = fit.garment.faces
        usable = self._usable(faces)
        sunk_faces = (signed[faces] <= 0).any(axis=1) & usable
        pairs = pair.near(cloth, margin=self.margin + pair.slack)
        pairs = pairs[~sunk_faces[pairs[:, 0]]]
        bounds, directions = bounds_of(cloth, pair.body, pairs, case.box, enough=self.margin + pair.slack)
        asked = bounds < self.margin + pair.slack
        pairs, bounds, directions = pairs[asked], bounds[asked], directions[asked]
        needed = self.needed(pairs)
        depth, short = needed - bounds, needed > bounds
        fates = pair.fates(cloth, pairs[short], needed[short], budget=PIECES)
        short[short] = fates.open & ~fates.touches
        self.lifted = sunk = np.union1d(self.lifted, faces[sunk_faces])
        at, share = found.faces[sunk], found.barycentric[sunk]
        normals = vertex_normals(pair.body.tree.vertices, pair.body.faces)[pair.body.faces[at]]
        normals = np.einsum("sc,scx->sx", share, normals)
        normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-12)
        state = StanceState(
            cloth, pairs[short], depth[short], directions[short], sunk, (at, share), np.zeros(len(sunk)), normals
        )
        values = self._least(cloth, state)
        under = np.maximum(self.room(sunk) - values, 0.0)
        return StanceState(cloth, state.pairs, state.depth, state.directions, sunk, state.foot, under, normals)

    def planes(
        self, state: StanceState, priced: Int[np.ndarray, " N"]
    ) -> tuple[Constraints, Int[np.ndarray, " R"], Float[np.ndarray, " R"]]:
        """Demands on the cloth at rest, their keys, and by how much blending scales each, (R,).

        A demand along n at the stance is one along Aᵀ n at rest, divided by its length so that it has a unit direction.
        """
        pair, box = self.pair, self.pair.case.box
        self.held = with_new(self.held, state.pairs[state.depth < self.too_deep], len(pair.body.faces))
        _, directions = bounds_of(state.cloth, pair.body, self.held, box)
        needed = self.needed(self.held) + ASKED_MORE
        of_pairs = corner_planes(
            self.posed_start, state.cloth, pair.body, box, self.held, directions, needed, priced[priced < VERTEX_KEYS]
        )
        skin = self._skin(state)
        terms = np.einsum("smx,sx->sm", self.posed_start.terms[state.sunk] - skin, state.normals)
        of_sunk = Constraints(state.sunk, state.normals, terms, self.room(state.sunk) + ASKED_MORE)
        rows, keys = both(of_pairs, (of_sunk, VERTEX_KEYS + state.sunk))
        back = np.einsum("rij,ri->rj", pair.maps[rows.vertex, :, :3], rows.direction)
        length = np.linalg.norm(back, axis=1)
        moved = state.cloth.terms[rows.vertex] - self.posed_start.terms[rows.vertex]
        now = rows.terms + np.einsum("rmx,rx->rm", moved, rows.direction)
        values = box.minimum(now[:, 0], now[:, 1:].T)
        kept = (
            _deepest(rows.vertex, rows.needed - values, np.isin(keys, priced))
            & (length > KEPT_OF)
            & (rows.needed - values < self.too_deep)
        )
        length = length[kept]
        scaled = Constraints(
            rows.vertex[kept],
            back[kept] / length[:, None],
            rows.terms[kept] / length[:, None],
            rows.needed[kept] / length,
        )
        return scaled, keys[kept], length

    def _usable(self, faces: Int[np.ndarray, "F 3"]) -> Bool[np.ndarray, " F"]:
        """Cloth faces that are not left out and whose foot is not on folded skin, (F,)."""
        on = self.pair.case.feet.faces[faces]
        return ~self.pair.folded[on].any(axis=1) & ~self.pair.case.excluded

    def room(self, vertices: Int[np.ndarray, " S"]) -> Float[np.ndarray, " S"]:
        """Room that vertices under their skin must get, (S,), metres."""
        left = np.maximum(self.pair.case.feet.clearance[vertices], 0.0)
        return np.minimum(self.margin, KEPT_SHARE * left) + self.pair.slack

    def _skin(self, state: StanceState) -> Float[np.ndarray, "S M 3"]:
        """Terms of the skin closest to sunk vertices."""
        at, share = state.foot
        return np.einsum("sc,scmx->smx", share, self.pair.body.terms[self.pair.body.faces[at]])

    def _least(self, cloth: LinearMesh, state: StanceState) -> Float[np.ndarray, " S"]:
        """Least height of sunk vertices over the skin closest to them, over the range, (S,), metres."""
        terms = np.einsum("smx,sx->sm", cloth.terms[state.sunk] - self._skin(state), state.normals)
        return self.pair.case.box.minimum(terms[:, 0], terms[:, 1:].T)


def _deepest(
    vertex: Int[np.ndarray, " R"], depth: Float[np.ndarray, " R"], priced: Bool[np.ndarray, " R"]
) -> Bool[np.ndarray, " R"]:
    """The few deepest rows of each vertex, and those that have a price, (R,)."""
    order = np.lexsort((-depth, vertex))
    starts = np.searchsorted(vertex[order], vertex[order])
    kept = np.zeros(len(vertex), dtype=bool)
    kept[order] = np.arange(len(vertex)) - starts < MOST_ROWS
    return kept | priced
