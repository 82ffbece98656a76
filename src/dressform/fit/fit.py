"""A fit: a garment with its lifted morphs and skin weights. Fits are checked, repaired and exported."""

from dataclasses import dataclass

import numpy as np

from dressform.arrays import ClothDeltas, ClothPoints, Weights
from dressform.body.body import COPY_SHARE, Body
from dressform.body.range import WeightsByName
from dressform.body.skeleton import Skin
from dressform.body.stance import Stance
from dressform.body.stances.slid_points import split_shape
from dressform.calls import refuse_misfit
from dressform.errors import MatchError
from dressform.fit.corrective import Corrective
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.mesh.flat import flat_points, read_only
from dressform.units import counted


@dataclass(frozen=True, eq=False, repr=False)
class Fit:
    """`base + Σ_k weights_k deltas_k`: the same object live, in the exported file and in the proof.

    Attributes:
        body: The body that it was made for.
        garment: The garment that was fitted, with the strength that `following` sets.
        following: The settings that it was fitted with.
        base: Cloth at the base, (G, 3), metres. The garment's own vertices unless a repair moved them.
        deltas: Cloth displacement per morph at weight 1, (K, G, 3).
        skin: Joint weights on the body's joints, or None where it has none: those that `following` asks for, unless a
            repair changed them.
        correctives: Targets beside the morphs that joints drive by their turn; none of them moves the cloth in the
            modelled pose.

    Raises:
        MatchError: counts disagree.
        ArgumentError: a position or displacement is not finite.
    """

    body: Body
    garment: Garment
    following: Following
    base: ClothPoints
    deltas: ClothDeltas
    skin: Skin | None = None
    correctives: tuple[Corrective, ...] = ()

    def __post_init__(self) -> None:
        for name, kind in (("body", Body), ("garment", Garment), ("following", Following)):
            refuse_misfit("Fit", name, getattr(self, name), kind)
        object.__setattr__(self, "base", read_only("Fit", "base", self.base, ("G", 3)))
        object.__setattr__(self, "deltas", read_only("Fit", "deltas", self.deltas, ("K", "G", 3)))
        wanted = (len(self.morph_names), len(self.garment.vertices), 3)
        if self.deltas.shape != wanted or self.base.shape != wanted[1:]:
            raise MatchError(
                f"Fit: `deltas` of {self.garment.name!r} must be {wanted} (morphs, vertices, 3), "
                f"got {self.deltas.shape}. Lift every morph of the body."
            )
        wrong = [one for one in self.correctives if one.delta.shape != self.base.shape]
        if wrong:
            raise MatchError(
                f"Fit: `correctives` must move the {len(self.base)} vertices of {self.garment.name!r}, got "
                f"{len(wrong[0].delta)} in {wrong[0].name!r}. Repair the garment at its stances again."
            )
        flat_points("Fit", "base", self.base)
        flat_points("Fit", "deltas", self.deltas.reshape(-1, 3))
        object.__setattr__(self, "deltas", read_only("Fit", "deltas", np.ascontiguousarray(self.deltas), wanted))

    @property
    def morph_names(self) -> tuple[str, ...]:
        """The body's morph names, in its order."""
        return self.body.morph_names

    @property
    def is_linear(self) -> bool:
        """Whether `at` is base plus deltas at every shape: only that can be repaired, proven and shipped as targets."""
        return True

    @property
    def poses_itself(self) -> bool:
        """Whether its method says where the cloth is at a stance; else joint weights carry it there."""
        return False

    def posed_at(self, weights: Weights, stance: Stance) -> ClothPoints | None:
        """Cloth vertices at a stance where the method poses the cloth itself; None where joint weights do."""
        return None

    def __repr__(self) -> str:
        """Its body, its garment and how it follows."""
        size = f"{len(self.base)} vertices, {counted(len(self.deltas), 'morph')}"
        return f"<Fit of {self.garment.name!r} on {self.body.name!r}: {size}, {self.following}>"

    def at(self, weights: Weights | WeightsByName) -> ClothPoints:
        """Cloth vertices at `weights`, in the order of the morphs or by name, (G, 3); few active morphs cost less.

        By name, sliders that move joints may stand among the morphs: morphs come first, then joints.

        Raises:
            ArgumentError: not one finite number per morph, a name is no morph and no slider, a weight is absurd, or a
                slider is moved and the cloth has no joint weights.
        """
        weights, joints = split_shape("Fit.at", self.body.range, self.body.joint_sliders, weights)
        active = np.flatnonzero(weights)
        if active.size > COPY_SHARE * len(weights):
            shaped = self.base + np.tensordot(weights, self.deltas, axes=1)
        else:
            shaped = self.base + np.tensordot(weights[active], self.deltas[active], axes=1)
        return self.body.slid(shaped, self.skin, weights, joints)
