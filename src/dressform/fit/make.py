"""Making a fit: the body's morphs and joint weights lifted to a garment."""

from dressform.body.body import Body
from dressform.fit.fit import Fit
from dressform.garment.following import DEFAULT_FOLLOWING, LIFTED, Following
from dressform.garment.garment import Garment
from dressform.garment.strength import follow_as
from dressform.lift.lift import make_lift
from dressform.lift.skin import lift_skin
from dressform.mesh.tree import Tree


def make_fit(
    body: Body, garment: Garment, following: Following = DEFAULT_FOLLOWING, *, tree: Tree | None = None
) -> Fit:
    """Fit a garment to every shape of a body, with the settings in `following`.

    Hard parts are lifted like the rest; `keep_rigid` makes them stiff.

    Args:
        body: The body.
        garment: Cloth modelled on its base body.
        following: How it follows.
        tree: The body's triangles, if already built, so that several garments share them.

    Raises:
        ArgumentError: `following` names a part that the garment does not have, or its mask has another length.
    """
    return refit(body, follow_as(garment, following), following, tree=tree)


def refit(body: Body, garment: Garment, following: Following, *, tree: Tree | None = None) -> Fit:
    """Fit a garment that already has its final strength. Arguments are those of `make_fit`."""
    lift = make_lift(body, garment, following, tree=tree)
    lifts_joints = body.skin is not None and following.joint_weights == LIFTED
    skin = lift_skin(lift, body.skin) if lifts_joints and body.skin is not None else None
    return Fit(body, garment, following, garment.vertices, lift.displacements(body.deltas), skin)
