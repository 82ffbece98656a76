"""The polygons of a USD mesh as triangles, with what stands at their corners."""

from dataclasses import dataclass
from typing import Any

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.errors import FileError
from dressform.formats.polygons import fans
from dressform.formats.usd.stage import AGAIN, OpenedStage

CORNERS_OF_FACE = 3
PART_FAMILY = "materialBind"


@dataclass(frozen=True)
class UsdSurface:
    """A mesh in its own space.

    Attributes:
        positions: (N, 3).
        faces: Outward, part after part, (F, 3).
        parts: Name and number of triangles of each part, in the order of `faces`.
        uv: Texture coordinates per corner, v from the top, (F, 3, 2), or None.
        normals: Per corner, (F, 3, 3), or None.
        notes: What was left out.
    """

    positions: Float[np.ndarray, "N 3"]
    faces: Int[np.ndarray, "F 3"]
    parts: tuple[tuple[str, int], ...]
    uv: Float[np.ndarray, "F 3 2"] | None
    normals: Float[np.ndarray, "F 3 3"] | None
    notes: tuple[str, ...]


def surface_of(opened: OpenedStage, prim: Any) -> UsdSurface:
    """The triangles of a mesh.

    Raises:
        FileError: counts and indices disagree, or a position is not finite; the prim is named.
    """
    mesh = opened.usd.UsdGeom.Mesh(prim)
    positions = _floats(mesh.GetPointsAttr().Get(opened.time), 3)
    if not np.isfinite(positions).all():
        raise _damaged(opened, prim, "has a position that is not finite")
    counts = _integers(mesh.GetFaceVertexCountsAttr().Get(opened.time))
    indices = _integers(mesh.GetFaceVertexIndicesAttr().Get(opened.time))
    if (counts < 0).any() or counts.sum() != len(indices):
        raise _damaged(opened, prim, f"has faces of {counts.sum()} corners in all, but {len(indices)} indices")
    if len(indices) and not (indices.min() >= 0 and indices.max() < len(positions)):
        wrong = indices.min() if indices.min() < 0 else indices.max()
        raise _damaged(opened, prim, f"names vertex {wrong} of {len(positions)}")
    kept = np.flatnonzero((counts >= CORNERS_OF_FACE) & ~_holes(mesh, opened.time, len(counts)))
    starts = np.cumsum(counts) - counts
    corners, owner = fans(counts[kept])
    corners += (starts[kept] - (np.cumsum(counts[kept]) - counts[kept]))[owner, None]
    if mesh.GetOrientationAttr().Get() == opened.usd.UsdGeom.Tokens.leftHanded:
        corners = corners[:, ::-1]
    part_of_face, names = _parts(opened, prim, len(counts))
    part = part_of_face[kept][owner]
    order = np.argsort(part, kind="stable")
    corners, owner, part = corners[order], kept[owner[order]], part[order]
    coordinates = _coordinates(opened, prim)
    uv = None if coordinates is None else _at_corners(*coordinates, indices, corners, owner, len(positions), 2)
    stated = _normals(opened, mesh)
    normals = None if stated is None else _at_corners(*stated, indices, corners, owner, len(positions), 3)
    return UsdSurface(
        positions,
        indices[corners],
        tuple((name, int(np.sum(part == number))) for number, name in enumerate(names) if np.any(part == number)),
        None if uv is None else uv * (1.0, -1.0) + (0.0, 1.0),
        normals,
        _notes(opened, mesh),
    )


def _notes(opened: OpenedStage, mesh: Any) -> tuple[str, ...]:
    name, notes = mesh.GetPrim().GetName(), []
    if mesh.GetPointsAttr().ValueMightBeTimeVarying():
        notes.append(f"The vertices of {name} are animated; they were read at the first moment.")
    if mesh.GetSubdivisionSchemeAttr().IsAuthored() and (
        mesh.GetSubdivisionSchemeAttr().Get() != opened.usd.UsdGeom.Tokens.none
    ):
        notes.append(f"{name} is shown subdivided; its cage was read, which is what morphs and joints move.")
    return tuple(notes)


