"""Show-through against closed forms: spheres, sheets and spikes."""

import numpy as np
import pytest

from dressform.faults.skin.show_through import ShowThroughLook, prepare_show_through
from dressform.mesh.inside import winding_numbers
from dressform.mesh.intersect import crossing_pairs
from dressform.mesh.tree import Tree
from fault_meshes import icosphere, make_body, make_fit, pipe, quarter, sheet, turned

RADIUS, GAP, RISE = 0.2, 0.004, 0.014


def look(body, fit, weights):
    cloth, skin = Tree(fit.garment.vertices, fit.garment.faces), Tree(body.vertices, body.faces)
    base = prepare_show_through(cloth, skin)
    return ShowThroughLook(base, cloth.refit(fit.at(weights)), skin.refit(body.at(weights)))


def rising_sphere(*, level=5, move=None):
    """A sphere that rises by `RISE` into a still sheet `GAP` above it."""
    vertices, faces = icosphere(RADIUS, level=level)
    place = move or (lambda points: points)
    return make_body(place(vertices), faces, rise=place(vertices + np.array([0.0, RISE, 0.0])) - place(vertices))


def still_sheet(body, *, count=40, move=None):
    vertices, faces = sheet(1.2, count=count, height=RADIUS + GAP)
    return make_fit(move(vertices) if move else vertices, faces, body)


@pytest.fixture(scope="module")
def cap():
    body = rising_sphere()
    return look(body, still_sheet(body), np.ones(1))


def test_inside_area_of_a_sheet_in_a_sphere_is_that_of_the_circle(cap):
    height = RADIUS + GAP - RISE
    assert cap.result.inside_share * 1.2**2 == pytest.approx(np.pi * (RADIUS**2 - height**2), rel=0.01)


def test_depth_of_a_sheet_in_a_sphere_is_that_of_its_middle(cap):
    assert cap.result.depth_max == pytest.approx(RISE - GAP, rel=0.02)


def test_depth_percentile_is_that_of_the_parabola(cap):
    # Depth R − √(h² + ρ²) over a disc: 95 % of the area is shallower than where ρ² is a twentieth of the disc's.
    height = RADIUS + GAP - RISE
    expected = RADIUS - np.sqrt(height**2 + 0.05 * (RADIUS**2 - height**2))
    assert cap.result.depth_p95 == pytest.approx(expected, rel=0.02)


def test_exposed_skin_of_a_sphere_through_a_sheet_is_the_cap(cap):
    assert cap.result.exposed_area == pytest.approx(2 * np.pi * RADIUS * (RISE - GAP), rel=0.04)


def test_own_share_and_overlap_of_a_sound_pair_are_zero(cap):
    assert cap.result.own_inside_share == 0.0
    assert cap.result.overlap_area == 0.0


@pytest.mark.parametrize("count", [3, 12, 80])
def test_coarse_and_fine_sheets_show_the_same(cap, count):
    body = rising_sphere()
    found = look(body, still_sheet(body, count=count), np.ones(1)).result
    assert found.inside_share == pytest.approx(cap.result.inside_share, rel=0.03)
    assert found.exposed_area == pytest.approx(cap.result.exposed_area, rel=0.04)
    assert found.depth_max == pytest.approx(cap.result.depth_max, rel=0.04)


def test_turning_and_shifting_everything_changes_nothing(cap):
    def move(points):
        return turned(points, shift=(0.3, 1.0, -0.2))

    body = rising_sphere(move=move)
    found = look(body, still_sheet(body, move=move), np.ones(1)).result
    assert found.inside_share == pytest.approx(cap.result.inside_share, rel=1e-6)
    assert found.depth_max == pytest.approx(cap.result.depth_max, rel=1e-6)
    assert found.exposed_area == pytest.approx(cap.result.exposed_area, rel=0.02)


def test_renumbering_vertices_and_faces_changes_nothing(cap):
    rng = np.random.default_rng(5)
    body = rising_sphere()
    order = rng.permutation(len(body.vertices))
    back = np.argsort(order)
    faces = np.roll(back[body.faces], 1, axis=1)[rng.permutation(len(body.faces))]
    shuffled = make_body(body.vertices[order], faces, rise=body.deltas[0][order])
    found = look(shuffled, still_sheet(shuffled), np.ones(1)).result
    assert found.inside_share == pytest.approx(cap.result.inside_share, rel=1e-9)
    assert found.exposed_area == pytest.approx(cap.result.exposed_area, rel=0.02)


