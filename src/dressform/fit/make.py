"""Making a fit: the body's morphs lifted to a garment, and its joint weights chosen."""

from dataclasses import replace

from dressform.body.body import Body
from dressform.fit.fit import Fit
from dressform.fit.joint_weights import choose_joints
from dressform.garment.following import DEFAULT_FOLLOWING, Following
from dressform.garment.garment import Garment
from dressform.garment.strength import follow_as
from dressform.lift.lift import make_lift
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
        ArgumentError: `following` names a part that the garment does not have, or a joint that the body does not have,
            or its mask has another length.
    """
    return refit(body, follow_as(garment, following), following, tree=tree)


def refit(body: Body, garment: Garment, following: Following, *, tree: Tree | None = None) -> Fit:
    """Fit a garment that already has its final strength. Arguments are those of `make_fit`."""
    lift = make_lift(body, garment, following, tree=tree)
    joints = choose_joints(lift, following)
    new = tuple(note for note in joints.notes if note not in garment.notes)
    garment = replace(garment, notes=(*garment.notes, *new)) if new else garment
    return Fit(body, garment, following, garment.vertices, lift.displacements(body.deltas), joints.skin)
