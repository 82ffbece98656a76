"""USD files as one mesh: every mesh that is shown, blend shapes matched by name, joints as `UsdSkel` binds them."""

import json
from collections.abc import Iterator
from dataclasses import replace
from typing import Any

import numpy as np
from jaxtyping import Float

from dressform.errors import ArgumentError, FileError
from dressform.formats.file_mesh import FileMesh, Prim
from dressform.formats.gltf.normals import unit_rows
from dressform.formats.gltf.reading.merge import Block, merge_blocks
from dressform.formats.gltf.reading.scene import SMALLEST_VOLUME
from dressform.formats.gltf.reading.skins import SkinSpace
from dressform.formats.guards.file_names import stem_of
from dressform.formats.guards.limits import mesh_bytes, refuse_excess
from dressform.formats.usd.blend_shapes import blend_shapes_of, shown_weights
from dressform.formats.usd.joints import UsdJoints
from dressform.formats.usd.modules import matrix_of, usd_errors
from dressform.formats.usd.stage import OpenedStage
from dressform.formats.usd.surface import UsdSurface, surface_of

EXTRAS = "dressform"
"""Key of `customData` of a mesh: JSON of what glTF keeps in `extras`."""
COLOUR, CHANNELS = "displayColor", ("COLOR_0.r", "COLOR_0.g", "COLOR_0.b")
UP_WORDS = {"Y": "y", "Z": "z"}
MOST_LISTED = 12


def read_stage(opened: OpenedStage, base: str | None = None) -> FileMesh:
    """All meshes that a stage shows, or those of the prim that `base` names; see `apart.read_usd`."""
    with usd_errors(opened.path, opened.usd):
        return _read(opened, base)


def _read(opened: OpenedStage, base: str | None) -> FileMesh:
    prims, notes = opened.meshes()
    if base is not None:
        prims = _of_base(opened, prims, base)
    _refuse_size(opened, prims)
    joints = UsdJoints(opened)
    skeleton, spaces = joints.bind(prims)
    blocks, spans, start = [], [], 0
    for number, prim in enumerate(prims):
        surface = surface_of(opened, prim)
        notes += surface.notes
        matrix = _matrix(opened, prim, spaces.get(number))
        blocks.append(_block(opened, prim, surface, matrix, joints, spaces.get(number)))
        spans.append(Prim(str(prim.GetPath()), start, start + len(surface.positions), matrix))
        start += len(surface.positions)
    if not sum(len(block.faces) for block in blocks):
        raise FileError.of(opened.path, "", "shows no triangles", "Export a mesh with faces")
    mesh = merge_blocks(base.rpartition("/")[2] if base else stem_of(opened.path), blocks, skeleton)
    geom, stage = opened.usd.UsdGeom, opened.stage
    has_up = stage.HasAuthoredMetadata(geom.Tokens.upAxis)
    return replace(
        mesh,
        prims=tuple(spans),
        extras=tuple(_extras(prims)),
        metres_per_unit=geom.GetStageMetersPerUnit(stage) if geom.StageHasAuthoredMetersPerUnit(stage) else None,
        up=UP_WORDS.get(str(geom.GetStageUpAxis(stage))) if has_up else None,
        notes=(*dict.fromkeys((*notes, *joints.notes)), *mesh.notes),
    )


def _refuse_size(opened: OpenedStage, prims: list[Any]) -> None:
    vertices = corners = moved = 0
    for prim in prims:
        mesh = opened.usd.UsdGeom.Mesh(prim)
        count = len(mesh.GetPointsAttr().Get(opened.time) or ())
        vertices += count
        corners += 3 * len(mesh.GetFaceVertexIndicesAttr().Get(opened.time) or ())
        moved += count * len(opened.usd.UsdSkel.BindingAPI(prim).GetBlendShapesAttr().Get(opened.time) or ())
    refuse_excess(opened.path, "", mesh_bytes(vertices, corners, moved=moved))


