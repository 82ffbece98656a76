"""A folder of meshes is read by its table, and what is wrong with it is named by file and line."""

from pathlib import Path

import numpy as np
import pytest

from dressform.errors import FileError
from dressform.formats.load import load_garment
from dressform.formats.mesh_folder import read_mesh_folder
from phantoms import phantom_body, phantom_files, write_obj


def written(folder: Path, table: str) -> Path:
    """A folder with a tube that is twice as high as its base, and a table."""
    _, tube = phantom_files(folder)
    stored = load_garment(tube).stored
    write_obj(folder / "baked" / "high.obj", stored.vertices * [1.0, 2.0, 1.0], stored.faces)
    (folder / "baked" / "shapes.csv").write_text(table, encoding="utf-8")
    return folder / "baked"


def test_a_mesh_is_brought_to_the_garments_vertices(tmp_path: Path) -> None:
    folder = written(tmp_path, "mesh,belly\nhigh.obj,0.5\n")
    garment = load_garment(tmp_path / "tube.obj")
    (mesh,) = read_mesh_folder(folder, garment, phantom_body())
    assert mesh.weights == {"belly": 0.5}
    assert np.allclose(mesh.cloth, garment.garment.vertices * [1.0, 2.0, 1.0])


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ("mesh,sail\nhigh.obj,1\n", r"shapes.csv: line 1: names sail, no morphs of 'phantom'. .*belly, girth, tall"),
        ("belly\n1\n", r"line 1: names .*|line 1: does not begin with 'mesh'"),
        ("mesh,belly\n", r"shapes.csv: lists no mesh"),
        ("mesh,belly\nhigh.obj\n", r"line 2: has 1 cells, not 2"),
        ("mesh,belly\nhigh.obj,much\n", r"line 2: has 'much' where a number should stand"),
        ("mesh,belly\n../tube.obj,1\n", r"line 2: names '../tube.obj', not the plain name of a file beside it"),
        ("mesh,belly\ngone.obj,1\n", r"gone.obj"),
    ],
)
def test_a_table_that_cannot_be_meant_is_refused_with_its_line(tmp_path: Path, table: str, words: str) -> None:
    folder = written(tmp_path, table)
    with pytest.raises(FileError, match=words):
        read_mesh_folder(folder, load_garment(tmp_path / "tube.obj"), phantom_body())


def test_a_mesh_with_other_vertices_is_refused(tmp_path: Path) -> None:
    folder = written(tmp_path, "mesh,belly\nsmall.obj,1\n")
    write_obj(folder / "small.obj", np.eye(3), np.array([[0, 1, 2]]))
    with pytest.raises(FileError, match=r"small.obj: has 3 vertices, not the 960 of tube.obj"):
        read_mesh_folder(folder, load_garment(tmp_path / "tube.obj"), phantom_body())
