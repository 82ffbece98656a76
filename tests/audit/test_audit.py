"""An audit finds the one fault that was put into a morph, where it was put, and none in clean morphs."""

from dataclasses import replace

import numpy as np
import pytest

from audit_phantoms import (
    HEIGHT,
    ISLAND,
    LAG,
    LEFT,
    PATCH,
    RIGHT,
    STEP,
    STRAY,
    body_of,
    body_with_button,
    clean_body,
    clean_deltas,
    faulty_body,
    joined,
    nearest,
    skin,
    two_legs,
)
from dressform.audit.audit import audit_body
from dressform.audit.results import BodyAudit, Finding, MorphAudit
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.errors import ArgumentError
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.topology import components
from meshes import sphere
from phantoms import RADIUS, capsule


@pytest.fixture(scope="module")
def clean() -> BodyAudit:
    return audit_body(clean_body())


@pytest.fixture(scope="module")
def faulty() -> BodyAudit:
    return audit_body(faulty_body(), pairs=0)


def morph(audit: BodyAudit, name: str) -> MorphAudit:
    return next(one for one in audit.morphs if one.name == name)


def only(audit: BodyAudit, name: str) -> Finding:
    (found,) = morph(audit, name).findings
    return found


def test_a_clean_body_has_no_findings(clean: BodyAudit) -> None:
    assert [one.findings for one in clean.morphs] == [()] * 7
    assert clean.pairs == ()
    assert clean.severity == "clean"
    assert (clean.base_crossing, clean.base_folded) == (0, 0)
    assert clean.mirror_gap < 1e-9


@pytest.mark.parametrize("fault", ["rigid_patch", "stray", "islands", "lopsided", "rough"])
def test_each_inserted_fault_is_found_and_no_other(faulty: BodyAudit, fault: str) -> None:
    assert [found.fault for found in morph(faulty, fault).findings] == [fault]


def test_what_a_morph_moves_is_its_area_and_its_farthest_move(clean: BodyAudit) -> None:
    body = clean_body()
    tall = morph(clean, "tall")
    high = body.vertices[:, 1] > 0.05 * 1.7
    assert tall.move_max == pytest.approx(0.17)
    assert tall.moved_area == pytest.approx(vertex_areas(body.vertices, body.faces)[high].sum())
    assert tall.move_p95 == pytest.approx(0.95 * 0.17, abs=0.006)
    assert tall.roughness < 1e-12
    assert morph(clean, "nothing").moved_area == 0.0


def test_a_plate_has_its_step_area_and_place(faulty: BodyAudit) -> None:
    found = only(faulty, "rigid_patch")
    assert found.value == pytest.approx(STEP)
    assert found.figures["area"] == pytest.approx(4 * RADIUS * np.arcsin(PATCH[0] / RADIUS) * PATCH[1], rel=0.05)
    assert found.spots[0].place.height == pytest.approx(HEIGHT, abs=0.03)
    assert found.spots[0].place.side == "front middle"
    assert found.severity == "grave"
    assert morph(faulty, "rigid_patch").patch_share > 0.95


def test_a_stray_vertex_is_named_with_its_departure(faulty: BodyAudit) -> None:
    body = faulty_body()
    found = only(faulty, "stray")
    assert found.spots[0].place.vertex == nearest(body.vertices, (0.0, 0.6, 0.16))
    assert len(found.spots) == len(found.spots[0].vertices) == 1
    assert found.value == pytest.approx(STRAY, rel=1e-3)


def test_an_island_is_as_high_as_it_was_made(faulty: BodyAudit) -> None:
    found = only(faulty, "islands")
    assert found.value == pytest.approx(ISLAND, rel=0.15)
    assert found.spots[0].place.height == pytest.approx(0.4, abs=0.02)


def test_unequal_sides_differ_by_what_one_has_more(faulty: BodyAudit) -> None:
    found = only(faulty, "lopsided")
    assert found.figures["most"] == pytest.approx((LEFT - RIGHT) * 0.03, rel=0.03)
    ratio = RIGHT / LEFT
    assert found.figures["asymmetry"] == pytest.approx((1 - ratio) / np.sqrt(1 + ratio**2), rel=0.01)
    assert morph(faulty, "lopsided").sides == "lopsided"


def test_one_sided_morphs_are_recognised_and_find_their_partner(clean: BodyAudit) -> None:
    assert (morph(clean, "flank_l").sides, morph(clean, "flank_l").partner) == ("left", "flank_r")
    assert (morph(clean, "flank_r").sides, morph(clean, "flank_r").partner) == ("right", "flank_l")
    assert morph(clean, "lean").sides == "opposite"
    assert morph(clean, "belly").sides == "both"


