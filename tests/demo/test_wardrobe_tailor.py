"""The tools that cut the garments, on shapes whose answer is known."""

import numpy as np
import pytest

from dressform.demo.tailor.cloth import Cloth
from dressform.demo.tailor.coarse import coarsened
from dressform.demo.tailor.hull import Tube
from dressform.demo.tailor.lines import beyond_near, fade, smooth_least, smooth_most
from dressform.demo.tailor.nets import Samples, zero_surface
from dressform.demo.tailor.panels import laid_out
from dressform.demo.tailor.settle import SupportingBody, cleared, evened, settled
from dressform.errors import ArgumentError, MeshError
from dressform.mesh.geometry import face_areas

RADIUS, SPACING = 0.1, 0.012
FRONT = np.array([0.0, 0.0, 1.0])


def ball(*, radius: float = RADIUS, spacing: float = SPACING) -> Cloth:
    reach = np.full(3, radius + 4 * spacing)
    samples = Samples.of(lambda p: np.linalg.norm(p, axis=1) - radius, -reach, reach, spacing=spacing)
    vertices, quads = zero_surface(samples)
    return Cloth.of_quads(samples.onto(vertices), quads)


def sheet(*, count: int = 21, length: float = 0.2) -> Cloth:
    """A square of even quads in the plane z = 0, facing +z."""
    side = np.linspace(0.0, length, count)
    vertices = np.array([(x, y, 0.0) for y in side for x in side])
    index = np.arange(count * count).reshape(count, count)
    quads = np.stack([index[:-1, :-1], index[:-1, 1:], index[1:, 1:], index[1:, :-1]], axis=-1).reshape(-1, 4)
    return Cloth.of_quads(vertices, quads)


def pipe(*, radius: float = 0.05, height: float = 0.3, around: int = 60, rows: int = 25) -> Cloth:
    angle = 2 * np.pi * np.arange(around) / around
    levels = np.linspace(0.0, height, rows)
    rings = np.array([[(radius * np.sin(a), y, radius * np.cos(a)) for a in angle] for y in levels]).reshape(-1, 3)
    index = np.arange(rows * around).reshape(rows, around)
    low, high = index[:-1], index[1:]
    quads = np.stack([low, np.roll(low, -1, axis=1), np.roll(high, -1, axis=1), high], axis=-1).reshape(-1, 4)
    return Cloth.of_quads(rings, quads)


def volume(cloth: Cloth) -> float:
    corner = cloth.vertices[cloth.faces]
    return float(np.einsum("fi,fi->", corner[:, 0], np.cross(corner[:, 1], corner[:, 2])) / 6)


def euler(cloth: Cloth) -> int:
    return len(cloth.vertices) - len(cloth.edges) + len(cloth.faces)


def test_zero_surface_of_a_ball_lies_on_it_and_faces_outward() -> None:
    cloth = ball()
    assert euler(cloth) == 2
    assert cloth.loops() == []
    np.testing.assert_allclose(np.linalg.norm(cloth.vertices, axis=1), RADIUS, atol=0.05 * SPACING)
    assert volume(cloth) == pytest.approx(4 / 3 * np.pi * RADIUS**3, rel=0.02)


def test_zero_surface_converges_with_the_square_of_the_spacing() -> None:
    exact = 4 / 3 * np.pi * RADIUS**3
    coarse, fine = (abs(volume(ball(spacing=spacing)) - exact) for spacing in (0.02, 0.01))
    assert np.log2(coarse / fine) == pytest.approx(2, abs=0.3)


def test_two_balls_that_touch_at_a_corner_give_one_manifold() -> None:
    def field(points: np.ndarray) -> np.ndarray:
        gap = np.array([0.0071, 0.0071, 0.0])
        return np.minimum(*(np.linalg.norm(points - side * gap, axis=1) - 0.0105 for side in (1, -1)))

    for shift in np.linspace(0.0, 0.01, 7):
        low = np.full(3, -0.05) + np.array([shift, 0.3 * shift, 0.7 * shift])
        vertices, quads = zero_surface(Samples.of(field, low, low + 0.1, spacing=0.01))
        faces = Cloth.of_quads(vertices, quads).faces
        half = np.sort(faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2), axis=1)
        assert np.unique(half, axis=0, return_counts=True)[1].max() == 2


def test_an_empty_box_is_refused() -> None:
    with pytest.raises(ArgumentError, match=r"Samples.of: `high` must be above low"):
        Samples.of(lambda p: p[:, 0], np.zeros(3), np.array([1.0, 0.0, 1.0]), spacing=0.1)


