"""Joints and skin weights, as glTF defines them."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from dressform.errors import MatchError

JOINTS_PER_VERTEX = 4


@dataclass(frozen=True)
class Skeleton:
    """Joints at rest.

    Attributes:
        names: One per joint.
        parents: Index of the parent joint, -1 at the root, (J,). A parent precedes its children.
        rest: Local transform of each joint relative to its parent, (J, 4, 4), column vectors.
        inverse_bind: From mesh space to joint space at bind time, (J, 4, 4).
    """

    names: tuple[str, ...]
    parents: Int[np.ndarray, " J"]
    rest: Float[np.ndarray, "J 4 4"]
    inverse_bind: Float[np.ndarray, "J 4 4"]

    def __post_init__(self) -> None:
        late = np.flatnonzero(self.parents >= np.arange(len(self.names)))
        if late.size:
            raise MatchError(
                f"Skeleton: `parents` must point to earlier joints, got {int(self.parents[late[0]])} at joint "
                f"{self.names[late[0]]!r}. Sort the joints from the root outward."
            )

    def world(self, local: Float[np.ndarray, "J 4 4"] | None = None) -> Float[np.ndarray, "J 4 4"]:
        """Joint-to-world transforms of the local transforms given (the rest pose by default), (J, 4, 4)."""
        chain = (self.rest if local is None else local).copy()
        for joint, parent in enumerate(self.parents):
            if parent >= 0:
                chain[joint] = chain[parent] @ chain[joint]
        return chain

    def local(self, worlds: Float[np.ndarray, "J 4 4"]) -> Float[np.ndarray, "J 4 4"]:
        """The local transforms of which `world` makes these, (J, 4, 4)."""
        found = worlds.copy()
        below = np.flatnonzero(self.parents >= 0)
        found[below] = np.linalg.inv(worlds[self.parents[below]]) @ worlds[below]
        return found

    @property
    def positions(self) -> Float[np.ndarray, "J 3"]:
        """Joint positions in the rest pose, (J, 3)."""
        return self.world()[:, :3, 3].copy()


@dataclass(frozen=True)
class Skin:
    """Linear blend skinning: which joints move a vertex, and how much.

    Attributes:
        joints: Joint indices, (V, N).
        weights: Non-negative, rows sum to 1, (V, N).
    """

    joints: Int[np.ndarray, "V N"]
    weights: Float[np.ndarray, "V N"]

    def dense(self, joint_count: int) -> Float[np.ndarray, "V J"]:
        """One column per joint, (V, J)."""
        matrix = np.zeros((len(self.joints), joint_count))
        np.add.at(matrix, (np.arange(len(self.joints))[:, None], self.joints), self.weights)
        return matrix

    def at(self, vertices: Int[np.ndarray, " N"]) -> "Skin":
        """The same at some of the vertices."""
        return Skin(self.joints[vertices], self.weights[vertices])

    @classmethod
    def from_dense(cls, matrix: Float[np.ndarray, "V J"], *, most: int = JOINTS_PER_VERTEX) -> "Skin":
        """Keep the `most` largest weights of each row and scale them to sum to 1.

        Unused slots hold joint 0 with weight 0, as glTF requires.

        Raises:
            MatchError: a row has no positive weight; the first such vertex is named.
        """
        kept = np.clip(matrix, 0.0, None)
        order = np.argsort(-kept, axis=1, kind="stable")[:, :most]
        weights = np.take_along_axis(kept, order, axis=1)
        if weights.shape[1] < most:
            pad = most - weights.shape[1]
            weights, order = np.pad(weights, ((0, 0), (0, pad))), np.pad(order, ((0, 0), (0, pad)))
        total = weights.sum(axis=1, keepdims=True)
        if np.any(total <= 0):
            vertex = int(np.flatnonzero(total[:, 0] <= 0)[0])
            raise MatchError(
                f"Skin.from_dense: `matrix` must have a positive weight in every row, got none at vertex {vertex}. "
                "Give this vertex a joint."
            )
        weights = weights / total
        return cls(np.where(weights > 0, order, 0), weights)

    def pose(
        self, vertices: Float[np.ndarray, "V 3"], transforms: Float[np.ndarray, "J 4 4"]
    ) -> Float[np.ndarray, "V 3"]:
        """Blend `transforms` (world times inverse bind, one per joint) and apply them, (V, 3)."""
        blended = np.einsum("vn,vnij->vij", self.weights, transforms[self.joints])
        return np.einsum("vij,vj->vi", blended[:, :3, :3], vertices) + blended[:, :3, 3]
