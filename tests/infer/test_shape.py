"""Which shape a garment was modelled on, on bodies where the answer is known."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation
from tests.phantoms import GIRTH_GAIN, RADIUS, phantom_body, phantom_tube

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.errors import ArgumentError, MatchError
from dressform.garment.garment import Garment
from dressform.infer.results import CUT_LOOSE, FINE, OTHER_BASE, OTHER_SHAPE
from dressform.infer.shape import infer_shape
from dressform.infer.verdict import _named
from dressform.mesh.geometry import vertex_normals
from dressform.repair.rebase import rebase

LOW, HIGH = 0.6, 1.35
EASE = 0.015


def sleeve(body: Body, named: dict[str, float], *, ease: float = EASE, low: float = LOW, high: float = HIGH) -> Garment:
    """Cloth at one distance from a shape of the capsule, between two heights of its base body."""
    shape = body.at(body.weights(named))
    cloth = shape + ease * vertex_normals(shape, body.faces)
    inside = (body.vertices[:, 1] >= low) & (body.vertices[:, 1] <= high)
    kept = body.faces[inside[body.faces].all(axis=1)]
    used, faces = np.unique(kept, return_inverse=True)
    return Garment.of("sleeve", cloth[used], faces.reshape(-1, 3))


def test_a_straight_tube_tells_that_there_is_no_belly_and_neither_girth_nor_length() -> None:
    body = phantom_body()
    found = infer_shape(body, sleeve(body, {}))
    assert found.weights[0] == pytest.approx(0.0, abs=0.02)
    assert found.silent == ("girth", "tall")


@pytest.mark.parametrize("belly", [0.0, 0.4, 0.9])
def test_a_tube_tells_the_belly_of_its_body(belly: float) -> None:
    body = phantom_body()
    found = infer_shape(body, sleeve(body, {"belly": belly}))
    assert found.weights[0] == pytest.approx(belly, abs=0.05)
    assert found.holds(body.weights({"belly": belly}))
    along_belly = max(found.directions, key=lambda direction: abs(direction.mix[0]))
    assert along_belly.told
    assert abs(along_belly.mix[0]) > 0.95
    assert found.spread[1] > 0.4  # girth


def test_a_wider_body_and_more_ease_look_alike_as_far_as_ease_is_free() -> None:
    body = phantom_body()
    found = infer_shape(body, sleeve(body, {"girth": 0.7}))
    wider = RADIUS * GIRTH_GAIN  # the tube is round: all that girth does to it is a uniform clearance
    prior = found.prior[1]
    least = 1.0 / np.sqrt(1.0 / prior**2 + wider**2 / 0.05**2)  # with no pattern of ease but the constant one
    assert least * 0.99 <= found.spread[1] <= prior
    assert found.holds(body.weights({"girth": 0.7}))
    assert found.holds(body.weights({}))
    assert found.verdict == FINE


def test_a_tube_for_a_belly_is_told_from_one_for_the_base() -> None:
    body = phantom_body()
    assert infer_shape(body, sleeve(body, {})).verdict == FINE
    found = infer_shape(body, sleeve(body, {"belly": 0.8}))
    assert found.verdict == OTHER_SHAPE
    assert "belly 0." in found.sentence
    assert not found.holds(body.weights({}))


def test_cloth_that_stands_off_evenly_is_cut_loose_not_made_for_another() -> None:
    body = phantom_body()
    found = infer_shape(body, sleeve(body, {}, ease=0.06))
    assert found.verdict == CUT_LOOSE
    assert found.evidence["nearest quarter of the cloth on the base, m"] == pytest.approx(0.06, abs=0.003)


def _second_base(body: Body) -> Body:
    """The same triangles with a bump on the back."""
    level = np.exp(-(((body.vertices[:, 1] - 0.9) / 0.12) ** 2)) * np.clip(-body.vertices[:, 2] / RADIUS, 0, None) ** 2
    return replace(body, name="second", vertices=body.vertices - 0.05 * level[:, None] * np.array([0.0, 0.0, 1.0]))


def test_cloth_made_for_another_base_body_names_it() -> None:
    body = phantom_body()
    second = _second_base(body)
    found = infer_shape(body, sleeve(second, {}), others=(second,))
    assert (found.verdict, found.base) == (OTHER_BASE, "second")
    assert infer_shape(second, sleeve(second, {}), others=(body,)).verdict == FINE


def test_bodies_without_morphs_are_told_apart_by_their_bases() -> None:
    bare = {
        body.name: replace(body, morph_names=(), deltas=np.zeros((0, len(body.vertices), 3)), range=Range.unit(()))
        for body in (phantom_body(), _second_base(phantom_body()))
    }
    cloth = sleeve(bare["second"], {})
    assert infer_shape(bare["phantom"], cloth, others=(bare["second"],)).verdict == OTHER_BASE
    assert infer_shape(bare["second"], cloth, others=(bare["phantom"],)).verdict == FINE


def test_the_way_back_carries_the_cloth_to_its_ease_on_the_base() -> None:
    body = phantom_body()
    garment = sleeve(body, {"belly": 0.8})
    found = infer_shape(body, garment)
    back = rebase(*_swapped(found.way_back(body), garment))
    assert np.abs(back.clearance_here - EASE).max() < 0.006
    direct = rebase(body, garment, found.weights)
    assert np.abs(direct.garment.vertices - back.garment.vertices).max() < 1e-9


def _swapped(way: tuple[Body, np.ndarray], garment: Garment) -> tuple[Body, Garment, np.ndarray]:
    return way[0], garment, way[1]


def _moved(points: np.ndarray, scale: float) -> np.ndarray:
    turn = Rotation.from_euler("y", 33, degrees=True).as_matrix()
    return scale * points @ turn.T + np.array([0.3, 0.0, -0.8])


@pytest.mark.parametrize("scale", [1.0, 2.5])
def test_the_answer_moves_with_body_and_cloth(scale: float) -> None:
    body = phantom_body()
    garment = sleeve(body, {"belly": 0.6})
    deltas = _moved(body.deltas, scale) - _moved(np.zeros(3), scale)
    other = replace(body, vertices=_moved(body.vertices, scale), deltas=deltas)
    found = infer_shape(body, garment)
    moved = infer_shape(other, replace(garment, vertices=_moved(garment.vertices, scale)))
    assert moved.verdict == found.verdict
    assert np.abs(moved.weights - found.weights).max() < 0.02
    assert np.abs(moved.spread / found.spread - 1).max() < 0.05


def test_the_answer_does_not_hang_on_the_order_of_vertices() -> None:
    body = phantom_body()
    garment = sleeve(body, {"belly": 0.6})
    order = np.random.default_rng(4).permutation(len(garment.vertices))
    place = np.argsort(order)
    shuffled = Garment.of("sleeve", garment.vertices[order], place[garment.faces][::-1])
    one, two = infer_shape(body, garment), infer_shape(body, shuffled)
    assert np.abs(one.weights - two.weights).max() < 0.02
    assert one.verdict == two.verdict


def test_neither_body_nor_cloth_is_touched() -> None:
    body = phantom_body()
    garment = sleeve(body, {"belly": 0.6})
    before = body.vertices.copy(), garment.vertices.copy()
    infer_shape(body, garment)
    assert np.array_equal(body.vertices, before[0])
    assert np.array_equal(garment.vertices, before[1])


def test_a_layer_outside_says_no_more_than_the_one_inside() -> None:
    body = phantom_body()
    inner, outer = sleeve(body, {"belly": 0.6}), sleeve(body, {"belly": 0.6}, ease=0.05)
    faces = np.concatenate([inner.faces, outer.faces + len(inner.vertices)])
    both = Garment.of("lined", np.concatenate([inner.vertices, outer.vertices]), faces)
    one, two = infer_shape(body, inner), infer_shape(body, both)
    assert np.abs(one.weights - two.weights).max() < 0.05


def test_a_confidence_that_is_none_is_refused() -> None:
    body = phantom_body()
    with pytest.raises(ArgumentError, match=r"`confidence` must be between 0 and 1, got 1\."):
        infer_shape(body, sleeve(body, {}), confidence=1.0)


def test_another_base_with_other_triangles_is_refused() -> None:
    body = phantom_body()
    with pytest.raises(MatchError, match="`others` must have the triangles of 'phantom', those of 'phantom' differ"):
        infer_shape(body, sleeve(body, {}), others=(phantom_body(rings=30),))


def test_a_shape_is_told_by_its_four_strongest_weights_and_without_those_that_hardly_count() -> None:
    vertices, faces = phantom_body().vertices, phantom_body().faces
    names = tuple("abcdefg")
    body = Body("many", vertices, faces, names, np.zeros((7, *vertices.shape)), Range.unit(names))
    assert _named(body, np.array([0.1, -0.9, 0.3, 0.04, 0.8, 0.2, 0.5])) == "b -0.90, e 0.80, g 0.50, c 0.30"
    assert _named(body, np.array([0.0, 0.06, 0.0, 0.04, 0.0, -0.2, 0.0])) == "f -0.20, b 0.06"


@pytest.mark.parametrize("sides", [9, 24])
def test_a_tube_with_even_room_is_not_anothers_because_there_it_would_have_less(sides: int) -> None:
    """12 mm all round, also where its sides are so flat that the skin of the larger body would come through them."""
    body = phantom_body()
    larger = replace(body, name="larger", vertices=1.05 * body.vertices)
    assert infer_shape(body, phantom_tube(clearance=0.012, sides=sides), others=(larger,)).verdict == FINE
