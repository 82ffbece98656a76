"""Joint weights that a garment's own file holds, by the names of its joints."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from dressform.errors import MatchError
from dressform.mesh.flat import read_only

NO_JOINT = -1


@dataclass(frozen=True)
class OwnJoints:
    """Which joints of its own file move each vertex of a garment, and how much.

    Attributes:
        names: Of the joints, or of the nodes that the meshes hang on.
        parents: Index of the joint above each, -1 at a root, (J,).
        joints: Joints of each vertex, (G, N).
        weights: Non-negative; rows sum to 1, or to 0 where the file gives a vertex no joint, (G, N).
        hangs: Whether the meshes have no weights but hang on a joint as a whole, as a helmet does.

    Raises:
        MatchError: counts disagree, or a joint is out of range.
    """

    names: tuple[str, ...]
    parents: Int[np.ndarray, " J"]
    joints: Int[np.ndarray, "G N"]
    weights: Float[np.ndarray, "G N"]
    hangs: bool = False

    def __post_init__(self) -> None:
        for name, shape, kind in (
            ("parents", ("J",), np.int64),
            ("joints", ("G", "N"), np.int64),
            ("weights", ("G", "N"), np.float64),
        ):
            object.__setattr__(self, name, read_only("OwnJoints", name, getattr(self, name), shape, kind))
        count = len(self.names)
        fits = self.joints.shape == self.weights.shape and len(self.parents) == count
        if not fits or not ((self.joints >= 0) & (self.joints < count)).all():
            raise MatchError(
                f"OwnJoints: `joints` must be indices below {count}, one for each weight, got {self.joints.shape} for "
                f"{self.weights.shape} weights and {len(self.parents)} parents. Read the file again."
            )

    def dense(self) -> Float[np.ndarray, "G J"]:
        """One column per joint, (G, J)."""
        matrix = np.zeros((len(self.joints), len(self.names)))
        np.add.at(matrix, (np.arange(len(self.joints))[:, None], self.joints), self.weights)
        return matrix

    def of_dense(self, dense: Float[np.ndarray, "W J"]) -> "OwnJoints":
        """Other weights of the same joints, one column per joint, (W, J)."""
        width = max(int((dense > 0).sum(axis=1).max(initial=1)), 1)
        joints = np.argsort(-dense, axis=1, kind="stable")[:, :width]
        weights = np.take_along_axis(dense, joints, axis=1)
        return OwnJoints(self.names, self.parents, np.where(weights > 0, joints, 0), weights, self.hangs)

    def at(self, vertices: Int[np.ndarray, " N"]) -> "OwnJoints":
        """The same at some of the vertices."""
        return OwnJoints(self.names, self.parents, self.joints[vertices], self.weights[vertices], self.hangs)
