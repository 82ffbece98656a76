"""Units and axes: recognised and said aloud, asked for where they are unclear, never silently wrong."""

from pathlib import Path

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.errors import ArgumentError, FileError, UnitsError
from dressform.formats.frames.units import UNITS
from dressform.formats.load import BodyFile, load_body, load_garment
from dressform.formats.match import check_match
from solids import capped_body, open_tube, tube

Z_UP = np.array([[1.0, 0, 0], [0, 0, -1], [0, 1, 0]])  # +Y up to +Z up
X_UP = np.array([[0.0, 1, 0], [-1, 0, 0], [0, 0, 1]])
ALL_UNITS = [("m", 1.0), ("cm", 100.0), ("mm", 1000.0), ("in", 1 / 0.0254)]


def obj(path: Path, vertices: np.ndarray, faces: np.ndarray) -> Path:
    points = "".join(f"v {x:.9g} {y:.9g} {z:.9g}\n" for x, y, z in vertices)
    path.write_text(points + "".join(f"f {a} {b} {c}\n" for a, b, c in faces + 1))
    return path


def body() -> Body:
    return capped_body("keeper")


def body_file(tmp_path: Path) -> BodyFile:
    return load_body(obj(tmp_path / "keeper.obj", body().vertices, body().faces))


@pytest.mark.parametrize(("unit", "scale"), [("cm", 100.0), ("mm", 1000.0)])
@pytest.mark.parametrize("turn", [np.eye(3), Z_UP], ids=["y", "z"])
def test_body_in_other_units_is_converted_and_said(unit: str, scale: float, turn: np.ndarray, tmp_path: Path) -> None:
    path = obj(tmp_path / "keeper.obj", scale * body().vertices @ turn.T, body().faces)
    found = load_body(path)
    np.testing.assert_allclose(found.body.vertices, body().vertices, atol=1e-8)
    assert found.frame.metres_per_unit == UNITS[unit]
    assert any("converted to metres" in note for note in found.body.notes)
    assert any("turned to +Y up" in note for note in found.body.notes) == (turn is Z_UP)


@pytest.mark.parametrize(
    ("height", "message"),
    [
        (67.0, r"67 units tall, 67 m as the file stands; it could be 0\.67 m if in centimetres or 1\.7 m if in inches"),
        (5e6, "no body in metres, centimetres, millimetres or inches"),
        (0.01, "no body in metres"),
        (8.0, "no body in metres"),
    ],
)
def test_unclear_size_asks_for_the_unit(height: float, message: str, tmp_path: Path) -> None:
    path = obj(tmp_path / "keeper.obj", height / 1.7 * body().vertices, body().faces)
    with pytest.raises(UnitsError, match=message) as asked:
        load_body(path)
    assert "--units" in str(asked.value)
    assert load_body(path, units="in").body.stature == pytest.approx(0.0254 * height)


def test_options_override_what_is_recognised(tmp_path: Path) -> None:
    path = obj(tmp_path / "keeper.obj", 100 * body().vertices @ X_UP.T, body().faces)
    np.testing.assert_allclose(load_body(path, units="cm", up="x").body.vertices, body().vertices, atol=1e-8)


@pytest.mark.parametrize(
    ("option", "known"), [("units", "m, cm, mm, in"), ("up", "x, y, z, -x, -y, -z"), ("front", "z, -z, x, -x")]
)
def test_unknown_option_lists_the_known_ones(option: str, known: str, tmp_path: Path) -> None:
    for load in (load_body, load_garment):
        with pytest.raises(ArgumentError, match=f"`{option}` must be one of {known}, got 'furlong'"):
            load(tmp_path / "keeper.obj", **{option: "furlong"})


@pytest.mark.parametrize(("unit", "scale"), ALL_UNITS)
@pytest.mark.parametrize("turn", [np.eye(3), Z_UP], ids=["y", "z"])
def test_garment_beside_its_body_is_read_in_its_own_units(
    unit: str, scale: float, turn: np.ndarray, tmp_path: Path
) -> None:
    garment = open_tube(radius=0.16)
    path = obj(tmp_path / "tube.obj", scale * garment.vertices @ turn.T, garment.faces)
    found = load_garment(path, beside=body())
    np.testing.assert_allclose(found.garment.vertices, garment.vertices, atol=1e-7)
    assert found.frame.metres_per_unit == pytest.approx(UNITS[unit])
    check_match(body_file(tmp_path).body, found)


@pytest.mark.parametrize(("unit", "scale"), ALL_UNITS[1:])
def test_garment_in_other_units_than_its_body_is_refused(unit: str, scale: float, tmp_path: Path) -> None:
    garment = open_tube(radius=0.16)
    path = obj(tmp_path / "tube.obj", scale * garment.vertices, garment.faces)
    with pytest.raises(UnitsError, match=f"beside a body 1.7 m tall; it lies .* --units {unit} --up y"):
        check_match(body_file(tmp_path).body, load_garment(path, units="m"))
    with pytest.raises(UnitsError, match="Say which with --units"):
        load_garment(path)


def test_garment_turned_against_its_body_is_refused(tmp_path: Path) -> None:
    garment = open_tube(radius=0.16)
    path = obj(tmp_path / "tube.obj", garment.vertices @ Z_UP.T, garment.faces)
    with pytest.raises(UnitsError, match=r"metres with \+Z up. Say so with --units m --up z"):
        check_match(body_file(tmp_path).body, load_garment(path))


def test_garment_nowhere_near_is_refused(tmp_path: Path) -> None:
    garment = open_tube()
    path = obj(tmp_path / "tube.obj", garment.vertices + np.array([30.0, 0, 0]), garment.faces)
    with pytest.raises(FileError, match=r"nowhere near the body, 1\.7 m tall; it is 30 m from the skin"):
        load_garment(path, beside=body())


def test_garment_that_lies_as_near_in_two_ways_is_asked_for(tmp_path: Path) -> None:
    """A ring below the sole of a capped tube lies about as near to it with either axis up."""
    vertices, faces = tube(height=0.01, radius=0.06, low=-0.075)
    path = obj(tmp_path / "tube.obj", vertices / 0.0254, faces)
    with pytest.raises(UnitsError, match=r"could be in inches with \+Y up or inches with \+Z up\. Say which"):
        load_garment(path, beside=body())
    told = load_garment(path, beside=body(), units="in", up="y")
    np.testing.assert_allclose(told.garment.vertices, vertices, atol=1e-7)
