"""A fitted garment as a GLB that an engine plays with no code of its own."""

from pathlib import Path

import numpy as np
from jaxtyping import Float

from dressform.body.skeleton import Skin
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.fit.joint_weights import keeps_own
from dressform.formats.atomic import write_bytes
from dressform.formats.gltf.accessors import read_floats
from dressform.formats.gltf.animations import add_driven_clip, widen_animations
from dressform.formats.gltf.builder import Builder
from dressform.formats.gltf.document import Document
from dressform.formats.gltf.fit_source import FitPrimitive, FitSource, fit_source, own_primitives
from dressform.formats.gltf.normals import Shading
from dressform.formats.gltf.read import target_names
from dressform.formats.gltf.rigging import Rig, add_frame, shown_scene
from dressform.formats.gltf.targets import add_morph, add_skin_attributes
from dressform.formats.load import BodyFile, GarmentFile
from dressform.formats.moving.correctives import CORRECTIVES, correctives_table
from dressform.formats.pictures import embed_pictures

DRACO = "KHR_draco_mesh_compression"


def save_fit(fit: Fit, garment_file: GarmentFile, body_file: BodyFile, path: Path | str) -> tuple[str, ...]:
    """Write a fitted GLB: the garment's file with the body's morphs and joints added.

    What the garment came with keeps its index and its bytes: materials, textures, texture coordinates, colours, node
    names, extras, morph targets of its own. Added are morph targets named as the body's, with normals; base normals
    where the file has none; positions where a repair moved the base; and joints, weights and skeleton where the fit
    has skin weights. Corrective targets come behind the morphs, with a table of their drivers in the mesh's `extras`
    and a clip each, see `docs/correctives.md`. All weights are written as 0. Garments that are not
    glTF go into a fresh file. Metres and +Y up as glTF asks, but facing as the body's file does, so that the body's
    file can wear it.

    Returns:
        Notes to show, one sentence each.

    Raises:
        ArgumentError: the fit belongs to another garment file, or has skin weights for a body without joints.
        FileError: the file cannot be written; nothing is left half-written.

    Proof: tests/outside/test_gltf_validator.py, tests/outside/test_three_plays_it.py
    """
    _check(fit, garment_file, body_file)
    source = fit_source(garment_file)
    builder = Builder.of(source.document)
    notes = list(embed_pictures(builder, source.document))
    scene = shown_scene(builder)
    back = body_file.frame.facing.T
    add_frame(builder, scene, back @ source.linear)
    groups = own_primitives(builder, source)
    everything = [primitive for group in groups.values() for primitive in group]
    _add_targets(builder, source, fit, everything)
    for node, group in groups.items():
        notes.extend(_set_targets(builder, source.document, fit, node, group))
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


def _check(fit: Fit, garment_file: GarmentFile, body_file: BodyFile) -> None:
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


def _add_targets(builder: Builder, source: FitSource, fit: Fit, primitives: list[FitPrimitive]) -> None:
    """The base where it moved, its normals, and one target per morph with the turn of the normals at weight 1."""
    stored_normals = _stored_normals(source, primitives)
    shading = Shading.of(source.file_to_cloth, source.stored.faces, stored_normals)
    moved = fit.base - fit.garment.vertices
    base = shading.normals(fit.base)
    turned = base - shading.normals(fit.garment.vertices) if np.any(moved) else np.zeros_like(base)
    for primitive in primitives:
        _set_base(builder, source, primitive, moved)
        if primitive.rows is not None:
            _set_normals(builder, primitive, stored_normals[primitive.rows] + turned[primitive.rows], base, turned)
    for delta in (*fit.deltas, *(one.delta for one in fit.correctives)):
        after = shading.normals(fit.base + delta)
        for primitive in primitives:
            normals = None
            if primitive.rows is not None:
                rows = primitive.rows
                normals = primitive.unit_normals(after[rows]) - primitive.unit_normals(base[rows])
            primitive.targets.append(add_morph(builder, primitive.inward(primitive.picked(delta)), normals))


