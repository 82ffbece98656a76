"""Skin that has come through the cloth counts only where it is seen past everything else, the body included."""

import numpy as np
import pytest

from dressform.faults.skin.hidden_skin import cover_directions, still_hidden
from dressform.faults.skin.show_through import ShowThroughLook, prepare_show_through
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.tree import Tree
from fault_meshes import icosphere, make_body, make_fit, quarter, sheet
from phantoms import capsule

RADIUS, GAP, RISE = 0.2, 0.004, 0.014
CAP = 2 * np.pi * RADIUS * (RISE - GAP)


def slab(low: float, high: float) -> tuple[np.ndarray, np.ndarray]:
    """A closed box of 0.6 × 0.6 m between two heights, normals outward."""
    corners = np.array([[x, y, z] for x in (-0.3, 0.3) for y in (low, high) for z in (-0.3, 0.3)])
    quads = np.array([[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]])
    faces = np.concatenate([quads[:, :3], quads[:, [0, 2, 3]]])
    for _ in range(3):
        corners, faces = quarter(corners, faces)
    return corners, faces


def look(*, ends_at: float) -> ShowThroughLook:
    """A sphere that rises through a sheet while another part of the body comes from 1 m aside to x = `ends_at`.

    That part passes 2 cm above the risen sphere and never touches the cloth.
    """
    ball, ball_faces = icosphere(RADIUS, level=4)
    lid, lid_faces = slab(RADIUS + RISE + 0.02, RADIUS + 0.10)
    start = np.array([1.0, 0.0, 0.0])
    rise = np.zeros((len(ball) + len(lid), 3))
    rise[: len(ball), 1] = RISE
    rise[len(ball) :, 0] = ends_at - 1.0
    both = np.concatenate([ball, lid + start])
    body = make_body(both, np.concatenate([ball_faces, lid_faces + len(ball)]), rise=rise)
    fit = make_fit(*sheet(1.2, count=40, height=RADIUS + GAP), body)
    cloth, skin = Tree(fit.garment.vertices, fit.garment.faces), Tree(body.vertices, body.faces)
    base = prepare_show_through(cloth, skin)
    return ShowThroughLook(base, cloth.refit(fit.at(np.ones(1))), skin.refit(body.at(np.ones(1))))


def test_skin_that_comes_through_the_cloth_under_another_part_of_the_body_is_not_seen() -> None:
    found = look(ends_at=0.0)
    assert found.result.exposed_area < 0.02 * CAP
    assert found.result.hidden_area > 0.1
    assert found.result.depth_max == pytest.approx(RISE - GAP, rel=0.05)


def test_skin_that_comes_through_the_cloth_beside_another_part_of_the_body_is_seen() -> None:
    assert look(ends_at=0.8).result.exposed_area == pytest.approx(CAP, rel=0.05)


def test_points_are_hidden_or_not_by_either_search() -> None:
    """Hidden skin is found once with all its covers, and asked again for pieces by a search that stops early."""
    rng = np.random.default_rng(0)
    ball, ball_faces = icosphere(RADIUS, level=3)
    lid, lid_faces = slab(RADIUS + 0.03, RADIUS + 0.06)
    body = Tree(
        np.concatenate([ball, lid + np.array([0.25, 0, 0])]), np.concatenate([ball_faces, lid_faces + len(ball)])
    )
    sheets = [sheet(0.3, count=12, height=height) for height in (RADIUS + GAP, RADIUS - 0.02)]
    (upper, faces), (lower, _) = sheets
    cloth = Tree(np.concatenate([upper, lower + np.array([0.1, 0, 0])]), np.concatenate([faces, faces + len(upper)]))
    points = ball[ball[:, 1] > 0.6 * RADIUS]
    frames = np.linalg.qr(rng.normal(size=(len(points), 3, 3)))[0]
    frames[:, 2] = points / RADIUS
    frames[:, 0] -= np.einsum("ni,ni->n", frames[:, 0], frames[:, 2])[:, None] * frames[:, 2]
    frames[:, 0] /= np.linalg.norm(frames[:, 0], axis=1)[:, None]
    frames[:, 1] = np.cross(frames[:, 2], frames[:, 0])
    reaches = rng.choice([0.005, 0.1], len(points))
    _, wanted = cover_directions(cloth, body, points, frames, reaches)
    assert 0.2 < wanted.mean() < 0.8
    np.testing.assert_array_equal(still_hidden(cloth, body, points, frames, reaches), wanted)


def test_the_top_of_a_limb_is_hidden_though_below_it_lies_the_rest_of_its_sleeve() -> None:
    """Under a shoulder a line into the body leaves it at the armpit and meets the sleeve: not cloth in the body."""
    limb, faces = capsule()
    top = limb[:, 1].max()
    cloth_points, cloth_faces = limb * [1.1, 1.0, 1.1] + [0.0, 0.01, 0.0], faces
    rise = np.zeros_like(limb)
    rise[:, 1] = np.clip((limb[:, 1] - top + 0.15) / 0.1, 0.0, 1.0) * 0.03
    body = make_body(limb, faces, rise=rise)
    fit = make_fit(cloth_points, cloth_faces, body)
    cloth, skin = Tree(cloth_points, cloth_faces), Tree(limb, faces)
    base = prepare_show_through(cloth, skin)
    highest = np.flatnonzero(limb[:, 1] > top - 0.02)
    assert (base.hidden.row[highest] >= 0).all()
    raised = body.at(np.ones(1))
    look = ShowThroughLook(base, cloth.refit(fit.base), skin.refit(raised))
    assert look.exposed.areas[highest].sum() == pytest.approx(vertex_areas(raised, faces)[highest].sum(), rel=0.02)