def _of_base(opened: OpenedStage, prims: list[Any], base: str) -> list[Any]:
    """The meshes at or below the prim of a name or path.

    Raises:
        ArgumentError: there is none; the names of those that show meshes are listed.
    """
    above = {}
    for prim in prims:
        while prim and not prim.IsPseudoRoot():
            above[str(prim.GetPath())] = prim
            prim = prim.GetParent()
    found = [prim for path, prim in above.items() if base in (path, prim.GetName())]
    if not found:
        names = list(dict.fromkeys(str(prim.GetName()) for prim in above.values()))
        more = "" if len(names) <= MOST_LISTED else f" and {len(names) - MOST_LISTED} more"
        rule = f"a prim of {opened.path} that shows meshes: {', '.join(names[:MOST_LISTED])}{more}"
        raise ArgumentError.of("load_body", "base", rule, repr(base), "Use one of these names, or a path")
    tops = [prim.GetPath() for prim in found]
    return [prim for prim in prims if any(prim.GetPath().HasPrefix(top) for top in tops)]


def _matrix(opened: OpenedStage, prim: Any, space: SkinSpace | None) -> Float[np.ndarray, "4 4"]:
    """From the mesh's own space to the stage; of a skinned one as its bind pose stands there."""
    if space is not None:
        matrix = space.matrix
    else:
        matrix = matrix_of(opened.usd.UsdGeom.Xformable(prim).ComputeLocalToWorldTransform(opened.time))
    if not np.isfinite(matrix).all() or not abs(np.linalg.det(matrix[:3, :3])) > SMALLEST_VOLUME:
        problem = "has a transform that flattens its mesh or is not finite"
        raise FileError.of(opened.path, str(prim.GetPath()), problem, "Give it a scale other than 0")
    return matrix


def _block(
    opened: OpenedStage,
    prim: Any,
    surface: UsdSurface,
    matrix: Float[np.ndarray, "4 4"],
    joints: UsdJoints,
    space: SkinSpace | None,
) -> Block:
    linear, count = matrix[:3, :3], len(surface.positions)
    flip = slice(None, None, -1) if np.linalg.det(linear) < 0 else slice(None)
    deltas = blend_shapes_of(opened, prim, count)
    shown = shown_weights(opened, prim) if deltas else {}
    return Block(
        surface.positions @ linear.T + matrix[:3, 3],
        surface.faces[:, flip],
        surface.parts,
        {name: delta @ linear.T for name, delta in deltas.items()},
        {name: weight for name, weight in shown.items() if name in deltas},
        None if space is None else joints.weights(prim, space, count),
        dict(_scalars(opened, prim, count)),
        None if surface.uv is None else surface.uv[:, flip],
        None if surface.normals is None else unit_rows(surface.normals[:, flip] @ np.linalg.inv(linear)),
    )


def _scalars(opened: OpenedStage, prim: Any, count: int) -> Iterator[tuple[str, Float[np.ndarray, " N"]]]:
    """Numbers per vertex: primvars of one float each by their name, and the colour of vertices by its channels."""
    for primvar in opened.usd.UsdGeom.PrimvarsAPI(prim).GetPrimvarsWithAuthoredValues():
        name, kind = str(primvar.GetPrimvarName()), str(primvar.GetTypeName())
        if name.startswith("skel:") or primvar.GetInterpolation() not in ("vertex", "varying"):
            continue
        values = np.array(primvar.ComputeFlattened(opened.time) or ())
        if kind in ("float[]", "double[]", "half[]") and values.shape == (count,):
            yield name, values.astype(np.float64)
        elif name == COLOUR and values.shape == (count, 3):
            yield from zip(CHANNELS, values.astype(np.float64).T)


def _extras(prims: list[Any]) -> Iterator[tuple[str, Any]]:
    """What this program, or somebody, wrote beside the meshes; what is no JSON is nobody's."""
    for prim in prims:
        told = prim.GetCustomDataByKey(EXTRAS)
        if isinstance(told, str):
            try:
                yield f"{prim.GetPath()}.customData.{EXTRAS}", json.loads(told)
            except (ValueError, RecursionError):
                continue