def test_cloth_that_does_not_touch_shows_exactly_nothing():
    vertices, faces = icosphere(RADIUS, level=4)
    body = make_body(vertices, faces, grow=0.5 * vertices)
    cloth, cloth_faces = icosphere(RADIUS + 0.003, level=3)
    fit = make_fit(cloth, cloth_faces, body, grow=0.5 * cloth)
    for weight in (0.3, 1.0):
        found = look(body, fit, np.array([weight]))
        exact = crossing_pairs(Tree(fit.at(np.array([weight])), cloth_faces), Tree(body.at(np.array([weight])), faces))
        assert len(exact) == 0
        assert found.result.inside_share == found.result.exposed_area == found.result.depth_max == 0.0


def test_a_hem_that_slides_bares_skin_without_a_fault():
    vertices, faces = icosphere(RADIUS, level=5)
    body = make_body(vertices, faces, ride=np.zeros(3))
    tube, tube_faces = pipe(RADIUS + 0.01, 0.2, edge=0.02)
    fit = make_fit(tube - np.array([0.0, 0.1, 0.0]), tube_faces, body, ride=np.array([0.0, 0.06, 0.0]))
    found = look(body, fit, np.ones(1))
    assert found.result.hidden_area > 0.1
    assert found.result.exposed_area == 0.0


def test_a_hem_that_slides_beside_a_real_fault_adds_nothing_to_it():
    """The sphere comes through a sheet whose rim slides inward by 10 cm: only the cap counts."""
    body = rising_sphere()
    fit = still_sheet(body)
    sliding = make_fit(fit.base, fit.garment.faces, body, rise=-0.17 * fit.base * np.array([1.0, 0.0, 1.0]))
    found = look(body, sliding, np.ones(1)).result
    assert found.exposed_area == pytest.approx(2 * np.pi * RADIUS * (RISE - GAP), rel=0.05)


def spiked_sphere(height, *, gap):
    """A sphere whose top vertex rises by `height`, under one large square of two triangles."""
    vertices, faces = icosphere(RADIUS, level=4)
    top = int(np.argmax(vertices[:, 1]))
    lift = np.zeros_like(vertices)
    lift[top, 1] = height
    body = make_body(vertices, faces, spike=lift)
    cloth, cloth_faces = sheet(1.0, count=1, height=vertices[top, 1] + gap)
    return body, make_fit(cloth, cloth_faces, body), top


@pytest.mark.parametrize(("height", "gap", "least"), [(0.008, 0.002, 0.95), (0.02, 0.005, 0.95)])
def test_one_spike_through_a_coarse_triangle_is_counted(height, gap, least):
    """Skin that is seen counts whole, also on a steep tip whose flanks partly face the cloth."""
    body, fit, top = spiked_sphere(height, gap=gap)
    found = look(body, fit, np.ones(1))
    # Above the sheet lies the tip of the pyramid over the ring of the top vertex.
    ring = body.at(np.ones(1))[body.faces[(body.faces == top).any(axis=1)]]
    flanks = 0.5 * np.linalg.norm(np.cross(ring[:, 1] - ring[:, 0], ring[:, 2] - ring[:, 0]), axis=1).sum()
    drop = ring[..., 1].max() - ring[..., 1].min()
    tip = ((height - gap) / drop) ** 2 * flanks
    assert least * tip < found.result.exposed_area < 1.07 * tip
    assert found.exposed.areas[top] == found.exposed.areas.max()
    assert 0 < found.result.inside_share < 1e-3


def test_a_spike_that_stops_under_the_cloth_is_not_counted():
    body, fit, _ = spiked_sphere(0.0049, gap=0.005)
    found = look(body, fit, np.ones(1)).result
    assert found.exposed_area == found.inside_share == 0.0


def test_what_lies_inside_at_the_base_is_the_garments_own():
    """The sheet starts inside; rising a little adds the ring between the two circles and no more."""
    vertices, faces = icosphere(RADIUS, level=5)
    body = make_body(vertices, faces, rise=np.array([0.0, 0.005, 0.0]))
    height = RADIUS - 0.01
    cloth, cloth_faces = sheet(1.2, count=60, height=height)
    fit = make_fit(cloth, cloth_faces, body)
    at_base, risen = (look(body, fit, np.array([weight])).result for weight in (0.0, 1.0))
    own = np.pi * (RADIUS**2 - height**2)
    assert at_base.own_inside_share * 1.2**2 == pytest.approx(own, rel=0.01)
    assert at_base.inside_share == at_base.exposed_area == at_base.depth_max == 0.0
    ring = np.pi * (RADIUS**2 - (height - 0.005) ** 2) - own
    assert risen.inside_share * 1.2**2 == pytest.approx(ring, rel=0.02)
    assert risen.depth_max < 0.005