def _stored_normals(source: FitSource, primitives: list[FitPrimitive]) -> Float[np.ndarray, "N 3"]:
    """The file's own normals in the scene, unit; zero where it has none, (N, 3)."""
    normals = np.full(source.stored.vertices.shape, 0.0)
    for primitive in primitives:
        index = primitive.entry["attributes"].get("NORMAL")
        if primitive.rows is None or index is None:
            continue
        own = read_floats(source.document, index, "NORMAL", ("VEC3",))
        turned = own @ np.linalg.inv(primitive.matrix[:3, :3])
        length = np.linalg.norm(turned, axis=1, keepdims=True)
        normals[primitive.rows] = np.divide(turned, length, out=np.zeros_like(turned), where=length > 0)
    return normals


def _set_base(builder: Builder, source: FitSource, primitive: FitPrimitive, moved: Float[np.ndarray, "G 3"]) -> None:
    shift = primitive.inward(primitive.picked(moved))
    if not np.any(shift):
        return
    attributes = primitive.entry["attributes"]
    stored = read_floats(source.document, attributes["POSITION"], "POSITION", ("VEC3",))
    attributes["POSITION"] = builder.add_floats(stored + shift, bounds=True)


def _set_normals(
    builder: Builder,
    primitive: FitPrimitive,
    wanted: Float[np.ndarray, "n 3"],
    base: Float[np.ndarray, "N 3"],
    turned: Float[np.ndarray, "N 3"],
) -> None:
    """Base normals where the file has none (those of the smooth mesh) or where a repair turned them."""
    attributes = primitive.entry["attributes"]
    if "NORMAL" not in attributes:
        attributes["NORMAL"] = builder.add_floats(primitive.unit_normals(base[primitive.rows]))
    elif np.any(turned[primitive.rows]):
        attributes["NORMAL"] = builder.add_floats(primitive.unit_normals(wanted))


def _set_targets(
    builder: Builder, document: Document, fit: Fit, node: int, group: list[FitPrimitive]
) -> tuple[str, ...]:
    """Morph targets of one mesh: its own stay in front; one with a name of the body's gives its place to ours."""
    entry = builder.table("nodes")[node]
    mesh = builder.table("meshes")[entry["mesh"]]
    source = document.gltf.nodes[node].mesh
    own = () if source is None else target_names(document, source)
    ours = names_of_targets(fit)
    names = [*own, *(name for name in ours if name not in own)]
    if not names:
        return ()
    for primitive in group:
        targets = list(primitive.entry.get("targets", ()))
        targets += [{}] * (len(names) - len(own))
        for name, target in zip(ours, primitive.targets):
            targets[names.index(name)] = target
        primitive.entry["targets"] = targets
        if isinstance(primitive.entry.get("extensions"), dict):  # its compressed copy knows nothing of what is new
            primitive.entry["extensions"].pop(DRACO, None)
    extras = mesh.get("extras") or {}
    mesh["extras"] = (extras if isinstance(extras, dict) else {"original": extras}) | {"targetNames": names}
    mesh["extras"].pop(CORRECTIVES, None)
    mesh["weights"] = [0.0] * len(names)
    if "weights" in entry:
        entry["weights"] = [0.0] * len(names)
    if not own:
        return ()
    widen_animations(builder, document, node, old=len(own), new=len(names))
    kept = [name for name in own if name not in ours]
    replaced = [name for name in own if name in ours]
    notes = [f"The garment's own morphs stay in front of the body's: {', '.join(kept)}."] if kept else []
    if replaced:
        notes.append(f"The garment's own morphs were replaced by lifted ones: {', '.join(replaced)}.")
    return tuple(notes)


def names_of_targets(fit: Fit) -> tuple[str, ...]:
    """The body's morphs, which the cloth cannot be without, then the correctives, the one that moves farthest first."""
    return (*fit.morph_names, *(one.name for one in fit.correctives))


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
