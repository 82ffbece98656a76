"""Fitting: a garment gets the morph targets and joint weights that make it follow a body."""

from dataclasses import replace

import numpy as np

from dressform.body.body import Body
from dressform.calls import called
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.formats.frames.plausible import refuse_still
from dressform.formats.load import GarmentFile, named_strength
from dressform.formats.masks import STRENGTH_ATTRIBUTE
from dressform.garment.following import DEFAULT_FOLLOWING, Following
from dressform.garment.garment import Garment
from dressform.garment.methods import FILE, folder_of, is_code
from dressform.jobs.load import judged_garment
from dressform.jobs.methods.as_filed import fit_as_filed, unmeasured_targets
from dressform.jobs.methods.by_code import fit_by_code
from dressform.jobs.methods.by_folder import fit_by_folder
from dressform.mesh.tree import Tree
from dressform.repair.whole.hard_parts import keep_rigid


@called("fit")
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
        ArgumentError: `following` names a part that the garment does not have, or its mask has another length or is no
            name of numbers in the garment's file.
    """
    named = {"parts": following.parts, "hard": following.hard, "part_joints": following.part_joints}
    for name, parts in ((f"following.{field}", parts) for field, parts in named.items()):
        unknown = next((part for part in parts if part not in garment.part_names), None)
        if unknown is not None:
            rule = f"parts of {garment.name!r}: {', '.join(garment.part_names)}"
            raise ArgumentError.of("fit", name, rule, repr(unknown), "Use these names")
    garment = painted_garment(garment, following)
    refuse_still(body)
    tree = tree or Tree(body.vertices, body.faces)
    garment = judged_garment(body, garment, tree=tree)
    if following.method == FILE:
        return fit_as_filed(body, garment, following, tree=tree)
    if is_code(following.method):
        return fit_by_code(body, garment, following, tree=tree)
    if folder_of(following.method) is not None:
        return fit_by_folder(body, garment, following, tree=tree)
    garment = replace(garment, notes=(*garment.notes, *unmeasured_targets(body, garment)))
    made = make_fit(body, garment, following, tree=tree)
    return keep_rigid(made, detect=False).fit if following.hard else made


def painted_garment(garment: Garment, following: Following) -> Garment:
    """The garment with the strength that a mask names in its file; what is wrong with a mask is told as of `fit`."""
    mask, count = following.mask, len(garment.vertices)
    if isinstance(mask, np.ndarray) and len(mask) != count:
        rule, advice = f"one number for each of {count} vertices of {garment.name!r}", "Paint the mask on this garment"
        raise ArgumentError.of("fit", "following.mask", rule, f"{len(mask)}", advice)
    if not isinstance(mask, str):
        return garment
    source = garment.source
    if not isinstance(source, GarmentFile):
        rule, observed = "numbers, where the garment has no file", repr(mask)
        raise ArgumentError.of("fit", "following.mask", rule, observed, "Give one number for each vertex")
    if mask != STRENGTH_ATTRIBUTE and mask not in source.stored.scalars:
        known = ", ".join(sorted(source.stored.scalars)) or "none"
        rule = f"among the per-vertex numbers of {source.path}: {known}"
        raise ArgumentError.of("fit", "following.mask", rule, repr(mask), "Use one of these names")
    return replace(garment, strength=named_strength(source, mask))
