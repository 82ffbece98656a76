"""Where faults are seeded for the advice bench: clean garments of the demo on bodies whose base is another shape.

*Drawing* 0 has two bodies that were chosen; its cases were looked at while the causes were made. Every other drawing
takes bodies at random and seeds that no earlier drawing has, so that it was not looked at when its figures are printed.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from draped_garments import DRAPES, draped
from dressform.body.body import Body
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
from dressform.demo.wardrobe_truth import read_truth
from dressform.fit.make import make_fit
from dressform.garment.parts import find_pieces
from seeded_real import only
from seeded_scenes import Scene

LOOKED_AT = {
    "stout woman": ("woman", {"girth": 0.5, "belly": 0.35, "hips": 0.4}),
    "slight man": ("man", {"girth": -0.4, "shoulders": -0.3}),
}
"""Bases of drawing 0: a body of the demo and the weights of the shape that becomes the base."""
NUMBERS = 1000
"""So many cases a drawing has at most: the numbers of its seeds begin with those of the drawing."""
DRAWN_MORPHS, DRAWN_SHARE = 3, 0.5
"""A drawn base moves so many morphs, each at most so far towards an end of its interval."""


def bases(drawing: int) -> dict[str, tuple[str, dict[str, float]]]:
    """Names of bodies, the demo's body that each comes from, and the weights of the shape that becomes its base."""
    if not drawing:
        return LOOKED_AT
    chance = np.random.default_rng([drawing, NUMBERS])
    drawn = {}
    for source, body in make_demo_bodies().items():
        box = body.range
        chosen = sorted(chance.choice(len(box.names), DRAWN_MORPHS, replace=False))
        weights = {box.names[k]: round(DRAWN_SHARE * float(chance.uniform(box.low[k], box.high[k])), 2) for k in chosen}
        drawn[f"{source} {drawing}"] = (source, weights)
    return drawn


def scenes(drawing: int) -> dict[str, Scene]:
    """Clean garments on the bodies of a drawing."""
    bodies = make_demo_bodies()
    wardrobe = make_wardrobe(bodies)
    found = {}
    for name, (source, weights) in bases(drawing).items():
        old, body = bodies[source], _with_base(bodies[source], name, weights)
        at = old.weights(weights)
        for good in read_truth().good:
            if good.body == source:
                garment = wardrobe[good.name].garment
                soft = only(garment, ~find_pieces(garment).hard_vertices()[garment.faces[:, 0]])
                carried = replace(soft, name=f"{name}: {good.name}", vertices=make_fit(old, soft).at(at))
                found[carried.name] = Scene(carried.name, body, carried)
    return found


def drapes(drawing: int) -> Iterator[Scene]:
    """Capes and ponchos, which are modelled on the base: of drawing 0 the demo's bodies as they are."""
    bodies = make_demo_bodies()
    if drawing:
        bodies = {name: _with_base(bodies[source], name, weights) for name, (source, weights) in bases(drawing).items()}
    for name, body in bodies.items():
        for drape in DRAPES:
            yield Scene(f"{name}: {drape.name}", body, draped(body, drape))


def _with_base(body: Body, name: str, weights: dict[str, float]) -> Body:
    """The body with another shape of its own as its base."""
    return replace(body, name=name, vertices=body.at(body.weights(weights)))
