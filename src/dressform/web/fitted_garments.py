"""A base body and the garments fitted to it, each with data that is computed once."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from time import perf_counter

import numpy as np
from jaxtyping import Float, Float32

from dressform.body.measure import Measurer
from dressform.body.pose import Poser
from dressform.body.skeleton import Skin
from dressform.causes.explained_garment import ExplainedGarment
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.rim_step import RigidPatches
from dressform.faults.wardrobe import Wardrobe
from dressform.fit.corrective import corrective_shift
from dressform.fit.fit import Fit
from dressform.fit.follow import Follower, follower_of
from dressform.formats.load import BodyFile
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.garment.methods import method_words
from dressform.jobs.fit import fit
from dressform.jobs.prove import prove
from dressform.jobs.repair import repair
from dressform.lift.feet import Feet, find_feet
from dressform.mesh.tree import Tree
from dressform.proof.certificate import Certificate
from dressform.proof.linear_mesh import LinearMesh, linear_body
from dressform.report.page.layers import (
    SurfaceLayers,
    body_rigid_patches,
    certified_layer,
    feet_layer,
    resolution_layer,
)
from dressform.web.workers import BackgroundJob

FIXED_LAYERS = ("certified", "resolution", "strength", "feet")
"""Layers that no shape changes."""


class BaseShape:
    """One base body of the body file, with data that is used repeatedly."""

    def __init__(self, file: BodyFile) -> None:
        self.file, self.body = file, file.body

    @cached_property
    def follower(self) -> Follower:
        """The body, laid out for following."""
        return Follower.of_body(self.body)

    @cached_property
    def tree(self) -> Tree:
        """Its triangles at weight 0."""
        return Tree(self.body.vertices, self.body.faces)

    @cached_property
    def moving(self) -> LinearMesh:
        """The body as the obstacle that cloth must keep clear of."""
        return linear_body(self.body)

    @cached_property
    def measurer(self) -> Measurer:
        """Takes its tape measures."""
        return Measurer(self.body)

    @cached_property
    def poser(self) -> Poser | None:
        """Poses the body; None where it has no joints."""
        return make_poser(self, self.body.skin)

    @cached_property
    def rigid_patches(self) -> tuple[RigidPatches, ...]:
        """The rigid patches of each morph."""
        return body_rigid_patches(self.body)


@dataclass(frozen=True)
class Variant:
    """One version of a garment on the page.

    Attributes:
        name: Name of the garment.
        method: How it follows.
        repaired: Whether it is repaired over the whole range.
        opened: Whether it follows as when it was opened, before any edit.
    """

    name: str
    method: str
    repaired: bool = False
    opened: bool = False

    @property
    def key(self) -> str:
        """A key that is unique on the page."""
        words = [
            self.name,
            self.method,
            *(["repaired"] if self.repaired else ()),
            *(["as opened"] if self.opened else ()),
        ]
        return " ".join(words)

    @property
    def words(self) -> str:
        """What sets it apart, for a person."""
        words = [*(["repaired"] if self.repaired else ()), *(["as opened"] if self.opened else ())]
        return method_words(self.method) + "".join(f", {word}" for word in words)


class FittedGarment:
    """A garment fitted to a base body.

    Args:
        base: The base body.
        variant: Which version of it this is.
        fit: The fit.
        revision: Grows with every edit.
        wardrobe: What is prepared of the garments of this base body.
        seconds: What making it took.
    """

    def __init__(
        self,
        base: BaseShape,
        variant: Variant,
        fit: Fit,
        *,
        revision: int,
        wardrobe: Wardrobe[ExplainedGarment],
        seconds: float,
    ) -> None:
        self.base, self.variant, self.fit = base, variant, fit
        self.revision, self.seconds = revision, seconds
        self._wardrobe = wardrobe
        self.follower = follower_of(fit)
        self.certificate: Certificate | None = None
        self._fixed: dict[str, np.ndarray] = {}
        self._over: dict[int, bool] = {}

    def lies_over(self, other: "FittedGarment") -> bool:
        """Whether it is worn over another garment, computed once for each fit of the other."""
        known = self._over.get(id(other.fit))
        if known is None:
            known = self._over[id(other.fit)] = self.check.lies_over(other.check)
        return known

    def worn_over(self, under: Sequence[Fit]) -> GarmentOnBody:
        """Measures its faults, those between it and the garments under it too."""
        return self._wardrobe.worn(self.fit, under=under)

    @cached_property
    def check(self) -> GarmentOnBody:
        """Measures its faults."""
        return self._wardrobe.worn(self.fit)

    @cached_property
    def layers(self) -> SurfaceLayers:
        """Its layers at any shape."""
        return SurfaceLayers(self.check)

    @cached_property
    def poser(self) -> Poser | None:
        """Poses it; None where it has no joint weights."""
        return make_poser(self.base, self.fit.skin)

    def posed(
        self, cloth: Float32[np.ndarray, "G 3"], worlds: Float[np.ndarray, "J 4 4"]
    ) -> Float32[np.ndarray, "G 3"]:
        """The cloth with its joints at `worlds`, the targets that they drive added before they carry it, (G, 3)."""
        skeleton = self.base.body.skeleton
        if self.poser is None or skeleton is None:
            return cloth
        shift = corrective_shift(self.fit.correctives, skeleton, worlds)
        return self.poser.at(cloth if shift is None else cloth + shift.astype(np.float32), worlds)

    def fixed(self, name: str) -> np.ndarray:
        """Values of one of `FIXED_LAYERS`, computed once, in the unit of the layer."""
        if name not in self._fixed:
            self._fixed[name] = self._look(name)
        return self._fixed[name]

    def _look(self, name: str) -> np.ndarray:
        body, fit = self.base.body, self.fit
        if name == "certified":
            if not fit.is_linear:
                return np.ones(len(fit.base), dtype=np.int64)  # nothing is certain of what is only asked
            self.certificate = prove(fit, sliders=False, obstacle=self.base.moving).certificate
            return certified_layer(fit, self.certificate)
        if name == "resolution":
            return resolution_layer(fit)
        return feet_layer(body, fit) if name == "feet" else fit.garment.strength

    @cached_property
    def feet(self) -> Feet:
        """The body point under each of its vertices."""
        return find_feet(self.base.tree, self.fit.garment.vertices, self.fit.garment.faces)


def make_poser(base: BaseShape, skin: Skin | None) -> Poser | None:
    """Makes a poser for a mesh with this skin, by the joints of a base body."""
    skeleton = base.body.skeleton
    return None if skin is None or skeleton is None else Poser(skin, skeleton.inverse_bind)


def fit_variant(
    base: BaseShape,
    variant: Variant,
    garment: Garment,
    following: Following,
    *,
    revision: int,
    wardrobe: Wardrobe[ExplainedGarment],
    job: BackgroundJob,
) -> FittedGarment:
    """Fit a garment to a base body, and repair it where the variant says so.

    Raises:
        Cancelled: the job was called off.
        ArgumentError: a setting is not valid for this garment.
    """
    start = perf_counter()
    job.step(0, 0, f"Fitting {variant.name}")
    made = fit(base.body, garment, following, tree=base.tree)
    if variant.repaired:
        job.step(0, 0, f"Repairing {variant.name}")

        def told(number: int, left: int, _: str) -> None:
            job.step(0, 0, f"Keeping {variant.name} clear of the body: round {number}, {left} pairs of triangles to go")

        made = repair(made, obstacle=base.moving, tree=base.tree, progress=told).fit
    job.step(1, 1, "")
    return FittedGarment(base, variant, made, revision=revision, wardrobe=wardrobe, seconds=perf_counter() - start)
