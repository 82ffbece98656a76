"""A body: one base body, the morphs that its wearer mixes, and the range of the mix."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from jaxtyping import Bool, Float

from dressform.arrays import BodyDeltas, BodyPoints, Faces, Points, Weights
from dressform.body.range import Range, WeightsByName
from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stances.following_joints import JointMoves
from dressform.body.stances.slid_points import slid_points, split_shape
from dressform.body.stances.sliders import JointSlider
from dressform.calls import refuse_misfit
from dressform.errors import ArgumentError, MatchError
from dressform.mesh.flat import flat_mesh, flat_points, read_only
from dressform.units import counted

COPY_SHARE = 0.15
"""Picking the active morphs copies them, which costs about six times what summing all of them in place does."""


@dataclass(frozen=True, repr=False)
class Body:
    """A base mesh plus morphs: `vertices + Σ_k weights_k deltas_k`, metres, +Y up, +Z front.

    Vertices are welded: corners that a file splits for UVs or normals are one vertex here.

    Attributes:
        name: Name of the base body.
        vertices: Base body, (B, 3).
        faces: Triangles, counter-clockwise seen from outside, (F, 3).
        morph_names: One name per morph; the order is that of every weight vector.
        deltas: Displacement per morph at weight 1, (K, B, 3).
        range: The weights that a wearer may reach.
        skeleton: Joints at rest, or None.
        skin: Joint indices and weights per vertex, or None.
        regions: Named vertex masks, each (B,).
        notes: Irregularities found when the body was read, one sentence each.
        source: The data that it was read from, kept for writing it again; nothing is computed from it.
        from_file: Scale and rotation that turned the coordinates of its file into metres, +Y up, +Z front, (3, 3).
            Garments that are modelled on the body are likely to need the same.
        joint_sliders: Sliders that move joints, beside those of the morphs.
        joint_moves: How far each joint goes with each morph at weight 1, metres, (K, J, 3), or None where joints stay.

    Raises:
        MatchError: two of these parts disagree on how many vertices, morphs or joints there are.
        ArgumentError: a position or displacement is not finite, a face names no vertex, there are none, an array is of
            another shape or kind, or two morphs have one name.
    """

    name: str
    vertices: BodyPoints
    faces: Faces
    morph_names: tuple[str, ...]
    deltas: BodyDeltas
    range: Range
    skeleton: Skeleton | None = None
    skin: Skin | None = None
    regions: Mapping[str, Bool[np.ndarray, " B"]] = field(default_factory=dict)
    notes: tuple[str, ...] = ()
    source: object = field(default=None, compare=False)
    from_file: Float[np.ndarray, "3 3"] = field(default_factory=lambda: np.eye(3))
    joint_sliders: tuple[JointSlider, ...] = ()
    joint_moves: JointMoves | None = None

    def __post_init__(self) -> None:
        refuse_misfit("Body", "name", self.name, str)
        refuse_misfit("Body", "morph_names", self.morph_names, tuple[str, ...])
        refuse_misfit("Body", "range", self.range, Range)
        object.__setattr__(self, "morph_names", tuple(self.morph_names))
        for name, shape, kind in (
            ("vertices", ("B", 3), np.float64),
            ("faces", ("F", 3), np.int64),
            ("deltas", ("K", "B", 3), np.float64),
        ):
            object.__setattr__(self, name, read_only("Body", name, getattr(self, name), shape, kind))
        if not len(self.faces):
            raise ArgumentError.of("Body", "faces", "one triangle or more", "none", "Give a mesh with faces")
        wanted = (len(self.morph_names), len(self.vertices), 3)
        if self.deltas.shape != wanted:
            raise MatchError(
                f"Body: `deltas` of {self.name!r} must be {wanted} (morphs, vertices, 3), got {self.deltas.shape}. "
                "Give every morph one displacement per vertex of the base."
            )
        flat_mesh("Body", self.vertices, self.faces)
        flat_points("Body", "deltas", self.deltas.reshape(-1, 3))
        # `at` multiplies morph by morph; deltas stored in another order would be copied for every shape.
        object.__setattr__(self, "deltas", read_only("Body", "deltas", np.ascontiguousarray(self.deltas), wanted))
        if self.joint_moves is not None:
            moves = read_only("Body", "joint_moves", self.joint_moves, ("K", "J", 3))
            object.__setattr__(self, "joint_moves", moves)
            joints = 0 if self.skeleton is None else len(self.skeleton.names)
            if moves.shape != (len(self.morph_names), joints, 3):
                raise MatchError(
                    f"Body: `joint_moves` of {self.name!r} must be {(len(self.morph_names), joints, 3)} "
                    f"(morphs, joints, 3), got {moves.shape}. Say of every morph how far it moves every joint."
                )
        _check_skin(self.name, len(self.vertices), self.skin, self.skeleton)
        if self.range.names != self.morph_names:
            raise MatchError(
                f"Body: `range` of {self.name!r} must name the morphs {list(self.morph_names)}, "
                f"got {list(self.range.names)}. Declare the range in the order of the morphs."
            )

    def at(self, weights: Weights | WeightsByName) -> BodyPoints:
        """Vertices of the shape at `weights`, in the order of the morphs or by name, (B, 3).

        By name, sliders that move joints may stand among the morphs: morphs come first, then joints. Few active morphs
        cost less.

        Raises:
            ArgumentError: not one finite number per morph, a name is no morph and no slider, or a weight is absurd.
        """
        weights, joints = split_shape("Body.at", self.range, self.joint_sliders, weights)
        active = np.flatnonzero(weights)
        if active.size > COPY_SHARE * len(weights):
            shaped = self.vertices + np.tensordot(weights, self.deltas, axes=1)
        else:
            shaped = self.vertices + np.tensordot(weights[active], self.deltas[active], axes=1)
        return self.slid(shaped, self.skin, weights, joints)

    def slid(self, points: Points, skin: Skin | None, weights: Weights, joints: Mapping[str, float]) -> Points:
        """Points of a shape, of body or cloth, after sliders have moved the joints, (V, 3).

        Raises:
            ArgumentError: sliders are moved of a body without joints, or of cloth without joint weights.
        """
        if not joints:
            return points
        if self.skeleton is None or skin is None:
            rule = "of morphs alone where nothing has joint weights"
            raise ArgumentError.of("Body.slid", "joints", rule, ", ".join(joints), "Fit with joint_weights='lifted'")
        moves, sliders = self.joint_moves, self.joint_sliders
        return slid_points(points, skin, self.skeleton, sliders, joints, moves=moves, weights=weights)

    def weights(self, named: WeightsByName) -> Weights:
        """Weight vector from morph names; morphs that are not named stay at 0.

        Raises:
            ArgumentError: a name is no morph of this body (the valid names are listed), or a weight is absurd.
        """
        refuse_misfit("Body.weights", "named", named, Mapping[str, object])
        return self.range.vector("Body.weights", named, argument="named")

    def __repr__(self) -> str:
        """Its name and size; no arrays."""
        size = f"{len(self.vertices)} vertices, {counted(len(self.morph_names), 'morph')}, {self.stature:.2f} m tall"
        return f"<Body {self.name!r}: {size}>"

    def __getstate__(self) -> dict[str, object]:
        """The state to pickle: the source is left out, so other processes do not get it."""
        return {**self.__dict__, "source": None}

    @property
    def stature(self) -> float:
        """Height from the lowest to the highest vertex of the base body, metres."""
        return float(np.ptp(self.vertices[:, 1]))


def _check_skin(name: str, count: int, skin: Skin | None, skeleton: Skeleton | None) -> None:
    """Refuse joint weights for another mesh or for joints that do not exist."""
    if skin is None or skeleton is None:
        return
    joints = len(skeleton.names)
    if len(skin.joints) != count or not (skin.joints.min(initial=0) >= 0 and skin.joints.max(initial=0) < joints):
        raise MatchError(
            f"Body: `skin` of {name!r} must name joints 0..{joints - 1} for each of {count} vertices, got "
            f"{skin.joints.min(initial=0)}..{skin.joints.max(initial=0)} for {len(skin.joints)}. "
            "Use the joint weights of this mesh and its skeleton."
        )
    if not np.isfinite(skin.weights).all():
        raise ArgumentError.of("Body", "skin", "finite", "a joint weight that is not", "Mend the joint weights")
