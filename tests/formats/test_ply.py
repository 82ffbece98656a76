"""PLY: text and both byte orders give the same mesh."""

from pathlib import Path

import numpy as np
import pytest

from dressform.errors import FileError
from dressform.formats.load import load_garment
from dressform.formats.ply import read_ply
from ply_files import EVEN, MIXED, POINTS, REDS, binary, text


@pytest.mark.parametrize("polygons", [MIXED, EVEN], ids=["mixed", "even"])
@pytest.mark.parametrize("form", ["text", "<", ">"])
def test_every_form_gives_the_same_mesh(form: str, polygons: list[list[int]], tmp_path: Path) -> None:
    path = tmp_path / "cloth.ply"
    path.write_bytes(text(polygons) if form == "text" else binary(polygons, order=form))
    mesh = read_ply(path)
    np.testing.assert_array_equal(mesh.vertices, POINTS)
    np.testing.assert_array_equal(mesh.faces, EVEN)
    np.testing.assert_allclose(mesh.scalars["COLOR_0.r"], np.array(REDS) / 255)
    np.testing.assert_array_equal(load_garment(path).garment.strength, np.full(5, 0.5))
    assert mesh.corner_uv is not None
    np.testing.assert_array_equal(mesh.corner_uv[2], np.stack([POINTS[EVEN[2], 0], 1 - POINTS[EVEN[2], 1]], axis=1))


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"plywood", "header: is not PLY"),
        (text(EVEN).replace(b"format ascii", b"format morse"), "line 2: 'format morse 1.0' is not PLY"),
        (text(EVEN).replace(b"element vertex 5", b"element vertex -5"), "a negative count"),
        (text(EVEN).replace(b"property float x", b"property number x"), "line 5: 'property number x' is not PLY"),
        (text(EVEN).replace(b"property float z", b"property float w"), "declares no vertices with x, y and z"),
        (binary(EVEN, order="<").replace(b"float y", b"float x"), "header: declares a name twice: x, x, z, red"),
        (text(EVEN).replace(b"3 3 2 4 7", b"3 3 2 9 7"), "face 2: names vertex 9 of 5"),
        (text(EVEN).replace(b"3 3 2 4 7", b"2 3 2 7"), "face 2: has 2 corners"),
        (text(EVEN).replace(b"3 3 2 4 7", b"9 3 2 4 7"), "element face: holds a row that does not fit"),
        (text(EVEN).replace(b"0.5 2.0 0.0", b"0.5 nan 0.0"), "vertex 4: is at"),
        (text(EVEN).replace(b"255 0.5", b"255 inf"), "vertex property strength: holds a value that is not finite"),
        (text(EVEN)[:-30], "element (face|other): is cut off"),
        (text([]), "holds no faces"),
        (binary(EVEN, order="<")[:-20], "element face: is cut off"),
        (binary(MIXED, order="<")[:-9], "element face: is cut off"),
        (binary(EVEN, order=">").replace(b"vertex 5", b"vertex 4000000000"), "element vertex: is cut off"),
    ],
)
def test_damaged_ply_is_refused(data: bytes, message: str, tmp_path: Path) -> None:
    path = tmp_path / "cloth.ply"
    path.write_bytes(data)
    with pytest.raises(FileError, match=message):
        read_ply(path)


def test_a_signalling_nan_is_refused_like_any_other(tmp_path: Path) -> None:
    """IEEE 754: widening a signalling NaN is an invalid operation, which must not come out as a warning."""
    path = tmp_path / "cloth.ply"
    signalling = b"\x01\x00\x80\x7f"
    path.write_bytes(binary(EVEN, order="<").replace(np.float32(2.0).tobytes(), signalling))
    with pytest.raises(FileError, match="vertex 4: is at"):
        read_ply(path)
