"""A folder of meshes of one garment, one per shape, with a table of weights: what code that can't be called has made.

    mesh,belly,hips
    base.obj,0,0
    belly.obj,1,0
    both.obj,1,0.5

The table is `shapes.csv`. A morph without a column has weight 0. Each mesh has the vertices of the garment's own file,
in the same order, units and axes.
"""

import csv
import io
import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from dressform.arrays import ClothPoints
from dressform.body.body import Body
from dressform.errors import FileError
from dressform.formats.gltf.read import read_scene
from dressform.formats.gltf.reading.bases import default_scene
from dressform.formats.guards.limits import read_bytes
from dressform.formats.load import GarmentFile
from dressform.formats.readers import read_gltf, read_other

TABLE = "shapes.csv"
MESH = "mesh"
SUCH = "Write for instance `mesh,belly,hips`"


@dataclass(frozen=True)
class MeshAtShape:
    """A mesh of the folder.

    Attributes:
        name: Its file.
        weights: The weights that the table gives it, by morph.
        cloth: The garment's vertices there, (G, 3), metres.
    """

    name: str
    weights: dict[str, float]
    cloth: ClothPoints


def read_mesh_folder(folder: Path, garment: GarmentFile, body: Body) -> tuple[MeshAtShape, ...]:
    """The meshes of a folder; where it has a folder with the garment's name and a table, those of that one.

    Args:
        folder: The folder.
        garment: The garment; its file says which vertices are one.
        body: The body; its morphs may be columns.

    Raises:
        FileError: there is no table, a column is no morph, a weight no number, a mesh cannot be read, or has another
            number of vertices than the garment's file.

    Proof: tests/formats/test_mesh_folder.py
    """
    own = folder / garment.garment.name
    table = (own if (own / TABLE).is_file() else folder) / TABLE
    if not table.is_file():
        raise FileError.of(table, "", "there is no such file", f"{SUCH} and a line per mesh")
    try:
        text = read_bytes(table).decode("utf-8-sig")
    except UnicodeDecodeError:
        raise FileError.of(table, "", "is no UTF-8 text", "Save the table as UTF-8") from None
    rows = list(csv.reader(io.StringIO(text)))
    header = [cell.strip() for cell in rows[0]] if rows else []
    unknown = [name for name in header[1:] if name not in body.morph_names]
    if header[:1] != [MESH] or unknown or len(set(header)) < len(header):
        problem = (
            f"names {', '.join(unknown)}, no morphs of {body.name!r}" if unknown else f"does not begin with {MESH!r}"
        )
        raise FileError.of(table, "line 1", problem, f"{SUCH}; the morphs are {', '.join(body.morph_names)}")
    told = [(number, row) for number, row in enumerate(rows[1:], start=2) if any(cell.strip() for cell in row)]
    if not told:
        raise FileError.of(table, "", "lists no mesh", "Write a line per mesh")
    return tuple(_row(table, number, header, row, garment) for number, row in told)


def _row(table: Path, number: int, header: list[str], row: list[str], garment: GarmentFile) -> MeshAtShape:
    place = f"line {number}"
    if len(row) != len(header):
        raise FileError.of(table, place, f"has {len(row)} cells, not {len(header)}", "Give each column one value")
    name = row[0].strip()
    if not name or Path(name).name != name:
        raise FileError.of(
            table, place, f"names {name!r}, not the plain name of a file beside it", "Move the mesh there"
        )
    weights = {morph: _number(cell) for morph, cell in zip(header[1:], row[1:])}
    bad = next((cell for cell, value in zip(row[1:], weights.values()) if not math.isfinite(value)), None)
    if bad is not None:
        raise FileError.of(table, place, f"has {bad!r} where a number should stand", "Write weights as numbers")
    return MeshAtShape(name, weights, _cloth(table.parent / name, garment))


def _number(cell: str) -> float:
    try:
        return float(cell)
    except ValueError:
        return math.nan


def _cloth(path: Path, garment: GarmentFile) -> ClothPoints:
    """The garment's vertices as another mesh of the same order has them."""
    document = read_gltf(path)
    stored = read_other(path) if document is None else read_scene(document, default_scene(document))
    wanted = len(garment.stored.vertices)
    if len(stored.vertices) != wanted:
        problem = f"has {len(stored.vertices)} vertices, not the {wanted} of {garment.path.name}"
        raise FileError.of(path, "", problem, "Export it from the same mesh, with the vertices in the same order")
    if not np.isfinite(stored.vertices).all():
        raise FileError.of(path, "vertices", "are not all finite", "Export the mesh again")
    moved = stored.vertices @ garment.frame.linear.T
    cloth = garment.garment.vertices.copy()
    used = garment.file_to_cloth >= 0
    cloth[garment.file_to_cloth[used]] = moved[used]
    return cloth
