"""Fitting: a garment gets the morph targets and joint weights that make it follow a body."""

from dressform.body.body import Body
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.formats.frames.plausible import refuse_still
from dressform.garment.following import DEFAULT_FOLLOWING, Following
from dressform.garment.garment import Garment
from dressform.jobs.arguments import refuse_other
from dressform.jobs.load import judged_garment
from dressform.mesh.tree import Tree
from dressform.repair.hard_parts import keep_rigid


def fit(body: Body, garment: Garment, following: Following = DEFAULT_FOLLOWING, *, tree: Tree | None = None) -> Fit:
    """Make a garment follow a body.

    Args:
        body: The body.
        garment: Cloth modelled on its base body.
        following: How it follows: method, ease, strength, hard parts, margin.
        tree: The body's triangles if they are at hand, so that several garments share them.

    Returns:
        The fit; `fit.at(weights)` is the cloth at any shape.

    Raises:
        FileError: the body has no morphs, or the garment cannot be meant for it: it is the body, or holds it.
        ArgumentError: `following` names a part that the garment does not have, or its mask has another length.
    """
    for name, value, kind in (("body", body, Body), ("garment", garment, Garment), ("following", following, Following)):
        refuse_other("fit", name, value, kind)
    for name, parts in (("following.parts", following.parts), ("following.hard", following.hard)):
        unknown = next((part for part in parts if part not in garment.part_names), None)
        if unknown is not None:
            rule = f"parts of {garment.name!r}: {', '.join(garment.part_names)}"
            raise ArgumentError.of("fit", name, rule, repr(unknown), "Use these names")
    refuse_still(body)
    tree = tree or Tree(body.vertices, body.faces)
    made = make_fit(body, judged_garment(body, garment, tree=tree), following, tree=tree)
    return keep_rigid(made, detect=False).fit if following.hard else made
