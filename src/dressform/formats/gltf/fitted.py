"""A fitted garment as a GLB that an engine plays with no code of its own."""

from pathlib import Path

import numpy as np

from dressform.body.skeleton import Skin
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.fit.joint_weights import keeps_own
from dressform.formats.atomic import write_bytes
from dressform.formats.gltf.animations import add_driven_clip
from dressform.formats.gltf.builder import Builder
from dressform.formats.gltf.fit_source import FitPrimitive, fit_source, own_primitives
from dressform.formats.gltf.morphs.fit_targets import TargetWriter
from dressform.formats.gltf.morphs.planned import planned_targets
from dressform.formats.gltf.morphs.target_names import set_targets
from dressform.formats.gltf.morphs.target_style import DEFAULT_STYLE, TargetStyle
from dressform.formats.gltf.morphs.targets import add_skin_attributes
from dressform.formats.gltf.rigging import Rig, add_frame, shown_scene
from dressform.formats.load import BodyFile, GarmentFile
from dressform.formats.moving.correctives import CORRECTIVES, correctives_table
from dressform.formats.pictures import embed_pictures


def save_fit(
    fit: Fit, garment_file: GarmentFile, body_file: BodyFile, path: Path | str, *, style: TargetStyle = DEFAULT_STYLE
) -> tuple[str, ...]:
    """Write a fitted GLB: the garment's file with the body's morphs and joints added.

    What the garment came with keeps its index and its bytes: materials, textures, texture coordinates, colours, node
    names, extras, morph targets of its own. Added are morph targets named as the body's, with normals, and tangents
    where the file has some; base normals where the file has none; positions where a repair moved the base; and joints,
    weights and skeleton where the fit has skin weights. Corrective targets come behind the morphs, with a table of
    their drivers in the mesh's `extras` and a clip each, see `docs/correctives.md`. The range of each morph stands in
    the `extras` too. All weights are written as 0. Garments that are not glTF go into a fresh file. Metres and +Y up
    as glTF asks, but facing as the body's file does, so that the body's file can wear it.

    Returns:
        Notes to show, one sentence each.

    Raises:
        ArgumentError: the fit belongs to another garment file, or has skin weights for a body without joints.
        FileError: the file cannot be written; nothing is left half-written.

    Proof: tests/outside/test_gltf_validator.py, tests/outside/test_three_plays_it.py
    """
    refuse_other_fit(fit, garment_file, body_file)
    source = fit_source(garment_file)
    builder = Builder.of(source.document)
    notes = list(embed_pictures(builder, source.document))
    scene = shown_scene(builder)
    back = body_file.frame.facing.T
    add_frame(builder, scene, back @ source.linear)
    groups = own_primitives(builder, source)
    everything = [primitive for group in groups.values() for primitive in group]
    planned = planned_targets(fit, style)
    TargetWriter(builder, source, fit, everything, style, planned).write()
    for node, group in groups.items():
        notes.extend(set_targets(builder, source.document, fit, node, group, planned, style=style))
    skeleton = body_file.body.skeleton
    if fit.skin is not None and skeleton is not None:
        rig = Rig(builder, skeleton, scene, back)
        for node, group in groups.items():
            for primitive in group:
                _set_joints(builder, primitive, fit.skin, len(skeleton.names))
            _drive_correctives(builder, rig, fit, rig.bind(node, group[0].matrix))
        if garment_file.stored.skin is not None and not keeps_own(fit):
            notes.append("The garment's own joint weights were replaced by the body's.")
    write_bytes(Path(path), builder.glb())
    return tuple(notes)


def refuse_other_fit(fit: Fit, garment_file: GarmentFile, body_file: BodyFile) -> None:
    """Refuse a fit that cannot be written into a garment's file.

    Raises:
        ArgumentError: it belongs to another garment file, has skin weights for a body without joints, or has
            correctives and no skin weights.
    """
    count = len(garment_file.garment.vertices)
    if len(fit.base) != count:
        rule = f"a fit of {garment_file.path} ({count} vertices)"
        raise ArgumentError.of("save_fit", "fit", rule, f"{len(fit.base)} vertices", "Fit this garment again")
    if fit.correctives and fit.skin is None:
        rule = "of a garment with joint weights, as joints drive its correctives"
        raise ArgumentError.of("save_fit", "fit", rule, repr(fit.garment.name), "Leave the correctives out")
    if fit.skin is not None and body_file.body.skeleton is None:
        rule = "a body with joints, as the fit has joint weights"
        raise ArgumentError.of("save_fit", "body_file", rule, str(body_file.path), "Give the body of this fit")


def _drive_correctives(builder: Builder, rig: Rig, fit: Fit, node: int) -> None:
    """The table of what drives the corrective targets of a mesh, and a clip of each whose time is its angle."""
    if not fit.correctives:
        return
    mesh = builder.table("meshes")[builder.table("nodes")[node]["mesh"]]
    names = mesh["extras"]["targetNames"]
    mesh["extras"][CORRECTIVES] = correctives_table(fit.correctives, rig.skeleton.names, rig.joints, names)
    for one in fit.correctives:
        add_driven_clip(builder, one, joint=rig.joints[one.driver.joint], node=node, target=names.index(one.name))


def _set_joints(builder: Builder, primitive: FitPrimitive, skin: Skin, joint_count: int) -> None:
    attributes = primitive.entry["attributes"]
    for name in [name for name in attributes if name.startswith(("JOINTS_", "WEIGHTS_"))]:
        del attributes[name]
    rows = np.maximum(primitive.cloth, 0)  # a vertex without cloth shows nothing; any joint will do
    attributes |= add_skin_attributes(builder, Skin(skin.joints[rows], skin.weights[rows]), joint_count)
