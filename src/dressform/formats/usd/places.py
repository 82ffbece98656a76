"""Where a fit goes in USD: the meshes of the garment's own file or of a fresh one, with their cloth and space."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from jaxtyping import Float, Int

from dressform.errors import FileError
from dressform.formats.file_mesh import FileMesh
from dressform.formats.gltf.fit_source import FitSource, fit_source, stored_directions
from dressform.formats.gltf.normals import unit_rows
from dressform.formats.load import BodyFile, GarmentFile
from dressform.formats.usd.fresh import fresh_stage
from dressform.formats.usd.modules import SUFFIXES, UsdLibrary, usd_library
from dressform.formats.usd.read import read_stage
from dressform.formats.usd.stage import open_stage

SAME_NORMAL = 1e-4
REFINED = "The cloth was refined, so a fresh stage was written, without the materials of its own."


@dataclass(frozen=True)
class UsdPlace:
    """One mesh of the stage that is written.

    Attributes:
        prim: The mesh.
        rows: Its vertices in the merged mesh.
        cloth: Garment vertex of each of its vertices, -1 for none, (n,).
        matrix: From its own space to metres, +Y up, (4, 4).
        has_normals: Whether it has a normal for each vertex, so that blend shapes may turn them.
    """

    prim: Any
    rows: slice
    cloth: Int[np.ndarray, " n"]
    matrix: Float[np.ndarray, "4 4"]
    has_normals: bool

    def inward(self, vectors: Float[np.ndarray, "n 3"]) -> Float[np.ndarray, "n 3"]:
        """Displacements in metres, in the mesh's own space."""
        return vectors @ np.linalg.inv(self.matrix[:3, :3]).T

    def picked(self, field: Float[np.ndarray, "G 3"]) -> Float[np.ndarray, "n 3"]:
        """Rows of a garment field, zero for vertices without cloth."""
        return np.where(self.cloth[:, None] >= 0, field[self.cloth], 0.0)

    def unit_normals(self, normals: Float[np.ndarray, "n 3"]) -> Float[np.ndarray, "n 3"]:
        """Normals in metres, in the mesh's own space: covectors go back by the transpose."""
        return unit_rows(normals @ self.matrix[:3, :3])


@dataclass(frozen=True)
class UsdTarget:
    """The stage that a fit is written into.

    Attributes:
        usd: The library.
        stage: The stage, in no file yet.
        places: Its meshes.
        stored: The merged mesh in metres, +Y up.
        file_to_cloth: Garment vertex of each stored vertex, -1 for none, (N,).
        normals: The file's own normals in metres, unit; zero where it has none, (N, 3).
        to_stage: From metres, +Y up, to the stage, (3, 3).
        notes: What to say aloud.
    """

    usd: UsdLibrary
    stage: Any
    places: tuple[UsdPlace, ...]
    stored: FileMesh
    file_to_cloth: Int[np.ndarray, " N"]
    normals: Float[np.ndarray, "N 3"]
    to_stage: Float[np.ndarray, "3 3"]
    notes: tuple[str, ...] = ()


def usd_target(garment_file: GarmentFile, body_file: BodyFile) -> UsdTarget:
    """A copy of the garment's own stage; a fresh one for a garment of another kind, or whose cloth was refined.

    Raises:
        FileError: `usd-core` is not installed, or the garment's file is another than when it was read.
    """
    usd = usd_library(garment_file.path)
    if garment_file.stored.prims:
        return _own(usd, garment_file)
    made = _fresh(usd, fit_source(garment_file), garment_file, body_file)
    if garment_file.path.suffix.lower() in SUFFIXES:
        made = replace(made, notes=(*made.notes, REFINED))
    return made


def _own(usd: UsdLibrary, garment_file: GarmentFile) -> UsdTarget:
    opened = open_stage(garment_file.path)
    stored, linear = garment_file.stored, garment_file.frame.linear
    if not np.array_equal(read_stage(opened).turned(linear).vertices, stored.vertices):
        raise FileError.of(garment_file.path, "", "is another file than when it was read", "Run it again")
    stage = usd.Usd.Stage.Open(opened.stage.Flatten(False))
    normals = np.zeros_like(stored.vertices)
    places, notes = [], []
    for prim in stored.prims:
        found = stage.GetPrimAtPath(prim.path)
        rows = slice(prim.start, prim.stop)
        own = _vertex_normals(usd, found, opened.time, prim.stop - prim.start)
        if own is not None:
            normals[rows] = unit_rows(own @ np.linalg.inv(prim.matrix[:3, :3]))
        elif len(usd.UsdGeom.Mesh(found).GetNormalsAttr().Get(opened.time) or ()):
            notes.append(f"{found.GetName()} has normals at the corners of faces, which no blend shape turns.")
        places.append(UsdPlace(found, rows, garment_file.file_to_cloth[rows], prim.matrix, own is not None))
    geom, frame = usd.UsdGeom, garment_file.frame
    geom.SetStageMetersPerUnit(stage, frame.metres_per_unit)
    if frame.up in ("y", "z"):
        geom.SetStageUpAxis(stage, frame.up.upper())
    to_stage = np.linalg.inv(linear)
    return UsdTarget(usd, stage, tuple(places), stored, garment_file.file_to_cloth, normals, to_stage, tuple(notes))


def _fresh(usd: UsdLibrary, source: FitSource, garment_file: GarmentFile, body_file: BodyFile) -> UsdTarget:
    back = body_file.frame.facing.T
    normals = stored_directions(source, "NORMAL")
    stage, prims, notes = fresh_stage(usd, source, garment_file.garment.name, back)
    matrix = np.eye(4)
    matrix[:3, :3] = np.linalg.inv(back)
    places = tuple(
        UsdPlace(prim, rows, source.file_to_cloth[rows], matrix, True) for prim, rows in zip(prims, _rows(source))
    )
    return UsdTarget(usd, stage, places, source.stored, source.file_to_cloth, normals, back, notes)


def _rows(source: FitSource) -> Iterator[slice]:
    for piece in source.stored.pieces:
        yield slice(piece.start, piece.stop)


def _vertex_normals(usd: UsdLibrary, prim: Any, time: Any, count: int) -> Float[np.ndarray, "n 3"] | None:
    """A normal for each vertex of a mesh, where its file has one or one can be made of equal ones at its corners."""
    mesh = usd.UsdGeom.Mesh(prim)
    primvar = usd.UsdGeom.PrimvarsAPI(prim).GetPrimvar("normals")
    is_primvar = bool(primvar) and primvar.HasAuthoredValue()
    told = primvar.ComputeFlattened(time) if is_primvar else mesh.GetNormalsAttr().Get(time)
    place = primvar.GetInterpolation() if is_primvar else mesh.GetNormalsInterpolation()
    if told is None or not len(told):
        return None
    values = np.array(told, dtype=np.float64).reshape(-1, 3)
    if place in ("vertex", "varying"):
        return values if len(values) == count and np.isfinite(values).all() else None
    indices = np.array(mesh.GetFaceVertexIndicesAttr().Get(time), dtype=np.int64)
    if place != "faceVarying" or len(values) != len(indices):
        return None
    found = np.zeros((count, 3))
    found[indices] = values
    return found if np.abs(found[indices] - values).max(initial=0.0) <= SAME_NORMAL else None
