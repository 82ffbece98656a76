"""Whom a garment is cut for: a body shape, its joints, and which vertices belong to which limb."""

from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import BodyPoints, Faces, Points, VertexScalars, Weights
from dressform.body.body import Body
from dressform.demo.tailor.settle import SupportingBody
from dressform.errors import MatchError
from dressform.mesh.nearest import closest

TRUNK = ("root", "pelvis", "spine_1", "spine_2", "spine_3", "clavicle_l", "clavicle_r")
HEAD = ("neck", "head")
FINGERS = ("thumb", "index", "middle", "ring", "little")
SIDES = ("l", "r")


@dataclass(frozen=True)
class Wearer:
    """A body at one shape.

    Attributes:
        vertices: (B, 3), metres.
        faces: (F, 3).
        joint_names: Names of the joints.
        joints: Position of each joint, (J, 3).
        weights: How much each joint moves each vertex, (B, J).
    """

    vertices: BodyPoints
    faces: Faces
    joint_names: tuple[str, ...]
    joints: Float[np.ndarray, "J 3"]
    weights: Float[np.ndarray, "B J"]

    @classmethod
    def of(cls, body: Body, weights: Weights | None = None) -> "Wearer":
        """The body at `weights` (the base body if none); joints stay where the base has them.

        Raises:
            MatchError: the body has no skeleton or no skin weights.
        """
        if body.skeleton is None or body.skin is None:
            raise MatchError(f"Wearer.of: {body.name!r} must have joints and skin weights, got none. Rig the body.")
        vertices = body.vertices if weights is None else body.at(weights)
        names = body.skeleton.names
        return cls(vertices, body.faces, names, body.skeleton.positions, body.skin.dense(len(names)))

    @cached_property
    def owner(self) -> Int[np.ndarray, " B"]:
        """The joint that moves each vertex most, (B,)."""
        return self.weights.argmax(axis=1)

    @cached_property
    def figure(self) -> SupportingBody:
        """The skin to rest cloth on."""
        return SupportingBody.of(self.vertices, self.faces)

    def joint(self, name: str) -> Float[np.ndarray, "3"]:
        """Position of a joint."""
        return self.joints[self.joint_names.index(name)]

    def owned(self, names: Iterable[str]) -> Bool[np.ndarray, " B"]:
        """Which vertices move mostly with these joints, (B,)."""
        return np.isin(self.owner, [self.joint_names.index(name) for name in names])

    def skin_of(self, names: Iterable[str]) -> Points:
        """Vertices and triangle centres of the limb that these joints move, (V, 3)."""
        owned = self.owned(names)
        inner = owned[self.faces].all(axis=1)
        return np.concatenate([self.vertices[owned], self.vertices[self.faces[inner]].mean(axis=1)])

    def share(self, points: Points, names: Iterable[str]) -> VertexScalars:
        """How much these joints move the skin nearest to each point, 0 to 1, (V,)."""
        found = closest(self.figure.tree, points)
        share = self.weights[:, [self.joint_names.index(name) for name in names]].sum(axis=1)
        return np.einsum("qc,qc->q", found.barycentric, share[self.faces[found.faces]])

    def arm(self, side: str, *, hand: bool = False) -> tuple[str, ...]:
        """Joints of an arm, with or without the hand."""
        names = (f"upper_arm_{side}", f"forearm_{side}")
        return names + self.hand(side) if hand else names

    @staticmethod
    def hand(side: str) -> tuple[str, ...]:
        """Joints of a hand."""
        return (f"hand_{side}", *(f"{finger}_{bone}_{side}" for finger in FINGERS for bone in (1, 2)))

    @staticmethod
    def leg(side: str) -> tuple[str, ...]:
        """Joints of a leg down to the ankle."""
        return (f"thigh_{side}", f"shin_{side}")

    @staticmethod
    def foot(side: str) -> tuple[str, ...]:
        """Joints of a foot."""
        return (f"foot_{side}", f"toes_{side}")
