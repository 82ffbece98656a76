"""Clean garments on clean bodies: what faults are seeded into, and the shapes on which nothing is wrong with them.

The demo's good garments on woman and man, their waistcoats without buttons (hard parts are a cause of their own), and
what is cut around a real body where there is one.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from jaxtyping import Float

from dressform.arrays import Weights
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.body.shapes import Shape, distinct, end_shapes, shape_at_base
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
from dressform.demo.wardrobe_truth import read_truth
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.results import SEVERITIES, Place, ShapeFaults
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.following import DEFAULT_EASE, DEFAULT_METHOD, Following
from dressform.garment.garment import Garment
from dressform.garment.parts import find_pieces
from dressform.lift.feet import Feet, find_feet
from dressform.mesh.tree import Tree
from scenes import real_scene
from seeded_real import only, real_garments

ON_SKIN = ("exposed", "in_front")
"""The fault whose places are vertices of the body."""
REAL = "real "
"""Begins the names of what is cut around a real body."""


@dataclass(frozen=True)
class Scene:
    """A garment on a body, followed in one way.

    Attributes:
        name: Names the garment.
        body: The body.
        garment: The garment.
        way: How it follows.
        ease: By which ease policy.
    """

    name: str
    body: Body
    garment: Garment
    method: str = DEFAULT_METHOD
    ease: str = DEFAULT_EASE

    @cached_property
    def fit(self) -> Fit:
        """The garment, followed."""
        return make_fit(self.body, self.garment, Following(method=self.method, ease=self.ease))

    @cached_property
    def feet(self) -> Feet:
        """Where it stands at the base."""
        return find_feet(Tree(self.body.vertices, self.body.faces), self.garment.vertices, self.garment.faces)

    @cached_property
    def check(self) -> GarmentOnBody:
        """What measures it."""
        return GarmentOnBody(self.fit)

    @cached_property
    def _measured(self) -> dict[bytes, ShapeFaults]:
        return {}

    def measure(self, weights: Weights) -> ShapeFaults:
        """Every fault on one shape, measured once."""
        key = (np.asarray(weights) + 0.0).tobytes()
        if key not in self._measured:
            self._measured[key] = self.check.measure(weights)
        return self._measured[key]

    def clean_at(self, shape: Shape) -> bool:
        """Whether nothing is wrong on a shape."""
        return self.measure(shape.weights).severity == SEVERITIES[0]

    @cached_property
    def clean_shapes(self) -> list[Shape]:
        """The base and the ends of every morph's interval, those on which something is wrong left out."""
        shapes = distinct([shape_at_base(self.body.range), *end_shapes(self.body.range)])
        return [shape for shape in shapes if self.clean_at(shape)]

    def base_point(self, place: Place) -> Float[np.ndarray, "3"]:
        """Where a place is at the base, (3,), metres."""
        return (self.body if place.fault in ON_SKIN else self.garment).vertices[place.vertex]


def clean_scenes() -> dict[str, Scene]:
    """Every clean garment by name; the real ones only where their meshes are at hand."""
    return demo_scenes() | {scene.name: scene for scene in _real_scenes()}


def demo_scenes() -> dict[str, Scene]:
    """The clean garments of the demo by name."""
    bodies = make_demo_bodies()
    wardrobe = make_wardrobe(bodies)
    scenes = [
        Scene(good.name, bodies[good.body], _without_buttons(wardrobe[good.name].garment)) for good in read_truth().good
    ]
    return {scene.name: scene for scene in scenes}


def _real_scenes() -> Iterator[Scene]:
    """The T-shirt and the skirt, held off the skin; vests, hose and a glove cut around the body; each weight 0 to 1."""
    scene = real_scene()
    if scene is not None:
        body = replace(scene[0], range=Range.unit(scene[0].morph_names))
        for name, garment in real_garments(body, scene[1]).items():
            yield Scene(REAL + name, body, garment)


def _without_buttons(garment: Garment) -> Garment:
    """The garment without its small closed pieces."""
    return only(garment, ~find_pieces(garment).hard_vertices()[garment.faces[:, 0]])
