"""The lift: one constant linear operator that carries every field of the body to the cloth."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from jaxtyping import Float
from scipy.sparse import csr_array

from dressform.arrays import BodyDeltas, ClothDeltas, Faces
from dressform.body.body import Body
from dressform.errors import ArgumentError
from dressform.garment.garment import Garment
from dressform.lift.feet import Feet, find_feet
from dressform.lift.motion import local_motion
from dressform.lift.rows import foot_rows, nearest_rows, nearest_three_rows
from dressform.lift.smooth import Smoother, make_smoother
from dressform.mesh.geometry import vertex_edge_length
from dressform.mesh.tree import Tree

METHODS = ("nearest", "nearest-three", "surface", "smooth")
EASES = ("keep", "scale")
DEFAULT_METHOD = "smooth"
DEFAULT_EASE = "keep"
DEFAULT_TURN = 0.5
TOGETHER = 16  # morphs lifted at once; more take memory and no less time


@dataclass(frozen=True)
class Lift:
    """Carries fields of `body` to the vertices of `garment`; linear, and the same at every shape.

    Attributes:
        body: The body whose fields are lifted.
        garment: The cloth that they are lifted to.
        way: How: one of `WAYS`.
        ease: Whether the distance from the skin is kept or scales with the skin's stretch: one of `EASES`.
        turn: Share of the skin's first-order turn that the offset from the foot takes part in, 0 to 1.
        feet: Closest body points at the base.
        rows: What is read from the body, (G, B); rows sum to 1.
        smoother: Makes what was read smooth along the cloth; None for the plain ways.
    """

    body: Body
    garment: Garment
    method: str
    ease: str
    rotation_share: float
    feet: Feet
    rows: csr_array
    smoother: Smoother | None

    def apply(self, field: Float[np.ndarray, "B C"]) -> Float[np.ndarray, "G C"]:
        """Any field per body vertex at the cloth's vertices, (G, C); a constant stays what it is.

        The garment's strength is not in it: that is for what moves the cloth, see `displacements`.
        """
        read = self.rows @ field
        return read if self.smoother is None else self.smoother.solve(read)

    def displacements(self, deltas: BodyDeltas) -> ClothDeltas:
        """How the cloth moves when the body moves by each of `deltas`, (K, G, 3), metres.

        The offset from foot to cloth turns and scales by the policies; the garment's strength is applied last.
        """
        moved = np.zeros((len(deltas), self.count, 3))
        for first in range(0, len(deltas), TOGETHER):
            part = deltas[first : first + TOGETHER]
            moved[first : first + TOGETHER] = self._plain(part) if self.smoother is None else self._smooth(part)
        return moved * self.garment.strength[:, None]

    def _plain(self, deltas: BodyDeltas) -> ClothDeltas:
        """What is read, with the offsets carried if a policy says so."""
        read = _each(self.rows, deltas)
        return read + self._carried(*self._motion(deltas)) if self.rotation_share or self.ease == "scale" else read

    def _smooth(self, deltas: BodyDeltas) -> ClothDeltas:
        """What is read, made smooth: the cloth's own bends turn and stretch with the skin instead of being ironed."""
        assert self.smoother is not None
        turns, stretches = self._motion(deltas)
        targets = _each(self.rows, deltas) + self._carried(turns, stretches)
        gather = self.smoother.gather
        turns, stretches = (_morphs(gather(_columns(part)), part.shape[2]) for part in (turns, stretches))
        bends = np.cross(turns, self.bend) + stretches * self.bend
        return _morphs(self.smoother.solve(_columns(targets), _columns(bends)), 3)

    def _carried(
        self, turns: Float[np.ndarray, "K G 3"], stretches: Float[np.ndarray, "K G 1"]
    ) -> Float[np.ndarray, "K G 3"]:
        """Change of the offsets by the policies, to first order."""
        change = self.rotation_share * np.cross(turns, self.offsets)
        return change + stretches * self.offsets if self.ease == "scale" else change

    def _motion(self, deltas: BodyDeltas) -> tuple[Float[np.ndarray, "K G 3"], Float[np.ndarray, "K G 1"]]:
        """Turn and stretch of the skin at the feet under each of `deltas`; smooth along the cloth where the lift is."""
        read = np.zeros((len(deltas), self.count, 4))
        for index, delta in enumerate(deltas):
            turn, stretch = local_motion(self.body.vertices, self._skin, delta)
            read[index] = self.rows @ np.column_stack([turn, stretch])
        if self.smoother is not None:
            read = _morphs(self.smoother.spread(_columns(read)), 4)
        return read[..., :3], read[..., 3:]

    @cached_property
    def _skin(self) -> Faces:
        """The body's triangles around what is read; the others say nothing to this garment."""
        used = np.zeros(len(self.body.vertices), dtype=bool)
        used[self.rows.indices] = True
        return self.body.faces[used[self.body.faces].any(axis=1)]

    def shares(self, field: Float[np.ndarray, "B C"]) -> Float[np.ndarray, "G C"]:
        """A field that must not overshoot (joint weights, masks) at the cloth's vertices, (G, C).

        Every value is a weighted mean of the body's, so non-negative fields that sum to one stay so.
        """
        read = self.rows @ field
        return read if self.smoother is None else self.smoother.spread(read)

    @property
    def count(self) -> int:
        """Number of cloth vertices."""
        return len(self.garment.vertices)

    @cached_property
    def offsets(self) -> Float[np.ndarray, "G 3"]:
        """From the point that is read at the base to the cloth vertex, (G, 3), metres."""
        return self.garment.vertices - self.rows @ self.body.vertices

    @cached_property
    def bend(self) -> Float[np.ndarray, "N 3"]:
        """Laplacian of the cloth's own positions: what a local turn turns and a local stretch stretches, (N, 3)."""
        if self.smoother is None:
            return np.zeros((self.count, 3))
        return self.smoother.stiffness @ self.smoother.gather(self.garment.vertices)


