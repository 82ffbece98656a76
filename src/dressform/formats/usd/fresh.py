"""A fresh USD stage of a garment that was no USD file: its meshes, texture coordinates, parts and plain colours."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from jaxtyping import Float

from dressform.formats.file_mesh import Piece
from dressform.formats.gltf.accessors import read_floats
from dressform.formats.gltf.fit_source import FitSource
from dressform.formats.surfaces.materials import surface_of
from dressform.formats.usd.modules import UsdLibrary

ROOT, MATERIALS = "garment", "materials"
LOST = "Pictures of its materials are not written to USD; their plain colours are."


def fresh_stage(
    usd: UsdLibrary, source: FitSource, name: str, back: Float[np.ndarray, "3 3"]
) -> tuple[Any, list[Any], tuple[str, ...]]:
    """A stage in metres, +Y up, with one mesh for each primitive, below a root of the garment's name.

    Args:
        usd: The library.
        source: The garment as glTF.
        name: The garment.
        back: How metres, +Y up, +Z front are turned.

    Returns:
        The stage, its meshes in the order of the primitives, and what to say aloud.
    """
    stage = usd.Usd.Stage.CreateInMemory()
    usd.UsdGeom.SetStageMetersPerUnit(stage, 1.0)
    usd.UsdGeom.SetStageUpAxis(stage, usd.UsdGeom.Tokens.y)
    root = usd.UsdGeom.Xform.Define(stage, f"/{usd.Tf.MakeValidIdentifier(name) or ROOT}")
    stage.SetDefaultPrim(root.GetPrim())
    labels = _labels(usd, source)
    made: dict[int, Any] = {}
    prims, notes = [], list[str]()
    for piece, label in zip(source.stored.pieces, labels):
        prim = _mesh(usd, stage, root.GetPath().AppendChild(label), source, piece, back)
        notes += _paint(usd, stage, root, prim, source, piece, made)
        prims.append(prim)
    return stage, prims, tuple(dict.fromkeys(notes))


def _labels(usd: UsdLibrary, source: FitSource) -> Sequence[str]:
    """A name for each mesh, that of its part, distinct and such as the library allows."""
    taken: set[str] = {MATERIALS}
    found = []
    for piece in source.stored.pieces:
        own = (source.stored.faces[:, 0] >= piece.start) & (source.stored.faces[:, 0] < piece.stop)
        parts = source.stored.face_parts[own]
        name = source.stored.part_names[int(parts[0])] if len(parts) else ROOT
        found.append(distinct_name(usd, name, taken))
    return found


def distinct_name(usd: UsdLibrary, name: str, taken: set[str]) -> str:
    """A name that the library allows and that is not taken; it is, from now on."""
    start = usd.Tf.MakeValidIdentifier(name)
    label, number = start, 1
    while label in taken:
        number += 1
        label = f"{start}_{number}"
    taken.add(label)
    return label


def _mesh(
    usd: UsdLibrary, stage: Any, path: Any, source: FitSource, piece: Piece, back: Float[np.ndarray, "3 3"]
) -> Any:
    mesh = usd.UsdGeom.Mesh.Define(stage, path)
    stored = source.stored
    own = (stored.faces[:, 0] >= piece.start) & (stored.faces[:, 0] < piece.stop)
    faces = (stored.faces[own] - piece.start).astype(np.int32)
    points = stored.vertices[piece.start : piece.stop] @ back.T
    mesh.CreatePointsAttr(vectors(usd, points))
    mesh.CreateExtentAttr(vectors(usd, np.stack([points.min(axis=0), points.max(axis=0)])))
    mesh.CreateFaceVertexCountsAttr(usd.Vt.IntArray.FromNumpy(np.full(len(faces), 3, dtype=np.int32)))
    mesh.CreateFaceVertexIndicesAttr(usd.Vt.IntArray.FromNumpy(faces.ravel()))
    mesh.CreateSubdivisionSchemeAttr(usd.UsdGeom.Tokens.none)
    entry = source.document.json["meshes"][piece.mesh]["primitives"][piece.primitive]
    index = entry["attributes"].get("TEXCOORD_0")
    if index is not None:
        uv = read_floats(source.document, index, "TEXCOORD_0", ("VEC2",)) * (1.0, -1.0) + (0.0, 1.0)
        kind = usd.Sdf.ValueTypeNames.TexCoord2fArray
        primvar = usd.UsdGeom.PrimvarsAPI(mesh).CreatePrimvar("st", kind, usd.UsdGeom.Tokens.vertex)
        primvar.Set(usd.Vt.Vec2fArray.FromNumpy(np.ascontiguousarray(uv, dtype=np.float32)))
    return mesh.GetPrim()


def _paint(
    usd: UsdLibrary, stage: Any, root: Any, prim: Any, source: FitSource, piece: Piece, made: dict[int, Any]
) -> list[str]:
    """Bind the plain colour, metalness and roughness of the primitive's material; what to say aloud."""
    surface = surface_of(source.document, piece.mesh, piece.primitive)
    index = source.document.gltf.meshes[piece.mesh].primitives[piece.primitive].material
    if surface is None or index is None:
        return []
    if index not in made:
        names = {str(child.GetName()) for child in _children(stage, root.GetPath().AppendChild(MATERIALS))}
        label = distinct_name(usd, source.document.gltf.materials[index].name or "material", names)
        path = root.GetPath().AppendChild(MATERIALS).AppendChild(label)
        usd.UsdGeom.Scope.Define(stage, path.GetParentPath())
        made[index] = material = usd.UsdShade.Material.Define(stage, path)
        shader = usd.UsdShade.Shader.Define(stage, path.AppendChild("surface"))
        shader.CreateIdAttr("UsdPreviewSurface")
        kinds = usd.Sdf.ValueTypeNames
        colour = usd.Gf.Vec3f(*map(float, surface.colour))
        shader.CreateInput("diffuseColor", kinds.Color3f).Set(colour)
        shader.CreateInput("metallic", kinds.Float).Set(0.0 if surface.is_metal_painted else surface.metalness)
        shader.CreateInput("roughness", kinds.Float).Set(surface.roughness)
        material.CreateSurfaceOutput().ConnectToSource(shader.ConnectableAPI(), "surface")
    usd.UsdShade.MaterialBindingAPI.Apply(prim).Bind(made[index])
    is_painted = surface.texture is not None or surface.is_metal_painted
    return [LOST] if is_painted else []


def _children(stage: Any, path: Any) -> list[Any]:
    prim = stage.GetPrimAtPath(path)
    return list(prim.GetChildren()) if prim else []


def vectors(usd: UsdLibrary, values: Float[np.ndarray, "N 3"]) -> Any:
    """Rows of three as the library keeps them, float32."""
    return usd.Vt.Vec3fArray.FromNumpy(np.ascontiguousarray(values, dtype=np.float32))
