"""Lit pictures show what they say, where it is."""

from dataclasses import replace

import numpy as np
import pytest

from dressform.faults.places import make_place
from dressform.faults.registry import ALL_FAULTS, FAULT_LAYERS
from dressform.faults.results import ShapeFields
from dressform.fit.fit import Fit
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.garment.garment import Garment
from dressform.report.page.layers import page_layers
from dressform.report.pictures.faults import (
    Appearance,
    base_picture,
    gravest_fault,
    light,
    look_at,
    worn_picture,
    worst_picture,
)
from findings import faults
from phantoms import phantom_body, phantom_tube

BODY = phantom_body()
GARMENT = phantom_tube()
FIT = Fit(BODY, GARMENT, DEFAULT_FOLLOWING, GARMENT.vertices, np.zeros((3, len(GARMENT.vertices), 3)))
GREEN = Appearance(np.tile([0.1, 0.6, 0.2], (len(GARMENT.vertices), 1)), np.zeros(len(GARMENT.vertices)))


def fields(*, exposed: float = 0.0, depth: float = 0.0) -> ShapeFields:
    """Faults in front, at the height of one metre."""
    spot = np.exp(-(((BODY.vertices - [0, 1, 0.16]) / 0.08) ** 2).sum(axis=1))
    on_cloth = np.exp(-(((GARMENT.vertices - [0, 1, 0.18]) / 0.08) ** 2).sum(axis=1))
    none = np.zeros(len(GARMENT.vertices))
    pushed = BODY.vertices + exposed * 0.06 * spot[:, None] * [0.0, 0.0, 1.0]
    hidden = np.abs(BODY.vertices[:, 1] - 0.95) < 0.3
    layers = {"exposed": exposed * (spot > 0.4), "in_front": 0.0 * spot, "depth": depth * on_cloth}
    layers |= dict.fromkeys(("pucker", "stretch", "clearance_change"), none)
    return ShapeFields(pushed, GARMENT.vertices, hidden, layers)


FIELDS = fields()


def orange(image: np.ndarray) -> np.ndarray:
    values = image.astype(int)
    return (values[..., 0] - values[..., 2] > 110) & (values[..., 0] > 150)


def blue(image: np.ndarray) -> np.ndarray:
    values = image.astype(int)
    return values[..., 2] - values[..., 0] > 60


def test_the_base_picture_shows_the_garment_three_times_at_one_scale() -> None:
    image = base_picture(BODY, FIT, GREEN, FIELDS).astype(int)
    green = (image[..., 1] - image[..., 0] > 30) & (image[..., 1] - image[..., 2] > 30)
    third = image.shape[1] // 3
    counts = [green[:, k * third : (k + 1) * third].sum() for k in range(3)]
    assert min(counts) > 5000
    assert max(counts) < 1.03 * min(counts)  # a tube is as wide from every side


def test_skin_that_shows_is_lit_in_front_and_not_behind() -> None:
    image = worst_picture(BODY, FIT, "belly=1", faults(fault="exposed", severity="grave"), fields(exposed=1.0), {})
    half = image.shape[1] // 2
    picture = image[60:680]
    assert orange(picture[:, :half]).sum() > 200
    assert orange(picture[:, half:]).sum() == 0


def test_cloth_under_the_skin_is_drawn_over_it() -> None:
    image = worst_picture(BODY, FIT, "belly=1", faults(fault="depth", severity="grave"), fields(depth=0.010), {})
    half = image.shape[1] // 2
    picture = image[60:680]
    assert blue(picture[:, :half]).sum() > 200
    assert blue(picture[:, half:]).sum() == 0


def test_a_place_gets_a_close_up_and_a_line_of_text() -> None:
    vertex = int(np.argmax(GARMENT.vertices[:, 2] - abs(GARMENT.vertices[:, 1] - 1)))
    position = tuple(float(x) for x in GARMENT.vertices[vertex])
    spot = make_place(
        position,
        vertex,
        region="belly",
        part="tube",
        side="front middle",
        height=1.0,
        area=1e-3,
        fault="depth",
        severity="grave",
        value=0.004,
    )
    plain, placed = (
        worst_picture(BODY, FIT, "belly=1", faults(fault="depth", severity="grave"), fields(depth=0.010), places)
        for places in ({}, {"7": spot})
    )
    assert placed.shape[1] > 1.4 * plain.shape[1]
    assert placed.shape[0] > plain.shape[0]
    assert blue(placed[60:680, plain.shape[1] :]).mean() > 0.1


