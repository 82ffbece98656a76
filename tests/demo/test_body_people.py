"""The demo people: sound meshes, plausible tape measures, smooth morphs, a skeleton that bends without tears."""

import hashlib

import igl
import igl.predicates
import numpy as np
import pytest

from demo_people import MIRROR, people, volume
from dressform.body.body import Body
from dressform.demo.body import MORPHS, make_demo_bodies
from dressform.demo.body_anatomy import build
from dressform.demo.body_carry import DiffusionStep, reshaped
from dressform.demo.body_mesh import template_mesh
from dressform.demo.body_parts import density_of, field_of, frames, parts
from dressform.mesh.geometry import edge_lengths, vertex_normals
from dressform.mesh.sections import hull_perimeter, section
from dressform.mesh.topology import audit, edges


def crossings(vertices: np.ndarray, faces: np.ndarray) -> int:
    """Pairs of triangles that cross, by exact predicates."""
    return len(igl.predicates.find_self_intersections(vertices, faces)[1])


def tape(body: Body, frame: str, at: tuple[float, float, float], axis: int, within: float, shape: np.ndarray) -> float:
    """Girth in centimetres of the piece of a section that lies within a radius of a place in the anatomy's frame."""
    place = frames(build(body.name))[frame]
    segments = section(shape, body.faces, place.point(at), place.axes[axis])
    near = np.linalg.norm(segments.mean(axis=1) - place.point(at), axis=1) < within * place.scale
    return 100.0 * hull_perimeter(segments[near], place.axes[axis])


# ------------------------------------------------------------------ mesh


def test_mesh_is_one_closed_surface_of_genus_zero(body: Body) -> None:
    found = audit(body.vertices, body.faces)
    assert found.shells == 1
    assert found.notes() == ()
    assert igl.euler_characteristic(body.faces) == 2
    assert volume(body.vertices, body.faces) > 0.0


def test_mesh_has_the_promised_size_and_even_triangles(body: Body) -> None:
    assert 10_000 <= len(body.vertices) <= 25_000
    lengths = edge_lengths(body.vertices, edges(body.faces))
    assert np.percentile(lengths, 95) / np.percentile(lengths, 5) < 6.0  # 2 mm at the eyes to 16 mm on the back
    angles = np.degrees(igl.internal_angles(body.vertices, body.faces)).min(axis=1)
    assert np.percentile(angles, 5) > 40.0
    assert np.percentile(angles, 1) > 33.0


def test_neighbouring_edges_hardly_differ_in_length(body: Body) -> None:
    corners = body.vertices[body.faces]
    sides = np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).T
    assert np.percentile(sides.max(axis=0) / sides.min(axis=0), 95) < 1.5


def test_builds_share_their_triangles() -> None:
    woman, man = people()["woman"], people()["man"]
    np.testing.assert_array_equal(woman.faces, man.faces)
    assert woman.morph_names == man.morph_names == MORPHS
    assert len(MORPHS) >= 12


def test_body_and_morphs_are_mirror_images_of_themselves(body: Body) -> None:
    vertices = body.vertices
    order = np.lexsort((vertices * MIRROR).round(9).T)
    image = np.full(len(vertices), -1)
    image[np.lexsort(vertices.round(9).T)] = order
    np.testing.assert_allclose(vertices[image] * MIRROR, vertices, atol=1e-8)
    for name, delta in zip(body.morph_names, body.deltas):
        np.testing.assert_allclose(delta[image] * MIRROR, delta, atol=1e-8, err_msg=name)


def test_surface_does_not_cross_itself_at_rest(body: Body) -> None:
    assert crossings(body.vertices, body.faces) == 0


@pytest.mark.parametrize("end", ["low", "high"])
def test_surface_does_not_cross_itself_at_the_ends_of_any_morph(body: Body, end: str) -> None:
    for index, weight in enumerate(getattr(body.range, end)):
        weights = np.zeros(len(MORPHS))
        weights[index] = weight
        assert crossings(body.at(weights), body.faces) == 0, MORPHS[index]


@pytest.mark.parametrize("seed", range(6))
def test_mixtures_over_the_range_hardly_cross(body: Body, seed: int) -> None:
    weights = np.random.default_rng(seed).uniform(body.range.low, body.range.high)
    assert crossings(body.at(weights), body.faces) <= 20


def test_all_morphs_at_their_high_end_leave_arms_and_legs_apart(body: Body) -> None:
    shape = body.at(body.range.high)
    left = body.regions["thigh_l"] & (shape[:, 1] < 0.42 * body.stature)
    assert shape[left, 0].min() > 0.0
    hand, trunk = shape[body.regions["hand_l"]], shape[body.regions["hips"]]
    assert hand[:, 0].min() > trunk[:, 0].max() + 0.05


# ------------------------------------------------------------------ proportions


@pytest.mark.parametrize(("name", "aims"), [("woman", (166, 92, 75, 100)), ("man", (179, 100, 86, 100))])
def test_tape_measures_are_those_of_the_build(name: str, aims: tuple[float, float, float, float]) -> None:
    body = people()[name]
    stature, chest, waist, hip = aims
    trunk = np.zeros(len(body.vertices), dtype=bool)
    for region in ("chest", "back", "belly", "hips", "seat", "thigh_l", "thigh_r"):
        trunk |= body.regions[region]
    mask = trunk[body.faces].all(axis=1)
    centre = frames(build(name))["body"]

    def girth(height: float) -> float:
        normal = np.array([0.0, 1.0, 0.0])
        return 100.0 * hull_perimeter(
            section(body.vertices, body.faces, centre.point([0, height, 0]), normal, face_mask=mask), normal
        )

    assert 100.0 * body.stature == pytest.approx(stature, abs=1.0)
    assert max(girth(y) for y in range(115, 124)) == pytest.approx(chest, rel=0.06)
    assert min(girth(y) for y in range(100, 112)) == pytest.approx(waist, rel=0.05)
    assert max(girth(y) for y in range(79, 92)) == pytest.approx(hip, rel=0.05)