def test_inside_share_agrees_with_the_winding_number_at_random_samples(cap):
    body = rising_sphere()
    fit = still_sheet(body)
    rng = np.random.default_rng(11)
    faces = rng.integers(0, len(fit.garment.faces), 40000)
    shares = rng.dirichlet(np.ones(3), len(faces))
    points = np.einsum("nc,ncx->nx", shares, fit.base[fit.garment.faces[faces]])
    inside = winding_numbers(body.at(np.ones(1)), body.faces, points) > 0.5
    assert cap.result.inside_share == pytest.approx(inside.mean(), abs=4 * np.sqrt(inside.mean() / len(faces)))


def test_a_whole_shell_swallowed_by_its_body_is_all_inside():
    vertices, faces = icosphere(RADIUS, level=4)
    body = make_body(vertices, faces, grow=0.1 * vertices)
    cloth, cloth_faces = icosphere(RADIUS + 0.005, level=4)
    found = look(body, make_fit(cloth, cloth_faces, body), np.ones(1))
    assert len(found.sides.pairs) == 0
    assert found.result.inside_share == pytest.approx(1.0)
    assert found.result.exposed_share == pytest.approx(1.0)
    assert found.result.depth_max == pytest.approx(0.1 * RADIUS - 0.005, rel=0.02)


def overlapping_spheres(distance):
    """Two spheres whose morph brings them together, and a shell around the left one."""
    left, faces = icosphere(RADIUS, level=4)
    count = len(left)
    aside = np.array([0.3, 0.0, 0.0])
    both = np.concatenate([left + aside, left - aside])
    move = np.concatenate([np.tile([-(0.3 - distance / 2), 0.0, 0.0], (count, 1))] * 2)
    move[count:] *= -1
    body = make_body(both, np.concatenate([faces, faces + count]), meet=move)
    shell, shell_faces = icosphere(RADIUS + 0.01, level=4, middle=(0.3, 0.0, 0.0))
    return body, make_fit(shell, shell_faces, body, meet=move[0])


def test_overlap_of_two_spheres_is_two_caps():
    body, fit = overlapping_spheres(0.34)
    found = look(body, fit, np.ones(1)).result
    # The shell hides only the left sphere, so only its cap is told: 2πR(R − d/2).
    assert found.overlap_area == pytest.approx(2 * np.pi * RADIUS * (RADIUS - 0.17), rel=0.06)


def test_cloth_without_room_between_two_parts_is_not_blamed():
    body, fit = overlapping_spheres(0.34)
    found = look(body, fit, np.ones(1)).result
    assert found.inside_share == found.exposed_area == found.depth_max == 0.0
    body, fit = overlapping_spheres(0.405)  # parts are 5 mm apart, the cloth was made with 10 mm
    near = look(body, fit, np.ones(1)).result
    assert near.overlap_area == near.inside_share == near.exposed_area == 0.0


def test_cloth_with_room_is_blamed_where_the_body_overlaps_elsewhere():
    body, fit = overlapping_spheres(0.34)
    tight = make_fit(
        fit.base, fit.garment.faces, body, meet=fit.deltas[0] - 0.1 * (fit.base - np.array([0.3, 0.0, 0.0]))
    )
    found = look(body, tight, np.ones(1)).result
    assert 0.75 < found.inside_share < 1.0
    assert found.depth_max == pytest.approx(0.011, rel=0.05)


def test_refining_the_body_changes_little(cap):
    vertices, faces = quarter(*icosphere(RADIUS, level=4))
    body = make_body(vertices, faces, rise=np.array([0.0, RISE, 0.0]))
    found = look(body, still_sheet(body), np.ones(1)).result
    coarse_vertices, coarse_faces = icosphere(RADIUS, level=4)
    coarse = make_body(coarse_vertices, coarse_faces, rise=np.array([0.0, RISE, 0.0]))
    before = look(coarse, still_sheet(coarse), np.ones(1)).result
    assert found.inside_share == pytest.approx(before.inside_share, rel=1e-6)
    assert found.exposed_area == pytest.approx(before.exposed_area, rel=0.03)


def test_a_finger_that_swells_to_three_times_its_width_shows_all_round():
    # The cloth comes to lie deeper behind the skin than half the finger was thick.
    ball, faces = icosphere(0.008, level=5)
    finger = ball * np.array([1.0, 5.0, 1.0])
    body = make_body(finger, faces, swell=2.0 * finger * np.array([1.0, 0.0, 1.0]))
    ring, walls = pipe(0.010, 0.04, edge=0.002)
    found = look(body, make_fit(ring - np.array([0.0, 0.02, 0.0]), walls, body), np.ones(1)).result
    heights = np.linspace(-0.02, 0.02, 1001)
    width = 0.024 * np.sqrt(1.0 - (heights / 0.04) ** 2)
    slope = np.gradient(width, heights)
    side = np.trapezoid(2.0 * np.pi * width * np.sqrt(1.0 + slope**2), heights)
    assert found.exposed_area == pytest.approx(side, rel=0.1)
