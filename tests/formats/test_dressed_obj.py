"""Pictures of the materials beside an OBJ, as they lie on its cloth."""

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from dressform.formats.load import load_garment
from dressform.formats.surfaces.dressed import dressed_mesh
from dressform.formats.surfaces.laid import CLAMPED, NO_PICTURE, REPEATED, DressedMesh, same_mesh
from pictured import png

UPPER, LOWER = (200, 30, 30), (30, 30, 200)
OBJ = """mtllib cloth.mtl
v 0 0 0
v 1 0 0
v 1 1 0
v 0 1 0
v 2 0 0
v 2 1 0
vt 0 0
vt 1 0
vt 1 1
vt 0 1
usemtl print
f 1/1 2/2 3/3 4/4
usemtl plain
f 2/1 5/2 6/3 3/4
"""
MTL = "newmtl print\nKd 0.5 1 1\nmap_Kd {}\nnewmtl plain\nKd 0.2 0.2 0.2\n"


def halves() -> bytes:
    """A picture whose upper half is red, and whose lower half is blue."""
    rows = np.array([[UPPER] * 8] * 4 + [[LOWER] * 8] * 4, dtype=np.uint8)
    return png(rows)


def dressed_in(folder: Path, *, shown: str = "print.png", mtl: str = MTL) -> DressedMesh | None:
    (folder / "cloth.obj").write_text(OBJ)
    (folder / "cloth.mtl").write_text(mtl.format(shown))
    (folder / "print.png").write_bytes(halves())
    return dressed_mesh(load_garment(folder / "cloth.obj", units="m", up="y"), most=64)


def test_the_picture_of_an_obj_lies_upright_on_the_faces_of_its_material_alone(tmp_path: Path) -> None:
    found = dressed_in(tmp_path)
    assert found is not None
    garment = load_garment(tmp_path / "cloth.obj", units="m", up="y").garment
    assert same_mesh(found, garment.faces)
    assert sorted(found.face_pictures) == [NO_PICTURE, NO_PICTURE, 0, 0]
    (laid,) = found.laid
    np.testing.assert_allclose(laid.tint, (0.5, 1.0, 1.0))
    assert laid.wraps == (REPEATED, REPEATED)
    drawn = np.unique(found.faces[found.face_pictures == 0])
    heights = garment.vertices[found.sources[drawn], 1]
    np.testing.assert_allclose(found.places[drawn, 1], 1.0 - heights)  # the upper edge is above
    pixels = np.asarray(Image.open(io.BytesIO(found.images[0])).convert("RGB"), dtype=int)
    assert np.abs(pixels[0] - UPPER).max() < 40
    assert np.abs(pixels[-1] - LOWER).max() < 40


@pytest.mark.parametrize(
    "shown", ["C:\\work\\cloth\\print.png", "/srv/cloth/print.png", "../elsewhere/print.png", "-s 1 1 1 print.png"]
)
def test_a_path_of_another_machine_is_looked_for_beside_the_file(tmp_path: Path, shown: str) -> None:
    assert dressed_in(tmp_path, shown=shown) is not None


def test_options_move_a_picture_and_end_it_at_its_edges(tmp_path: Path) -> None:
    plain = dressed_in(tmp_path)
    moved = dressed_in(tmp_path, shown="-clamp on -o 0.25 0.5 -s 2 4 -bm 1 print.png")
    assert plain is not None
    assert moved is not None
    assert moved.laid[0].wraps == (CLAMPED, CLAMPED)
    corners = plain.face_pictures == 0
    before, after = plain.places[plain.faces[corners]], moved.places[moved.faces[corners]]
    np.testing.assert_allclose(after[..., 0], before[..., 0] * 2 + 0.25)
    np.testing.assert_allclose(1 - after[..., 1], (1 - before[..., 1]) * 4 + 0.5)


@pytest.mark.parametrize("shown", ["nothing.png", "", "cloth.mtl", "-o", "%00", "-s 1 2 3 4 5"])
def test_a_picture_that_is_not_there_or_is_none_is_left_out(tmp_path: Path, shown: str) -> None:
    assert dressed_in(tmp_path, shown=shown) is None


def test_a_picture_outside_the_folder_is_not_read(tmp_path: Path) -> None:
    (tmp_path / "secret.png").write_bytes(halves())
    (tmp_path / "in").mkdir()
    assert dressed_in(tmp_path / "in", shown="../secret.png") is None


def test_black_beside_a_picture_is_the_picture_as_it_is(tmp_path: Path) -> None:
    found = dressed_in(tmp_path, mtl="newmtl print\nKd 0 0 0\nmap_Kd {}\n")
    assert found is not None
    np.testing.assert_allclose(found.laid[0].tint, 1.0)
