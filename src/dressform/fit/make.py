"""Making a fit: the body's morphs and skin weights lifted to a garment."""

from dressform.body.body import Body
from dressform.fit.fit import Fit
from dressform.garment.garment import Garment
from dressform.lift.lift import DEFAULT_EASE, DEFAULT_METHOD, make_lift
from dressform.lift.skin import lift_skin
from dressform.mesh.tree import Tree


def make_fit(
    body: Body,
    garment: Garment,
    *,
    method: str = DEFAULT_METHOD,
    ease: str = DEFAULT_EASE,
    rotation_share: float | None = None,
    tree: Tree | None = None,
) -> Fit:
    """Fit a garment to every shape of a body. Arguments and errors are those of `make_lift`."""
    lift = make_lift(body, garment, method=method, ease=ease, rotation_share=rotation_share, tree=tree)
    skin = None if body.skin is None else lift_skin(lift, body.skin)
    return Fit(garment, garment.vertices, body.morph_names, lift.displacements(body.deltas), skin)
