"""A folder of OBJs with the body's topology: each is a morph named after its file."""

from dataclasses import replace
from pathlib import Path

import numpy as np

from dressform.errors import FileError
from dressform.formats.file_mesh import FileMesh
from dressform.formats.guards.file_names import stem_of
from dressform.formats.guards.limits import mesh_bytes, refuse_excess
from dressform.formats.obj import read_obj

MORPH_FOLDER = "morphs"


def with_morphs(base: FileMesh, base_path: Path, folder: Path) -> FileMesh:
    """The base with one morph per OBJ in `folder`, in the order of their names.

    Raises:
        FileError: the folder is missing or holds no OBJ, or a morph has another vertex count or other faces.
    """
    if not folder.is_dir():
        raise FileError.of(folder, "", "is no folder", "Name the folder that holds the morph OBJs")
    paths = sorted(path for path in folder.iterdir() if path.suffix.lower() == ".obj")
    if not paths:
        raise FileError.of(folder, "", "holds no OBJ", "Put one OBJ per morph into it")
    refuse_excess(folder, "", mesh_bytes(len(base.vertices), base.faces.size, moved=len(base.vertices) * len(paths)))
    deltas = np.zeros((len(paths), len(base.vertices), 3))
    for delta, path in zip(deltas, paths):
        morph = read_obj(path)
        if len(morph.vertices) != len(base.vertices):
            problem = f"has {len(morph.vertices)} vertices, its base {base_path.name} has {len(base.vertices)}"
            raise FileError.of(path, "", problem, "Export base and morphs together")
        if not np.array_equal(morph.faces, base.faces):
            problem = f"has other faces than its base {base_path.name}"
            raise FileError.of(path, "", problem, "Export base and morphs with the same vertex order")
        delta[:] = morph.vertices - base.vertices
    names = base.morph_names + tuple(stem_of(path) for path in paths)
    return replace(
        base,
        morph_names=names,
        deltas=np.concatenate([base.deltas, deltas]),
        default_weights=np.zeros(len(names)),
    )