def _holes(mesh: Any, time: Any, count: int) -> Bool[np.ndarray, " P"]:
    holes = np.zeros(count, dtype=bool)
    told = _integers(mesh.GetHoleIndicesAttr().Get(time))
    holes[told[(told >= 0) & (told < count)]] = True
    return holes


def _parts(opened: OpenedStage, prim: Any, count: int) -> tuple[Int[np.ndarray, " P"], list[str]]:
    """Part of each polygon, and names: the mesh itself, then the subsets that materials are bound to."""
    part = np.zeros(count, dtype=np.int64)
    names = [str(prim.GetName())]
    for subset in opened.usd.UsdGeom.Subset.GetAllGeomSubsets(opened.usd.UsdGeom.Imageable(prim)):
        is_face = subset.GetElementTypeAttr().Get() == opened.usd.UsdGeom.Tokens.face
        if not is_face or subset.GetFamilyNameAttr().Get() != PART_FAMILY:
            continue
        told = _integers(subset.GetIndicesAttr().Get(opened.time))
        if len(told) and not (told.min() >= 0 and told.max() < count):
            raise _damaged(opened, subset.GetPrim(), f"names a face of {count} that is not there")
        part[told] = len(names)
        names.append(str(subset.GetPrim().GetName()))
    return part, names


def _coordinates(opened: OpenedStage, prim: Any) -> tuple[np.ndarray, str] | None:
    """The first set of texture coordinates, `st` before others, and where its values stand."""
    found = opened.usd.UsdGeom.PrimvarsAPI(prim).GetPrimvarsWithAuthoredValues()
    sets = [one for one in found if str(one.GetTypeName()).startswith(("texCoord2", "float2[]"))]
    for one in sorted(sets, key=lambda one: one.GetPrimvarName() != "st"):
        values = one.ComputeFlattened(opened.time)
        if values is not None and len(values):
            return _floats(values, 2), str(one.GetInterpolation())
    return None


def _normals(opened: OpenedStage, mesh: Any) -> tuple[np.ndarray, str] | None:
    """Normals, where the primvar goes before the attribute."""
    primvar = opened.usd.UsdGeom.PrimvarsAPI(mesh.GetPrim()).GetPrimvar("normals")
    if primvar and primvar.HasAuthoredValue():
        values, place = primvar.ComputeFlattened(opened.time), primvar.GetInterpolation()
    else:
        values, place = mesh.GetNormalsAttr().Get(opened.time), mesh.GetNormalsInterpolation()
    return None if values is None or not len(values) else (_floats(values, 3), str(place))


def _at_corners(
    values: np.ndarray,
    place: str,
    indices: Int[np.ndarray, " I"],
    corners: Int[np.ndarray, "F 3"],
    owner: Int[np.ndarray, " F"],
    count: int,
    width: int,
) -> np.ndarray | None:
    """Values at the corners of triangles, (F, 3, width); None where they do not belong there or are not finite."""
    if place in ("vertex", "varying") and len(values) == count:
        found = values[indices[corners]]
    elif place == "faceVarying" and len(values) == len(indices):
        found = values[corners]
    elif place == "uniform" and len(values) > owner.max(initial=-1):
        found = np.repeat(values[owner][:, None], CORNERS_OF_FACE, axis=1)
    else:
        return None
    return found if np.isfinite(found).all() and found.shape[-1] == width else None


def _floats(values: Any, width: int) -> Float[np.ndarray, "N W"]:
    return np.array([] if values is None else values, dtype=np.float64).reshape(-1, width)


def _integers(values: Any) -> Int[np.ndarray, " N"]:
    return np.array([] if values is None else values, dtype=np.int64).reshape(-1)


def _damaged(opened: OpenedStage, prim: Any, problem: str) -> FileError:
    return FileError.of(opened.path, str(prim.GetPath()), problem, AGAIN)
