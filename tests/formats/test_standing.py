"""A body is read standing and facing as it is in truth, in its own unit, or refused with the reason."""

from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from dressform.errors import UnitsError
from dressform.formats.frames import body_frame as frames
from dressform.formats.frames.body_frame import body_frame
from dressform.formats.frames.standing import Stand, find_stands, is_person
from dressform.formats.frames.units import FRONTS, UNITS, UPS, AxisOptions, Frame
from dressform.formats.load import load_body
from dressform.mesh.topology import face_components
from people import ball, belt, joined, person_mesh, skirt, stored
from phantom import Phantom
from realdata import real
from solids import capped_body

GLTF = (1.0, "y")
PLAIN = (None, None)


def read(mesh: tuple[np.ndarray, np.ndarray], frame: Frame, said: tuple, told: AxisOptions | None = None) -> Frame:
    """The frame in which a mesh is read that was written in `frame`."""
    made = stored(mesh, frame.linear)
    return body_frame(
        "body", made.vertices, made.faces, stated_unit=said[0], stated_up=said[1], told=told or AxisOptions()
    )


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("up", UPS)
@pytest.mark.parametrize("front", FRONTS)
def test_a_person_is_read_right_from_every_axis_and_unit(unit: str, up: str, front: str) -> None:
    written = Frame(UNITS[unit], up, (), front)
    for said in (GLTF, PLAIN):
        if unit == "in":  # 67 units may be 0.67 m in centimetres: a small child
            with pytest.raises(UnitsError, match=r"1\.7 m if in inches\. Say which with --units cm or --units in"):
                read(person_mesh(), written, said)
        found = read(person_mesh(), written, said, AxisOptions(units=unit if unit == "in" else None))
        assert found.is_like(written)
        assert len(found.notes) == (not written.is_standard)


@pytest.mark.parametrize("seed", range(6))
def test_a_body_that_leans_and_stands_elsewhere_is_read_alike(seed: int) -> None:
    rng = np.random.default_rng(seed)
    lean = Rotation.from_rotvec(np.radians(4) * rng.uniform(-1, 1, 3)).as_matrix()
    written = Frame(1.0, str(rng.choice(UPS)), (), str(rng.choice(FRONTS)))
    vertices, faces = person_mesh()
    assert read((vertices @ lean.T + rng.normal(size=3), faces), written, GLTF).is_like(written)


@pytest.mark.data
@pytest.mark.parametrize("name", ["bodies/mean_female.obj", "bodies/mean_male.obj", "loader/human-female.glb"])
@pytest.mark.parametrize(("up", "front"), [("-y", "z"), ("y", "-z"), ("y", "x"), ("z", "-x"), ("-x", "-z")])
def test_a_real_body_is_turned_upright_and_to_the_front(name: str, up: str, front: str) -> None:
    body = load_body(real(name)).body
    written = Frame(0.01, up, (), front)
    assert read((body.vertices, body.faces), written, GLTF).is_like(written)


def test_what_was_turned_and_rescaled_is_said_in_the_first_note(tmp_path: Path) -> None:
    written = stored(person_mesh(), Frame(0.01, "-y", (), "x").linear)
    path = tmp_path / "person.obj"
    points = "".join(f"v {x:.9g} {y:.9g} {z:.9g}\n" for x, y, z in written.vertices)
    path.write_text(points + "".join(f"f {a} {b} {c}\n" for a, b, c in written.faces + 1))
    body = load_body(path).body
    assert body.notes[0] == (
        "By its height of 170.363 units and the way it stands this is centimetres, −Y up, front to +X; it was "
        "converted to metres, turned to +Y up and turned to face +Z."
    )
    np.testing.assert_allclose(body.vertices, person_mesh()[0], atol=1e-6)
    np.testing.assert_allclose(body.from_file, Frame(0.01, "-y", (), "x").linear)


def test_a_body_as_glTF_asks_needs_no_note() -> None:
    assert read(person_mesh(), Frame(1.0), GLTF).notes == ()


def test_a_body_without_feet_is_turned_upright_and_its_front_is_asked_for() -> None:
    body = Phantom(cell=0.024).body
    found = read((body.vertices, body.faces), Frame(1.0, "-y"), GLTF)
    assert found.up == "-y"
    assert "--front says" in found.notes[1]
    assert read((body.vertices, body.faces), Frame(1.0, "-y"), GLTF, AxisOptions(front="z")).notes == (
        "By the way it stands this is −Y up; it was turned to +Y up.",
    )


def test_a_body_that_shows_no_legs_is_read_as_its_file_says_unless_it_lies() -> None:
    column = capped_body("column")
    assert find_stands(column.vertices, column.faces) == ()
    assert read((column.vertices, column.faces), Frame(1.0), GLTF).is_standard
    for axis in ("x", "z"):
        found = read((column.vertices, column.faces), Frame(1.0, axis), GLTF)
        assert found.up == axis
        assert found.notes[0].startswith("By its longest side this is")


@pytest.mark.parametrize(("unit", "tall"), [("cm", 24.0), ("m", 0.24), ("mm", 240.0), ("in", 9.5)])
def test_a_head_alone_is_no_small_person_in_inches(unit: str, tall: float) -> None:
    head = ball((0.0, tall / 2, 0.0), (0.33 * tall, tall / 2, 0.42 * tall))
    assert read(head, Frame(1.0), GLTF).metres_per_unit == UNITS[unit]


def test_what_is_told_overrides_every_sign_and_every_limit() -> None:
    told = AxisOptions(units="m", up="z", front="x")
    for mesh, size in ((person_mesh(), 17.0), (person_mesh(), 0.0006), (skirt(), 1.0)):
        found = read((size * mesh[0], mesh[1]), Frame(1.0), GLTF, told)
        assert found.is_like(Frame(1.0, "z", (), "x"))
        assert found.notes == ("As told: +Z up, front to +X; it was turned to +Y up and turned to face +Z.",)


def test_a_garment_is_no_person_and_a_person_of_shells_is() -> None:
    assert is_person(*person_mesh())
    shells = Phantom().body_of_shells
    assert face_components(shells.faces, len(shells.vertices)).max() > 1
    assert is_person(shells.vertices, shells.faces)
    for cloth in (skirt(), belt(), joined(skirt(), belt())):
        assert not is_person(*cloth, ups=UPS)


def test_a_body_that_stands_in_two_ways_is_asked_for(monkeypatch: pytest.MonkeyPatch) -> None:
    upside = (Stand("-y", "z", True), Stand("z", "z", True))
    monkeypatch.setattr(frames, "find_stands", lambda *_: upside)
    with pytest.raises(UnitsError, match=r"stands like a person with −Y up .* or \+Z up .*Say which with --up"):
        read(person_mesh(), Frame(1.0), GLTF)
