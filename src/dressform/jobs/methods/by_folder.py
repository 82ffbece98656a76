"""A fit by a folder of meshes: the cloth is known at the shapes that somebody has baked, and looked at there alone."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from dressform.body.body import Body
from dressform.body.shapes import BASE_LABEL, Shape, label_of
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.fit.joint_weights import choose_joints
from dressform.fit.shaped import ShapedFit, shape_key
from dressform.formats.load import GarmentFile
from dressform.formats.mesh_folder import read_mesh_folder
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.garment.methods import folder_of
from dressform.garment.strength import follow_as
from dressform.jobs.methods.approximated import approximated
from dressform.lift.lift import make_lift
from dressform.mesh.tree import Tree


def fit_by_folder(body: Body, garment: Garment, following: Following, *, tree: Tree | None = None) -> Fit:
    """The garment as a folder of meshes has it follow.

    The garment's own file is the base where the table lists none. Where the meshes tell that the cloth is linear in the
    weights, the fit is a plain one and every shape can be looked at; else only the shapes of the table are.

    Args:
        body: The body. garment: The garment, read from a file.
        following: Its settings; the method names the folder.
        tree: The body's triangles if they are at hand.

    Raises:
        ArgumentError: the garment was made in memory.
        FileError: the folder cannot be read; see `read_mesh_folder`.

    Proof: tests/jobs/methods/test_by_folder.py
    """
    source, folder = garment.source, folder_of(following.method)
    if not isinstance(source, GarmentFile) or folder is None:
        observed = repr(following.method)
        rule = "of a garment that was read from a file, where meshes of it lie in a folder"
        raise ArgumentError.of("fit", "following.method", rule, observed, "Load the garment from its file")
    meshes = read_mesh_folder(Path(folder), source, body)
    garment = follow_as(garment, following)
    joints = choose_joints(make_lift(body, garment, following, tree=tree), following)
    garment = replace(garment, notes=(*garment.notes, *joints.notes))
    zero = np.zeros(len(body.morph_names))
    told = {shape_key(zero): (zero, garment.vertices)}
    for one in meshes:
        weights = body.weights(one.weights)
        told[shape_key(weights)] = weights, one.cloth
    shapes = tuple(
        Shape(label_of(body.range, weights) if weights.any() else BASE_LABEL, weights) for weights, _ in told.values()
    )
    blank = np.zeros((len(body.morph_names), len(garment.vertices), 3))
    return approximated(
        ShapedFit(body, garment, following, garment.vertices, blank, joints.skin, told=told, fixed=shapes)
    )