def test_room_round_a_tube_is_two_pi_times_itself_of_ease() -> None:
    angle = np.linspace(0, 2 * np.pi, 720, endpoint=False)
    ellipse = np.stack([0.16 * np.sin(angle), 0 * angle, 0.11 * np.cos(angle)], axis=1)
    points = np.concatenate([ellipse + np.array([0.0, y, 0.0]) for y in np.arange(0.0, 0.3, 0.01)])
    tube = Tube.round_points(points, np.array([0.0, 0.29, 0.0]), np.zeros(3), front=FRONT)
    girths = []
    for room in (0.0, 0.02):
        ring = tube.with_room(room).ring(0.1, 2000)
        girths.append(np.linalg.norm(ring - np.roll(ring, 1, axis=0), axis=1).sum())
    assert girths[0] == pytest.approx(0.855517944, rel=1e-3)  # perimeter of the ellipse 16, 11 in centimetres
    assert girths[1] - girths[0] == pytest.approx(2 * np.pi * 0.02, rel=2e-3)


def test_a_hanging_tube_never_narrows() -> None:
    angle = np.linspace(0, 2 * np.pi, 90, endpoint=False)
    points = np.concatenate(
        [
            np.stack([r * np.sin(angle), np.full(90, y), r * np.cos(angle)], axis=1)
            for y in np.arange(0.0, 0.4, 0.01)
            for r in [0.1 + 0.05 * np.sin(12 * y)]
        ]
    )
    tube = Tube.round_points(points, np.array([0.0, 0.39, 0.0]), np.zeros(3), front=FRONT)
    assert (np.diff(tube.support, axis=0) < 0).any()
    assert (np.diff(tube.hanging().support, axis=0) >= 0).all()


def test_an_axis_beside_which_nothing_lies_is_refused() -> None:
    with pytest.raises(MeshError, match="must have points all along the axis"):
        Tube.round_points(np.full((4, 3), 9.0), np.zeros(3), np.array([0.0, 1.0, 0.0]), front=FRONT)


def test_smooth_union_only_grows_and_by_a_quarter_of_the_blend_at_most() -> None:
    one, two = np.random.default_rng(5).normal(size=(2, 1000))
    union = smooth_least(one, two, blend=0.4)
    loss = np.minimum(one, two) - union
    assert loss.min() >= 0
    assert loss.max() <= 0.1
    np.testing.assert_allclose(smooth_most(one, two, blend=0.4), -smooth_least(-one, -two, blend=0.4))
    assert fade(np.array([0.0, 0.5, 1.0]), 0.0, 1.0).tolist() == [0.0, 0.5, 1.0]


def test_a_trimmed_ball_is_a_bowl_with_a_level_rim() -> None:
    cloth = ball()
    bowl = cloth.trimmed(cloth.vertices[:, 1] - 0.0131).largest()
    (rim,) = bowl.loops()
    assert euler(bowl) == 1
    np.testing.assert_allclose(bowl.vertices[rim, 1], 0.0131, atol=1e-4)
    assert face_areas(bowl.vertices, bowl.faces).sum() == pytest.approx(
        2 * np.pi * RADIUS * (RADIUS + 0.0131), rel=0.01
    )


def test_a_cut_keeps_the_cloth_and_leaves_no_triangle_across_the_seam() -> None:
    cloth = sheet()
    values = cloth.vertices[:, 0] - 0.3 * cloth.vertices[:, 1] - 0.0823
    cut = cloth.cut(values, part=3)
    line = cut.vertices[:, 0] - 0.3 * cut.vertices[:, 1] - 0.0823
    assert face_areas(cut.vertices, cut.faces).sum() == pytest.approx(0.04, rel=1e-9)
    sides = np.sign(np.where(np.abs(line) < 1e-9, 0.0, line))[cut.faces]
    assert ((sides.max(axis=1) - sides.min(axis=1)) < 2).all()
    assert set(cut.parts[sides.max(axis=1) > 0]) == {3}
    assert set(cut.parts[sides.min(axis=1) < 0]) == {0}


def test_a_limb_is_cut_without_cutting_its_neighbour() -> None:
    points = np.array([[0.0, 0.0, 0.02], [0.05, 0.0, 0.02], [0.4, 0.0, 0.02], [0.0, 0.0, -0.02]])
    past = beyond_near(points, np.zeros(3), FRONT, reach=0.1)
    assert (past > 0).tolist() == [True, True, False, False]


def test_rings_sewn_on_keep_the_cloth_one_sheet() -> None:
    cloth = pipe()
    loop = cloth.loop_near(np.array([0.0, 0.3, 0.0]))
    sewn = cloth.with_rings(loop, [cloth.vertices[loop] + (0.0, 0.01 * row, 0.0) for row in (1, 2, 3)], part=1)
    assert euler(sewn) == 0
    assert len(sewn.loops()) == 2
    half = sewn.faces[:, [0, 1, 1, 2, 2, 0]].reshape(-1, 2)
    assert len(np.unique(half, axis=0)) == len(half)  # no side twice in one direction: all face the same way
    assert face_areas(sewn.vertices, sewn.faces)[sewn.parts == 1].sum() == pytest.approx(
        0.03 * 60 * 2 * 0.05 * np.sin(np.pi / 60), rel=1e-9
    )


def test_openings_that_touch_are_refused() -> None:
    bow = Cloth.of_faces(np.eye(5, 3), np.array([[0, 1, 2], [2, 3, 4]]))
    with pytest.raises(MeshError, match="openings must not touch"):
        bow.loops()