def make_lift(
    body: Body,
    garment: Garment,
    *,
    method: str = DEFAULT_METHOD,
    ease: str = DEFAULT_EASE,
    rotation_share: float | None = None,
    tree: Tree | None = None,
) -> Lift:
    """Bind a garment to a body.

    Args:
        body: The body on its base body.
        garment: Cloth modelled on that base body.
        way: `nearest` (one nearest body vertex), `nearest-three` (three, by inverse distance), `surface` (closest
            surface point, barycentric) or `smooth` (closest surface point, then smoothed along the cloth).
        ease: `keep` the distance from the skin, or `scale` it with the skin's own stretch.
        turn: Share of the skin's turn that the offset takes part in. 1 follows a small rotation exactly; 0.5 keeps
            the distance best under large ones; 0 never turns. By default 0.5 for `smooth` and 0 for the plain ways.
        tree: The body's triangles if they are at hand, so that several garments share them.

    Raises:
        ArgumentError: an unknown way or ease (the valid names are listed), or `rotation_share` outside [0, 1].
    """
    _check("method", method, METHODS)
    _check("ease", ease, EASES)
    if rotation_share is None:
        rotation_share = DEFAULT_TURN if method == "smooth" else 0.0
    if not 0.0 <= rotation_share <= 1.0:
        raise ArgumentError.of(
            "make_lift", "rotation_share", "in [0, 1]", f"{rotation_share:g}", "Give the share of the turn to follow"
        )
    tree = Tree(body.vertices, body.faces) if tree is None else tree
    feet = find_feet(tree, garment.vertices, garment.faces)
    rows = _rows(method, body, garment, feet, tree)
    smoother = None
    if method == "smooth":
        skin_edge_length = rows @ vertex_edge_length(body.vertices, body.faces)
        smoother = make_smoother(garment.vertices, garment.faces, feet.clearance, skin_edge_length)
    return Lift(body, garment, method, ease, rotation_share, feet, rows, smoother)


def _rows(method: str, body: Body, garment: Garment, feet: Feet, tree: Tree) -> csr_array:
    """What is read from the body, by way."""
    if method == "nearest":
        return nearest_rows(body.vertices, garment.vertices)
    if method == "nearest-three":
        return nearest_three_rows(body.vertices, garment.vertices)
    return foot_rows(feet, tree)


def _check(argument: str, value: str, valid: tuple[str, ...]) -> None:
    """Refuse an unknown name and list the valid ones."""
    if value not in valid:
        raise ArgumentError.of("make_lift", argument, f"one of {', '.join(valid)}", repr(value), "Use one of these")


def _each(rows: csr_array, fields: Float[np.ndarray, "K B C"]) -> Float[np.ndarray, "K G C"]:
    """The rows applied to each field."""
    read = np.zeros((len(fields), rows.shape[0], fields.shape[2]))
    for index, field in enumerate(fields):
        read[index] = rows @ field
    return read


def _columns(fields: Float[np.ndarray, "K G C"]) -> Float[np.ndarray, "G KC"]:
    """One row per vertex, so that one solve serves all."""
    return np.ascontiguousarray(fields.transpose(1, 0, 2)).reshape(fields.shape[1], -1)


def _morphs(columns: Float[np.ndarray, "G KC"], width: int) -> Float[np.ndarray, "K G C"]:
    """Back to one field per morph."""
    return np.ascontiguousarray(columns.reshape(len(columns), -1, width).transpose(1, 0, 2))