def test_a_partner_by_name_that_is_no_mirror_image_is_blamed() -> None:
    body = clean_body()
    deltas = dict(zip(body.morph_names, body.deltas))
    wrong = {"flank_l": deltas["flank_l"], "flank_r": 0.5 * deltas["flank_r"]}
    found = only(audit_body(body_of(body.vertices, body.faces, wrong), pairs=0), "flank_l")
    assert (found.fault, found.partner) == ("lopsided", "flank_r")
    assert found.figures["most"] == pytest.approx(0.015, rel=0.03)


def test_partners_that_are_named_otherwise_are_told_by_what_they_do() -> None:
    body = clean_body()
    deltas = dict(zip(body.morph_names, body.deltas))
    named = {"port": deltas["flank_l"], "starboard": deltas["flank_r"]}
    audit = audit_body(body_of(body.vertices, body.faces, named), pairs=0)
    assert morph(audit, "port").partner == "starboard"
    assert audit.severity == "clean"


def test_a_separate_piece_that_stays_behind_is_found_and_one_that_follows_is_not() -> None:
    found = only(audit_body(body_with_button(follows=False)), "forward")
    assert found.fault == "behind"
    assert found.value == pytest.approx(LAG, rel=0.01)
    assert len(found.spots[0].vertices) == 162
    assert audit_body(body_with_button(follows=True)).severity == "clean"


def test_a_leg_that_stays_short_of_the_other_is_clean() -> None:
    assert audit_body(two_legs()).severity == "clean"


def test_a_leg_pushed_through_the_other_crosses_it_from_the_weight_at_which_they_touch() -> None:
    legs = two_legs()
    far = body_of(legs.vertices, legs.faces, {"left_in": 3.0 * legs.deltas[0]})
    found = only(audit_body(far), "left_in")
    assert found.fault == "crossing"
    assert found.figures["across"] == 1.0
    assert found.figures["sound_share"] == pytest.approx(0.5, abs=0.02)
    assert {spot.place.side.split()[1] for spot in found.spots[:2]} == {"left", "right"}


def test_of_several_places_where_parts_meet_the_first_two_spots_meet_each_other() -> None:
    legs = two_legs()
    ball, triangles = sphere(3, radius=0.05)
    aside = np.array([0.0, 0.5, 0.16 + 0.06])
    left = legs.vertices[legs.vertices[:, 0] > 0].mean(axis=0) * np.array([1.0, 0.0, 0.0])
    vertices, faces = joined((legs.vertices, legs.faces), (ball + aside + left, triangles))
    push = np.concatenate([3.0 * legs.deltas[0], np.tile([-0.12, 0.0, -0.04], (len(ball), 1))])
    all_found = morph(audit_body(body_of(vertices, faces, {"in": push})), "in").findings
    found = next(one for one in all_found if one.fault == "crossing")
    assert len(found.spots) >= 4
    first, second = (set(spot.vertices.tolist()) for spot in found.spots[:2])
    shells = components(faces, len(vertices))
    assert shells[min(first)] != shells[min(second)]
    assert abs(found.spots[0].place.position_m[1] - found.spots[1].place.position_m[1]) < 0.2
    assert len({spot.place.vertex for spot in found.spots}) == len(found.spots)


def test_a_morph_that_presses_skin_beyond_itself_turns_it_over() -> None:
    vertices, faces = skin()
    spot = np.exp(-(((vertices[:, 0]) / 0.05) ** 2 + ((vertices[:, 1] - HEIGHT) / 0.05) ** 2)) * (vertices[:, 2] > 0)
    turned = -2.2 * spot[:, None] * (vertices - np.array([0.0, HEIGHT, 0.0])) * np.array([0.0, 1.0, 0.0])
    one = morph(audit_body(body_of(vertices, faces, {"pinch": turned})), "pinch")
    found = {finding.fault: finding for finding in one.findings}
    assert one.folded > 0
    assert found["folded"].figures["sound_share"] == pytest.approx(1 / 2.2, abs=0.12)
    assert found["folded"].spots[0].place.height == pytest.approx(HEIGHT, abs=0.05)


def test_two_morphs_that_break_only_together_are_a_pair() -> None:
    vertices, faces = skin()
    spot = np.exp(-(((vertices[:, 0]) / 0.05) ** 2 + ((vertices[:, 1] - HEIGHT) / 0.05) ** 2)) * (vertices[:, 2] > 0)
    half = -0.8 * spot[:, None] * (vertices - np.array([0.0, HEIGHT, 0.0])) * np.array([0.0, 1.0, 0.0])
    audit = audit_body(body_of(vertices, faces, {"first": half, "second": half.copy(), "tall": 0.1 * vertices}))
    assert all(one.folded == 0 for one in audit.morphs)
    (pair,) = audit.pairs
    assert pair.names == ("first", "second")
    assert pair.weights == (1.0, 1.0)
    assert any(found.fault == "folded" and found.partner == "second" for found in pair.findings)
    assert audit.pairs_looked_at == audit.pairs_that_overlap == 3