@pytest.mark.parametrize(("weights", "wider"), [((0.0, 0.0, 0.0), 1.0), ((0.0, 1.0, 0.0), 1.25)])
def test_a_worn_picture_shows_the_shape_asked_for(weights: tuple[float, ...], wider: float) -> None:
    size = (200, 600)
    widths = []
    for shape in ((0.0, 0.0, 0.0), weights):
        image = worn_picture(BODY, FIT, GREEN, np.array(shape), "front", size).astype(int)
        skin = image[..., 0] - image[..., 2] > 25
        widths.append(skin[480:500].any(axis=0).sum())
    assert widths[1] / widths[0] == pytest.approx(wider, rel=0.05)


def test_cloth_is_coloured_by_the_fault_that_the_verdict_names() -> None:
    """Of a waistcoat whose verdict was "layers swapped" the picture showed the change of clearance."""
    every = {layer.name: np.zeros(len(GARMENT.vertices)) for layer in FAULT_LAYERS}
    every |= {"exposed": FIELDS.layers["exposed"], "in_front": FIELDS.layers["in_front"]}
    shown = replace(FIELDS, layers=every)
    placed = [fault for fault in ALL_FAULTS if fault.field is not None and fault.on == "cloth"]
    named = {fault.key: light(BODY, FIT, shown, fault.key).words for fault in placed}
    assert named["layers"] == "layers swapped"
    assert [key for key, words in named.items() if words == "clearance change"] == ["clearance"]


def test_a_layer_has_one_scale_however_bad_a_shape_is() -> None:
    """A garment that is slight was drawn as deep a blue as one that is grave."""
    slight, grave = (light(BODY, FIT, fields(depth=depth), "depth").scale for depth in (0.0005, 0.05))
    assert slight == grave
    assert slight.high == pytest.approx(next(one.high for one in page_layers() if one.name == "depth"))


def test_what_comes_through_from_below_is_drawn_with_the_garment_over_it() -> None:
    every = {layer.name: np.zeros(len(GARMENT.vertices)) for layer in FAULT_LAYERS}
    shown = replace(FIELDS, layers=every | {"exposed": FIELDS.layers["exposed"], "in_front": FIELDS.layers["in_front"]})
    wide = GARMENT.vertices * [1.2, 1.0, 1.2]
    below = replace(FIT, garment=replace(GARMENT, vertices=wide), base=wide)
    found = faults(fault="pierced", severity="grave")
    plain, both = (worst_picture(BODY, FIT, "", found, shown, {}, under=under) for under in ((), [below]))
    assert np.abs(plain.astype(int) - both).max() > 50
    deep = faults(fault="depth", severity="grave")
    assert np.array_equal(*(worst_picture(BODY, FIT, "", deep, shown, {}, under=under) for under in ((), [below])))


def test_the_gravest_fault_is_the_first_of_the_worst_severity() -> None:
    assert gravest_fault(faults(fault="pucker", severity="slight")) == "pucker"
    assert gravest_fault(faults()) == "exposed"


def test_a_place_whose_cloth_has_its_back_to_the_eye_is_looked_at_from_outside() -> None:
    """The back of a button faces the body: its own normal would put the eye behind the wearer."""
    turned = replace(FIT, garment=replace(GARMENT, faces=GARMENT.faces[:, ::-1]))
    vertex = int(np.argmin(np.linalg.norm(GARMENT.vertices - [0, 1, 0.18], axis=1)))
    position = tuple(float(x) for x in GARMENT.vertices[vertex])
    spot = make_place(
        position, vertex, region="belly", part="tube", side="front middle", height=1.0, area=1e-3, fault="depth",
        value=0.01, severity="grave",
    )  # fmt: skip
    for fit in (FIT, turned):
        assert look_at(spot, BODY, fit, FIELDS).eye[2] > position[2]


def test_the_rim_of_a_button_is_looked_at_from_where_the_button_is_seen() -> None:
    """Of a button that sank the picture showed the wearer's profile, since the rim of a button faces sideways."""
    points = 0.01 * np.concatenate([np.eye(3), -np.eye(3)]) * [1.0, 1.0, 0.3] + [0.0, 1.0, 0.17]
    faces = np.array([[0, 1, 2], [1, 3, 2], [3, 4, 2], [4, 0, 2], [1, 0, 5], [3, 1, 5], [4, 3, 5], [0, 4, 5]])
    button = replace(FIT, garment=Garment.of("button", points, faces), base=points, deltas=np.zeros((3, 6, 3)))
    spot = make_place(
        tuple(float(x) for x in points[0]), 0, region="belly", part="button", side="front middle", height=1.0,
        area=1e-4, fault="layers", value=1e-4, severity="slight",
    )  # fmt: skip
    eye = look_at(spot, BODY, button, replace(FIELDS, cloth=points)).eye
    assert eye[2] - points[0, 2] > 2 * np.abs(eye[0] - points[0, 0])
