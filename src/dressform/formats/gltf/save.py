"""Fresh GLB files of bodies and garments."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import ClothPoints, Points
from dressform.body.body import Body
from dressform.body.skeleton import Skin
from dressform.errors import ArgumentError
from dressform.formats.atomic import write_bytes
from dressform.formats.gltf.animations import JointClip, add_clip
from dressform.formats.gltf.builder import Builder
from dressform.formats.gltf.corners import Split, split_corners
from dressform.formats.gltf.materials import Material, add_material
from dressform.formats.gltf.morphs.slider_ranges import RANGES, ranges_entry
from dressform.formats.gltf.morphs.targets import add_morph, add_skeleton, add_skin, add_skin_attributes
from dressform.formats.gltf.normals import Shading
from dressform.formats.masks import REGION_PREFIX, STRENGTH_ATTRIBUTE
from dressform.garment.garment import FULL_STRENGTH, Garment
from dressform.version import __version__

BODY_NODE, SCENE, MESH = "_body", "_scene", "_mesh"
"""Endings of names: where scene, node and mesh share one, readers rename two of them."""
Uv = Float[np.ndarray, "V 2"] | Float[np.ndarray, "F 3 2"]


@dataclass(frozen=True)
class PlainMesh:
    """What a fresh GLB can hold of one mesh; one primitive is written per part.

    Attributes:
        name: Its name; that of the mesh ends with `_mesh`.
        vertices: One per place, (V, 3).
        faces: (F, 3).
        part_names: One primitive each.
        face_parts: Part of each triangle, (F,).
        corner_uv: (F, 3, 2) or None.
        corner_normals: (F, 3, 3) or None: smooth normals are computed.
        morph_names: One per morph.
        deltas: (K, V, 3).
        skin: Joint weights per vertex, or None.
        scalars: Further per-vertex numbers by attribute name, each (V,).
        materials: One per part, or empty.
    """

    name: str
    vertices: Points
    faces: Int[np.ndarray, "F 3"]
    part_names: tuple[str, ...]
    face_parts: Int[np.ndarray, " F"]
    corner_uv: Float[np.ndarray, "F 3 2"] | None
    corner_normals: Float[np.ndarray, "F 3 3"] | None
    morph_names: tuple[str, ...]
    deltas: Float[np.ndarray, "K V 3"]
    skin: Skin | None
    scalars: Mapping[str, Float[np.ndarray, " V"]]
    materials: tuple[Material, ...]


def save_body(
    bodies: Body | Sequence[Body],
    path: Path | str,
    *,
    uv: Uv | None = None,
    material: Material | None = None,
    clips: Mapping[str, Sequence[JointClip]] | None = None,
) -> None:
    """Write base bodies to one GLB, one scene each: morphs and their ranges, skeleton, skin, regions, normals.

    Args:
        bodies: One body or several; each becomes a scene of its name.
        path: The `.glb` to write.
        uv: Texture coordinates of every body, per vertex (B, 2) or per corner (F, 3, 2), v from the top.
        material: One for all bodies.
        clips: Animations of its joints by the name of a body; one that moves nothing is left out.

    Raises:
        FileError: the file cannot be written; nothing is left half-written.
    """
    builder = fresh_builder()
    shared = None if material is None else add_material(builder, material)
    for body in [bodies] if isinstance(bodies, Body) else bodies:
        scalars = {
            REGION_PREFIX + name.upper().replace(" ", "_"): mask.astype(np.float64)
            for name, mask in body.regions.items()
        }
        mesh = PlainMesh(
            body.name,
            body.vertices,
            body.faces,
            (body.name,),
            np.zeros(len(body.faces), dtype=np.int64),
            corner_values("save_body", body.faces, uv),
            None,
            body.morph_names,
            body.deltas,
            body.skin,
            scalars,
            (),
        )
        index, _ = add_mesh(builder, mesh, joint_count=0 if body.skeleton is None else len(body.skeleton.names))
        if shared is not None:
            for primitive in builder.table("meshes")[index]["primitives"]:
                primitive["material"] = shared
        if body.morph_names:
            builder.table("meshes")[index]["extras"][RANGES] = ranges_entry(body.range)
        node: dict[str, Any] = {"name": body.name + BODY_NODE, "mesh": index}
        scene = [builder.add("nodes", node)]
        if body.skeleton is not None and body.skin is not None:
            joints, roots = add_skeleton(builder, body.skeleton)
            node["skin"] = add_skin(builder, body.skeleton, joints, np.eye(4))
            scene += roots
            for clip in (clips or {}).get(body.name, ()):
                add_clip(builder, clip, joints, body.skeleton.rest)
        builder.add("scenes", {"name": body.name, "nodes": scene})
    write_bytes(Path(path), builder.glb())


def save_garment(
    garment: Garment, path: Path | str, *, uv: Uv | None = None, materials: Sequence[Material] = ()
) -> None:
    """Write a garment to GLB, one primitive per part; strength goes into `_STRENGTH` unless it is 1 everywhere.

    Args:
        garment: The garment.
        path: The `.glb` to write.
        uv: Texture coordinates, per vertex (G, 2) or per corner (F, 3, 2), v from the top.
        materials: One per part, or none.

    Raises:
        FileError: the file cannot be written; nothing is left half-written.
        ArgumentError: there are materials, but not one per part.
    """
    follows_fully = bool(np.all(garment.strength == FULL_STRENGTH))
    mesh = PlainMesh(
        garment.name,
        garment.vertices,
        garment.faces,
        garment.part_names,
        garment.face_parts,
        corner_values("save_garment", garment.faces, uv),
        None,
        (),
        np.zeros((0, len(garment.vertices), 3)),
        None,
        {} if follows_fully else {STRENGTH_ATTRIBUTE: garment.strength},
        tuple(materials),
    )
    builder = fresh_builder()
    index, _ = add_mesh(builder, mesh)
    add_scene(builder, mesh.name, index)
    write_bytes(Path(path), builder.glb())


def fresh_builder() -> Builder:
    """An empty glTF."""
    return Builder({"asset": {"version": "2.0", "generator": f"dressform {__version__}"}, "scene": 0})


def add_scene(builder: Builder, name: str, mesh: int) -> None:
    """A scene of one node that shows `mesh`; it has another name than the node, so that readers rename neither."""
    node = builder.add("nodes", {"name": name, "mesh": mesh})
    builder.add("scenes", {"name": name + SCENE, "nodes": [node]})


def corner_values(function: str, faces: Int[np.ndarray, "F 3"], uv: Uv | None) -> Float[np.ndarray, "F 3 2"] | None:
    """Texture coordinates per corner, from one per vertex or as given.

    Raises:
        ArgumentError: the counts are neither those of the vertices nor those of the corners.
    """
    if uv is None or uv.shape == (*faces.shape, 2):
        return uv
    if uv.ndim != 2 or uv.shape[1] != 2 or len(uv) <= faces.max():
        rule = f"(vertices, 2) or {(*faces.shape, 2)}"
        raise ArgumentError.of(function, "uv", rule, uv.shape, "Give one pair per vertex or per corner")
    return uv[faces]


def add_mesh(
    builder: Builder, mesh: PlainMesh, *, joint_count: int = 0
) -> tuple[int, tuple[Int[np.ndarray, " S"], ...]]:
    """Append a mesh; its index, and per primitive the welded vertex of each stored one."""
    if mesh.materials and len(mesh.materials) != len(mesh.part_names):
        rule = f"one per part ({len(mesh.part_names)}) or none"
        raise ArgumentError.of("save", "materials", rule, len(mesh.materials), "Give each part its own")
    splits = [_part(mesh, part) for part in range(len(mesh.part_names))]
    splits = [split for split in splits if len(split[1].faces)]
    shading = Shading.of(np.arange(len(mesh.vertices)), mesh.faces, None)
    smooth = shading.normals(mesh.vertices)
    primitives = [_add_primitive(builder, mesh, part, split, smooth, joint_count) for part, split in splits]
    for delta in mesh.deltas:
        turned = shading.normals(mesh.vertices + delta) - smooth
        for primitive, (_, split) in zip(primitives, splits):
            target = add_morph(builder, delta[split.sources], turned[split.sources])
            primitive.setdefault("targets", []).append(target)
    entry: dict[str, Any] = {"name": mesh.name + MESH, "primitives": primitives}
    if mesh.morph_names:
        entry["weights"] = [0.0] * len(mesh.morph_names)
        entry["extras"] = {"targetNames": list(mesh.morph_names)}
    return builder.add("meshes", entry), tuple(split.sources for _, split in splits)


def _part(mesh: PlainMesh, part: int) -> tuple[int, Split]:
    own = mesh.face_parts == part
    uv = None if mesh.corner_uv is None else mesh.corner_uv[own]
    normals = None if mesh.corner_normals is None else mesh.corner_normals[own]
    return part, split_corners(mesh.faces[own], uv=uv, normals=normals)


def _add_primitive(
    builder: Builder, mesh: PlainMesh, part: int, split: Split, smooth: ClothPoints, joint_count: int
) -> dict[str, Any]:
    normals = smooth[split.sources] if split.normals is None else split.normals
    attributes = {
        "POSITION": builder.add_floats(mesh.vertices[split.sources], bounds=True),
        "NORMAL": builder.add_floats(normals),
    }
    if split.uv is not None:
        attributes["TEXCOORD_0"] = builder.add_floats(split.uv)
    if mesh.skin is not None and joint_count:
        own = Skin(mesh.skin.joints[split.sources], mesh.skin.weights[split.sources])
        attributes |= add_skin_attributes(builder, own, joint_count)
    for name, values in mesh.scalars.items():
        attributes[name] = builder.add_floats(values[split.sources, None])
    primitive: dict[str, Any] = {
        "attributes": attributes,
        "indices": builder.add_indices(split.faces, len(split.sources)),
    }
    if mesh.materials:
        primitive["material"] = add_material(builder, mesh.materials[part])
    if len(mesh.part_names) > 1:
        primitive["extras"] = {"name": mesh.part_names[part]}
    return primitive