def test_the_order_of_vertices_changes_no_finding(faulty: BodyAudit) -> None:
    body = faulty_body()
    order = np.random.default_rng(1).permutation(len(body.vertices))
    place = np.argsort(order)
    mixed = Body(
        body.name, body.vertices[order], place[body.faces], body.morph_names, body.deltas[:, order], body.range
    )
    again = audit_body(mixed, pairs=0)
    for name in body.morph_names:
        before, after = morph(faulty, name).findings, morph(again, name).findings
        assert [one.fault for one in before] == [one.fault for one in after]
        assert [one.value for one in before] == pytest.approx([one.value for one in after], rel=0.05)
        assert set(order[after[0].spots[0].vertices]) == set(before[0].spots[0].vertices) or name == "rough"


def test_mirrored_morphs_swap_their_sides(clean: BodyAudit) -> None:
    body = clean_body()
    flip = np.array([-1.0, 1.0, 1.0])
    mirrored = Body(
        body.name, body.vertices * flip, body.faces[:, ::-1], body.morph_names, body.deltas * flip, body.range
    )
    audit = audit_body(mirrored, pairs=0)
    assert morph(audit, "flank_l").sides == "right"
    assert audit.severity == "clean"


def test_the_worst_morph_comes_first(faulty: BodyAudit) -> None:
    order = ["grave", "moderate", "slight", "clean"]
    severities = [order.index(one.severity) for one in faulty.morphs]
    assert severities == sorted(severities)
    assert faulty.severity == faulty.morphs[0].severity


def test_progress_ends_at_the_whole() -> None:
    told: list[tuple[int, int]] = []
    audit_body(clean_body(), pairs=2, progress=lambda done, total: told.append((done, total)))
    assert told[-1] == (9, 9)
    assert [done for done, _ in told] == list(range(1, 10))


def test_a_negative_count_of_pairs_is_refused() -> None:
    with pytest.raises(ArgumentError, match="`pairs` must be 0 or more, got -1"):
        audit_body(clean_body(), pairs=-1)


def test_a_body_without_morphs_is_clean() -> None:
    vertices, faces = skin()
    audit = audit_body(Body("bare", vertices, faces, (), np.zeros((0, len(vertices), 3)), Range.unit(())))
    assert audit.morphs == ()
    assert audit.severity == "clean"


@pytest.mark.parametrize(("rings", "sides"), [(70, 64), (160, 120)])
def test_a_clean_body_is_clean_however_finely_it_is_cut(rings: int, sides: int) -> None:
    vertices, faces = capsule(rings=rings, sides=sides)
    assert audit_body(body_of(vertices, faces, clean_deltas(vertices)), pairs=4).severity == "clean"


def test_a_body_that_stands_elsewhere_has_the_same_findings(faulty: BodyAudit) -> None:
    body = faulty_body()
    moved = replace(body, vertices=body.vertices + np.array([0.7, 0.2, -1.3]))
    again = audit_body(moved, pairs=0)
    for name in body.morph_names:
        before, after = morph(faulty, name).findings, morph(again, name).findings
        assert [one.fault for one in before] == [one.fault for one in after]
        assert [one.value for one in after] == pytest.approx([one.value for one in before], rel=1e-3)
        high, low = after[0].spots[0].place.height, before[0].spots[0].place.height
        assert high == pytest.approx(low, abs=0.02) or name == "rough"


def test_vertices_that_no_triangle_uses_are_not_looked_at() -> None:
    body = clean_body()
    vertices = np.concatenate([body.vertices, [[0.0, 5.0, 0.0]]])
    deltas = {name: np.concatenate([delta, [[3.0, 0.0, 0.0]]]) for name, delta in zip(body.morph_names, body.deltas)}
    audit = audit_body(body_of(vertices, body.faces, deltas), pairs=0)
    assert audit.severity == "clean"
    assert morph(audit, "belly").move_max == pytest.approx(0.05, rel=0.01)


def test_a_morph_whose_interval_is_the_base_body_alone_is_clean() -> None:
    body = clean_body()
    still = replace(body, range=Range(body.morph_names, np.zeros(7), np.zeros(7)))
    audit = audit_body(still)
    assert audit.severity == "clean"
    assert [one.move_max for one in audit.morphs] == [0.0] * 7
    assert audit.pairs_that_overlap == 0


def test_a_downward_interval_is_looked_at_where_it_reaches_farthest() -> None:
    body = faulty_body()
    down = replace(body, range=Range(body.morph_names, np.full(5, -1.0), np.full(5, 0.2)))
    audit = audit_body(down, pairs=0)
    assert {one.weight for one in audit.morphs} == {-1.0}
    assert only(audit, "rigid_patch").value == pytest.approx(STEP)
    assert only(audit, "rigid_patch").weight == -1.0
