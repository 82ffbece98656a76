"""A garment is read as it was written beside its body, or the user is asked; it is never turned without need."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.errors import FileError, UnitsError
from dressform.fit.make import make_fit
from dressform.formats.frames.beside import frame_beside
from dressform.formats.frames.placement import Placements
from dressform.formats.frames.units import FRONTS, UNITS, UPS, AxisOptions, Frame
from dressform.formats.gltf.document import read_document
from dressform.formats.gltf.fit_file import load_fit
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.gltf.read import read_scene
from dressform.formats.load import load_body, load_garment
from people import WORN, Mesh, head, person, person_mesh, ring, shoes, skirt, stored, sunglasses
from solids import capped_body, open_tube

pytestmark = pytest.mark.long

GLTF = {"unit": 1.0, "up": "y"}
PLAIN: dict[str, object] = {}
QUARTER = np.array([[0.0, 0, 1], [0, 1, 0], [-1, 0, 0]])
FRAMES = [Frame(UNITS[unit], up, (), front) for unit in UNITS for up in UPS for front in FRONTS]


def wearer(frame: Frame | None = None) -> Body:
    """The person, as read from a file that was written in `frame`."""
    return person() if frame is None else replace(person(), from_file=frame.linear)


def read(mesh: Mesh, written: Frame, body: Body, said: dict, told: AxisOptions | None = None) -> Frame:
    return frame_beside(Path("worn.obj"), stored(mesh, written.linear, **said), body, told=told)


@pytest.mark.parametrize("written", FRAMES, ids=lambda frame: f"{frame.metres_per_unit:g}{frame.up}{frame.front}")
def test_a_pair_is_read_right_from_every_axis_and_unit(written: Frame) -> None:
    body, number = wearer(written), FRAMES.index(written)
    worn = [list(WORN)[(number + step) % len(WORN)] for step in (0, 2)]
    for name in worn:
        for said in (GLTF, PLAIN):
            found = read(WORN[name](), written, body, said)
            assert found.is_like(written), name
            assert len(found.notes) == (not written.is_standard)


@pytest.mark.parametrize("name", WORN)
@pytest.mark.parametrize("unit", UNITS)
def test_a_garment_in_another_unit_or_turned_against_its_body_is_read_right_or_asked_for(name: str, unit: str) -> None:
    body = wearer()
    for up in UPS:
        written = Frame(UNITS[unit], up)
        found = read_or_asked(WORN[name](), written, body)
        if isinstance(found, str):
            assert "--garment-units and --garment-up" in found
            assert not written.is_standard
        else:
            assert found.is_like(written), up
            assert len(found.notes) == (not written.is_standard)


def read_or_asked(mesh: Mesh, written: Frame, body: Body) -> Frame | str:
    """The frame, or what the user is asked."""
    try:
        return read(mesh, written, body, GLTF)
    except FileError as asked:
        return str(asked)


@pytest.mark.parametrize("gap", [0.02, 0.03, 0.04, 0.05, 0.06])
@pytest.mark.parametrize("height", [0.0, 0.12, 1.5])
def test_sunglasses_before_the_eyes_stay_there(gap: float, height: float) -> None:
    """On a head in the origin a quarter turn brings them nearer to the skin: onto the crown."""
    face = 0.1 * np.sqrt(1 - (0.02 / 0.12) ** 2 - (0.032 / 0.078) ** 2)
    worn = sunglasses(eyes=height + 0.02, front=face + gap, wide=0.088)
    assert read(worn, Frame(1.0), head(height=height), GLTF).is_standard


def test_being_inside_the_body_counts_against_a_reading() -> None:
    """A ring in a round body is as if it lay five times as far from the skin as one around it does."""
    body = capped_body("column", radius=0.15)
    around, within = (
        Placements(stored(ring(0.8, radius), np.eye(3)), body, None).at(Frame(1.0)) for radius in (0.18, 0.12)
    )
    assert (around.inside, within.inside) == (0.0, 1.0)
    per_distance = [one.cost * one.size / one.median for one in (around, within)]
    assert per_distance[1] == pytest.approx(5 * per_distance[0], rel=0.1)


def test_shoes_on_back_to_front_are_asked_for_and_not_turned() -> None:
    vertices, faces = shoes()
    turned = (vertices @ np.diag([-1.0, 1.0, -1.0]), faces)
    with pytest.raises(UnitsError, match=r"lie [\d.]+ times nearer to the skin in metres with \+Y up, front to −Z"):
        read(turned, Frame(1.0), person(), GLTF)


def test_a_garment_wholly_inside_the_body_is_kept_as_it_is() -> None:
    """That it cannot be seen is a fault of the garment, not of its units."""
    body = capped_body("keeper")
    tube = open_tube(radius=0.12)
    assert read((tube.vertices, tube.faces), Frame(1.0), body, GLTF).is_standard


@pytest.mark.parametrize("size", [17.0, 0.0006])
def test_told_units_override_every_limit_of_size(size: float, tmp_path: Path) -> None:
    """A giant of 29 m and a doll of 1 mm, with what they wear."""
    giant = load_body(obj(tmp_path / "giant.obj", (size * person_mesh()[0], person_mesh()[1])), units="m").body
    for name, make in WORN.items():
        vertices, faces = make()
        path = obj(tmp_path / f"{name}.obj", (size * vertices, faces))
        found = load_garment(path, beside=giant, units="m")
        np.testing.assert_allclose(found.garment.vertices, size * vertices, rtol=1e-5, atol=1e-6 * size)


def test_told_units_and_axis_are_taken_wherever_the_garment_lies() -> None:
    far = (skirt()[0] + [30.0, 0, 0], skirt()[1])
    with pytest.raises(FileError, match=r"nowhere near the body.*say both --garment-units and --garment-up"):
        read(far, Frame(1.0), person(), GLTF, AxisOptions(units="m"))
    found = read(far, Frame(1.0), person(), GLTF, AxisOptions(units="cm", up="-z"))
    assert found.is_like(Frame(0.01, "-z"))
    assert found.notes == ("As told: centimetres, −Z up; it was converted to metres and turned to +Y up.",)


def test_a_garment_that_was_turned_says_so_first(tmp_path: Path) -> None:
    vertices, faces = skirt()
    written = stored((vertices, faces), Frame(0.01, "z").linear)
    found = load_garment(obj(tmp_path / "skirt.obj", (written.vertices, faces)), beside=person())
    said = "Only so does it lie on the body: centimetres, +Z up; it was converted to metres and turned to +Y up."
    assert found.garment.notes[0] == said
    np.testing.assert_allclose(found.garment.vertices, vertices, atol=1e-6)


def test_body_and_garment_swapped_are_refused(tmp_path: Path) -> None:
    vertices, faces = skirt()
    cloth = Body("skirt", vertices, faces, (), np.zeros((0, *vertices.shape)), person(morphs=()).range)
    path = obj(tmp_path / "person.obj", person_mesh())
    with pytest.raises(FileError, match=r"stands like a person, and the body 'skirt' does not: they are swapped"):
        load_garment(path, beside=cloth)


@pytest.mark.parametrize("front", FRONTS)
def test_a_fitted_garment_faces_as_the_file_of_its_body_does(front: str, tmp_path: Path) -> None:
    """Written back, the cloth lies in the body's own file where it lay before, and it is read back as it was."""
    written = Frame(1.0, "y", (), front)
    body_file = load_body(obj(tmp_path / "person.obj", stored_mesh(person_mesh(), written)))
    garment_file = load_garment(obj(tmp_path / "skirt.obj", stored_mesh(skirt(), written)), beside=body_file.body)
    np.testing.assert_allclose(garment_file.garment.vertices, skirt()[0], atol=1e-6)
    fit = make_fit(body_file.body, garment_file.garment)
    save_fit(fit, garment_file, body_file, tmp_path / "fitted.glb")
    in_file = read_scene(read_document(tmp_path / "fitted.glb"), 0).vertices
    expected = skirt()[0] @ np.linalg.inv(written.linear).T
    apart = np.linalg.norm(in_file[:, None] - expected[None], axis=2).min(axis=1)
    assert apart.max() < 1e-5
    back = load_fit(tmp_path / "fitted.glb", body_file.body)
    np.testing.assert_allclose(np.sort(back.base, axis=0), np.sort(fit.base, axis=0), atol=1e-5)


def stored_mesh(mesh: Mesh, written: Frame) -> Mesh:
    return stored(mesh, written.linear).vertices, mesh[1]


def obj(path: Path, mesh: Mesh) -> Path:
    points = "".join(f"v {x:.9g} {y:.9g} {z:.9g}\n" for x, y, z in mesh[0])
    path.write_text(points + "".join(f"f {a} {b} {c}\n" for a, b, c in mesh[1] + 1))
    return path
