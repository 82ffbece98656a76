"""The lift: one constant linear operator that carries every field of the body to the cloth."""

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from jaxtyping import Bool, Float
from scipy.sparse import csr_array

from dressform.arrays import BodyDeltas, ClothDeltas, Faces, VertexScalars
from dressform.body.body import Body
from dressform.garment.following import DEFAULT_FOLLOWING, SCALE, SMOOTH, Following
from dressform.garment.garment import Garment
from dressform.lift.feet import Feet, find_feet
from dressform.lift.motion import local_motion
from dressform.lift.rows import foot_rows, nearest_rows, nearest_three_rows
from dressform.lift.smooth import Smoother, make_smoother
from dressform.mesh.geometry import vertex_edge_length
from dressform.mesh.tree import Tree

TOGETHER = 16  # morphs lifted at once; more take memory and no less time
VERTEX_ROWS = {"nearest": nearest_rows, "nearest-three": nearest_three_rows}
"""Methods that read the body at vertices instead of at the foot."""


@dataclass(frozen=True)
class Lift:
    """Carries fields of `body` to the vertices of `garment`; linear, and the same at every shape.

    Attributes:
        body: The body whose fields are lifted.
        garment: The cloth that they are lifted to.
        following: How it follows; only the method, the ease policy and the rotation share are used.
        feet: Closest body points at the base.
        rows: Matrix that reads the body, (G, B); rows sum to 1.
        smoother: Makes what was read smooth along the cloth; None for the other methods.
    """

    body: Body
    garment: Garment
    following: Following
    feet: Feet
    rows: csr_array
    smoother: Smoother | None

    def apply(self, field: Float[np.ndarray, "B C"]) -> Float[np.ndarray, "G C"]:
        """Carry a field per body vertex to the cloth's vertices, (G, C); a constant stays the same.

        The garment's strength is not applied here. It belongs to what moves the cloth, see `displacements`.
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
        """Displacements as read from the body, with the offsets carried if a policy says so."""
        read = _each(self.rows, deltas)
        carries = self.following.effective_rotation_share or self.following.ease == SCALE
        return read + self._carried(*self._motion(deltas)) if carries else read

    def _smooth(self, deltas: BodyDeltas) -> ClothDeltas:
        """Displacements made smooth; the cloth's own bends turn and stretch with the skin and are not flattened."""
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
        change = self.following.effective_rotation_share * np.cross(turns, self.offsets)
        return change + stretches * self.offsets if self.following.ease == SCALE else change

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
        """The body's triangles around the points that are read; the others do not affect this garment."""
        used = np.zeros(len(self.body.vertices), dtype=bool)
        used[self.rows.indices] = True
        return self.body.faces[used[self.body.faces].any(axis=1)]

    def shares(self, field: Float[np.ndarray, "B C"]) -> Float[np.ndarray, "G C"]:
        """A field that must not overshoot (joint weights, masks) at the cloth's vertices, (G, C).

        Every value is a weighted mean of the body's, so non-negative fields that sum to one stay so.
        """
        read = self.rows @ field
        return read if self.smoother is None else self.smoother.spread(read)

    @cached_property
    def foot_rows(self) -> csr_array:
        """Matrix that reads the body at the feet, whatever the method, (G, B); rows sum to 1."""
        if self.following.method not in VERTEX_ROWS:
            return self.rows
        corners, pointers = self.body.faces[self.feet.faces], np.arange(0, 3 * self.count + 1, 3)
        shape = (self.count, len(self.body.vertices))
        return csr_array((self.feet.barycentric.ravel(), corners.ravel(), pointers), shape=shape)

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
        """Laplacian of the cloth's own positions, (N, 3). The local rotation and stretch of the skin act on it."""
        if self.smoother is None:
            return np.zeros((self.count, 3))
        return self.smoother.stiffness @ self.smoother.gather(self.garment.vertices)


def make_lift(
    body: Body,
    garment: Garment,
    following: Following = DEFAULT_FOLLOWING,
    *,
    tree: Tree | None = None,
    feet: Feet | None = None,
    held: Bool[np.ndarray, " G"] | None = None,
    skin_edge_length: VertexScalars | None = None,
) -> Lift:
    """Bind a garment to a body.

    Args:
        body: The body.
        garment: Cloth modelled on its base body. The garment's own strength is used, not that of `following`.
        following: Method, ease policy and rotation share. Beside a method that is not ours the lift is smooth.
        tree: The body's triangles, if already built, so that several garments share them.
        feet: Where the cloth stands, if not at the closest points.
        held: Vertices that read the body at their foot although the method reads it at nearby vertices, (G,).
        skin_edge_length: Edge length around each vertex of the body, if already known, (B,), metres.
    """
    tree = Tree(body.vertices, body.faces) if tree is None else tree
    feet = find_feet(tree, garment.vertices, garment.faces) if feet is None else feet
    rows = _rows(following.lifted_by, body, garment, feet, tree, held)
    smoother = None
    if following.lifted_by == SMOOTH:
        if skin_edge_length is None:
            skin_edge_length = vertex_edge_length(body.vertices, body.faces)
        smoother = make_smoother(garment.vertices, garment.faces, feet.clearance, rows @ skin_edge_length)
    return Lift(body, garment, following, feet, rows, smoother)


def _rows(
    method: str, body: Body, garment: Garment, feet: Feet, tree: Tree, held: Bool[np.ndarray, " G"] | None
) -> csr_array:
    """The matrix that reads the body, by method."""
    if method not in VERTEX_ROWS:
        return foot_rows(feet, tree)
    read = VERTEX_ROWS[method](body.vertices, garment.vertices)
    if held is None:
        return read
    keep = (~held).astype(np.float64)[:, None]
    return csr_array(read.multiply(keep) + foot_rows(feet, tree).multiply(1.0 - keep))


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