@pytest.mark.parametrize(
    ("frame", "at", "axis", "within", "low", "high"),
    [
        ("arm", (16, 0, 0), 0, 0.10, 25, 36),
        ("arm", (53, 0, 1), 0, 0.06, 14, 19),
        ("leg", (24, 0, 0), 0, 0.11, 44, 56),
        ("leg", (51, 0, 0), 0, 0.10, 32, 41),
        ("leg", (76, 0, 0), 0, 0.10, 18, 24),
        ("head", (0, 2.5, 0), 1, 0.20, 52, 60),
    ],
    ids=["upper arm", "wrist", "mid-thigh", "calf", "ankle", "head"],
)
def test_limb_girths_are_a_persons(
    body: Body, frame: str, at: tuple[float, float, float], axis: int, within: float, low: float, high: float
) -> None:
    assert low < tape(body, frame, at, axis, within, body.vertices) < high


def test_segment_lengths_follow_stature(body: Body) -> None:
    """Fractions of stature by [Drillis1966], from memory."""
    assert body.skeleton is not None
    at = dict(zip(body.skeleton.names, body.skeleton.positions))
    upper_arm = np.linalg.norm(at["forearm_l"] - at["upper_arm_l"]) / body.stature
    forearm = np.linalg.norm(at["hand_l"] - at["forearm_l"]) / body.stature
    assert upper_arm == pytest.approx(0.186, abs=0.012)
    assert forearm == pytest.approx(0.146, abs=0.012)
    assert at["shin_l"][1] / body.stature == pytest.approx(0.285, abs=0.012)
    assert at["thigh_l"][1] / body.stature == pytest.approx(0.530, abs=0.015)


def test_arms_hang_at_about_45_degrees(body: Body) -> None:
    assert body.skeleton is not None
    at = dict(zip(body.skeleton.names, body.skeleton.positions))
    arm = at["hand_l"] - at["upper_arm_l"]
    assert np.degrees(np.arctan2(-arm[1], arm[0])) == pytest.approx(45.0, abs=5.0)
    assert at["hand_l"][0] > 0.0 > at["hand_r"][0]


# ------------------------------------------------------------------ morphs


def test_belly_adds_a_strong_but_believable_girth(body: Body) -> None:
    grown = body.at(body.weights({"belly": 1.0}))
    at = (0.0, 99.0, 0.0)
    gain = tape(body, "body", at, 1, 0.30, grown) - tape(body, "body", at, 1, 0.30, body.vertices)
    assert 10.0 < gain < 20.0


@pytest.mark.parametrize("morph", MORPHS)
def test_every_morph_moves_the_body_by_centimetres_not_metres(body: Body, morph: str) -> None:
    largest = np.linalg.norm(body.deltas[MORPHS.index(morph)], axis=1).max()
    assert 0.005 < largest < 0.13


@pytest.mark.parametrize("morph", MORPHS)
def test_morphs_are_smooth(body: Body, morph: str) -> None:
    """A displacement differs from the mean over its neighbours by a small part of the largest displacement."""
    delta = body.deltas[MORPHS.index(morph)]
    links = igl.adjacency_matrix(body.faces)
    mean = (links @ delta) / np.asarray(links.sum(axis=1)).reshape(-1, 1)
    rough = np.linalg.norm(delta - mean, axis=1) / np.linalg.norm(delta, axis=1).max()
    assert np.percentile(rough, 99) < 0.05
    assert rough.max() < 0.25


def test_morphs_fold_no_triangle(body: Body) -> None:
    for index, name in enumerate(MORPHS):
        moved = body.vertices + body.deltas[index]
        turn = np.einsum("vi,vi->v", vertex_normals(body.vertices, body.faces), vertex_normals(moved, body.faces))
        assert np.percentile(turn, 0.1) > 0.3, name


def test_stature_scales_height_by_five_percent(body: Body) -> None:
    taller = body.at(body.weights({"stature": 1.0}))
    assert np.ptp(taller[:, 1]) / body.stature == pytest.approx(1.05, abs=0.006)


# ------------------------------------------------------------------ regions, skin, skeleton


def test_regions_of_the_body_cover_it_once(body: Body) -> None:
    digits = ("thumb", "index", "middle", "ring", "little", "toes")
    main = [mask for name, mask in body.regions.items() if not name.startswith(digits)]
    np.testing.assert_array_equal(np.sum(main, axis=0), 1)
    for name, mask in body.regions.items():
        assert mask.sum() > 20, name
    for side in ("l", "r"):
        assert not (body.regions[f"index_{side}"] & ~body.regions[f"hand_{side}"]).any()
        assert not (body.regions[f"toes_{side}"] & ~body.regions[f"foot_{side}"]).any()


# ------------------------------------------------------------------ wrong on purpose


# ------------------------------------------------------------------ determinism


def small_people() -> str:
    """A hash over a coarse template and one build carried from it."""
    template = build()
    field, target = field_of(template), field_of(build("woman"))
    vertices, faces, half = template_mesh(field, parts(template), density_of(template), resolution=0.3, grid=0.009)
    base = reshaped(field, target, vertices, half, DiffusionStep(vertices, faces))
    return hashlib.sha256(base.tobytes() + faces.tobytes()).hexdigest()


def test_two_runs_give_the_same_bytes() -> None:
    assert small_people() == small_people()


def test_a_loaded_body_cannot_be_changed() -> None:
    first = make_demo_bodies()["woman"]
    with pytest.raises(ValueError, match="read-only"):
        first.vertices[:] = 0.0