def test_cloth_that_settles_on_a_ball_lies_at_its_clearance() -> None:
    inner = ball(radius=0.08)
    figure = SupportingBody.of(inner.vertices, inner.faces)
    cloth = settled(ball(radius=0.085), figure, clearance=0.01, rounds=40)
    distance = figure.distance(cloth.vertices)
    assert distance.min() > 0.01 - 1e-6
    assert np.median(distance) == pytest.approx(0.01, abs=2e-4)


def test_smoothing_that_keeps_the_volume_shrinks_a_ball_far_less() -> None:
    kept, drawn = (
        abs(volume(settled(ball(), None, rounds=20, keep_volume=keep)) / volume(ball()) - 1) for keep in (True, False)
    )
    assert kept < 0.02
    assert drawn > 5 * kept


def test_evened_triangles_stay_in_their_plane_and_their_seams_on_their_line() -> None:
    cloth = sheet().cut(sheet().vertices[:, 0] - 0.0731)
    even = evened(cloth, None, rounds=10)
    np.testing.assert_allclose(even.vertices[:, 2], 0.0, atol=1e-12)
    seam = np.setdiff1d(np.unique(cloth.seams), np.unique(cloth.boundary))
    np.testing.assert_allclose(even.vertices[seam, 0], 0.0731, atol=1e-9)
    assert face_areas(even.vertices, even.faces).sum() == pytest.approx(0.04, rel=1e-9)


def test_points_inside_are_drawn_and_held_to_the_clearance_asked() -> None:
    shell = ball()
    figure = SupportingBody.of(shell.vertices, shell.faces)
    points = np.array([[0.095, 0.0, 0.0], [0.0, 0.12, 0.0], [0.0, 0.0, 0.3]])
    np.testing.assert_allclose(figure.distance(figure.held_off(points, 0.01))[0], 0.01, atol=1e-5)
    np.testing.assert_array_equal(figure.held_off(points, 0.01)[1:], points[1:])
    drawn = figure.drawn_to(points, 0.005, reach=0.05)
    np.testing.assert_allclose(figure.distance(drawn)[:2], 0.005, atol=1e-5)
    np.testing.assert_array_equal(drawn[2], points[2])


def test_coarsened_cloth_has_long_edges_inside_and_keeps_its_seams() -> None:
    cloth = sheet(count=41)
    inside = np.linalg.norm(cloth.vertices[:, :2] - 0.1, axis=1) < 0.07
    coarse = coarsened(cloth, inside, edge=0.02)
    lengths = np.linalg.norm(coarse.vertices[coarse.edges[:, 0]] - coarse.vertices[coarse.edges[:, 1]], axis=1)
    middle = np.linalg.norm(coarse.vertices[coarse.edges].mean(axis=1)[:, :2] - 0.1, axis=1) < 0.04
    assert np.median(lengths[middle]) > 3 * 0.005
    assert euler(coarse) == 1
    assert face_areas(coarse.vertices, coarse.faces).sum() == pytest.approx(0.04, rel=1e-9)


def test_long_triangles_are_cleared_between_their_corners() -> None:
    figure = SupportingBody.of(ball().vertices, ball().faces)
    angle = 2 * np.pi * np.arange(12) / 12
    ring = np.stack([0.101 * np.sin(angle), 0 * angle, 0.101 * np.cos(angle)], axis=1)
    half = np.array([0.0, 0.01, 0.0])
    index = np.arange(24).reshape(2, 12)
    quads = np.stack([index[0], np.roll(index[0], -1), np.roll(index[1], -1), index[1]], axis=-1)
    band = Cloth.of_quads(np.concatenate([ring - half, ring + half]), quads)
    assert figure.distance(band.vertices[band.faces].mean(axis=1)).min() < 0
    clear = cleared(band, figure, margin=0.002, min_edge=0.02)
    assert figure.distance(clear.vertices[clear.faces].mean(axis=1)).min() > 0.0019


def test_a_pipe_cut_open_is_laid_out_without_stretch() -> None:
    cloth = pipe()
    cut = cloth.cut(cloth.vertices[:, 2] - 0.001)
    uv, width = laid_out(cut)
    flat = width * uv
    for side in range(3):
        on_cloth = np.linalg.norm(cut.vertices[cut.faces[:, side]] - cut.vertices[cut.faces[:, side - 1]], axis=1)
        on_sheet = np.linalg.norm(flat[:, side] - flat[:, side - 1], axis=1)
        np.testing.assert_allclose(on_sheet, on_cloth, rtol=2e-3)
    # Up on the cloth is up on the sheet, whose v runs downward.
    rise = cut.vertices[cut.faces[:, 1], 1] - cut.vertices[cut.faces[:, 0], 1]
    np.testing.assert_allclose(flat[:, 0, 1] - flat[:, 1, 1], rise, atol=1e-4)


def test_cloth_that_is_no_disk_cannot_be_laid_out() -> None:
    with pytest.raises(MeshError, match="must be a disk, got 2 openings"):
        laid_out(pipe())
