"""Corrective targets: strong bends clear by what joints drive, while base, morphs and other stances stay."""

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from bent_limb import RADIUS, bent, limb, skeleton, sleeve
from dressform.body.pose import turned_worlds
from dressform.body.skeleton import Skeleton
from dressform.body.stance import Stance
from dressform.fit.fit import Fit
from dressform.proof.at_stance import certify_stances, stance_case
from dressform.proof.linear_mesh import linear_body, linear_cloth
from dressform.repair.clear.clearance import Clearance, change_energy, keep_clear
from dressform.repair.clear.programme import Constraints, solve
from dressform.repair.correctives.batch import CAP, FLATTEST, KEPT_CAP, SPARSE, caps_of, lost_of, pulled_back, sparse
from dressform.repair.correctives.bends import driver_of, shares_of, strong_bends
from dressform.repair.correctives.shape_demands import ShapeDemands

GENTLE, STRONG = bent(20), bent(110)


@cache
def straight() -> Fit:
    """A sleeve whose joint weights have a shorter ramp than the skin's."""
    return sleeve(limb(rings=25, sides=16), ramp=0.12, clearance=0.004, rings=17, sides=16)


@cache
def mended(*, correctives: bool = True) -> Clearance:
    fit = straight()
    return keep_clear(fit, linear_body(fit.body), stances=[GENTLE, STRONG], correctives=correctives)


def test_strong_bend_is_certified_with_its_corrective_target_and_not_without() -> None:
    end = mended().fit
    plain = keep_clear(straight(), linear_body(straight().body), stances=[GENTLE]).fit
    (without,), (found,) = certify_stances(plain, [STRONG]), certify_stances(end, [STRONG])
    assert not without.complete
    assert found.complete
    (target,) = end.correctives
    assert target.name == "corrective lower"
    assert target.lengths.max() > 1e-3


def test_base_and_morphs_are_those_of_the_repair_without_the_strong_bend() -> None:
    plain = keep_clear(straight(), linear_body(straight().body), stances=[GENTLE]).fit
    assert np.array_equal(mended().fit.base, plain.base)
    assert np.array_equal(mended().fit.deltas, plain.deltas)


def test_target_is_still_at_the_other_stances_and_whole_at_the_bend() -> None:
    (target,) = mended().fit.correctives
    assert target.driver.at(skeleton(), GENTLE.worlds) == 0.0
    assert target.driver.at(skeleton(), STRONG.worlds) == pytest.approx(1.0)
    assert 0.0 < target.driver.at(skeleton(), bent(80).worlds) < 1.0


def test_without_correctives_the_strong_bend_moves_the_base_more() -> None:
    targets = mended(correctives=False)
    assert targets.fit.correctives == ()
    assert targets.corrections is None
    assert targets.base_move[1] > 1.2 * mended().base_move[1]


def test_what_a_target_came_to_is_told() -> None:
    told = mended().corrections
    assert told is not None
    (one,), (stance,) = told.targets, told.stances
    (target,) = mended().fit.correctives
    assert (one.name, one.joint, one.stances) == (target.name, "lower", (STRONG.name,))
    assert one.largest_move == target.lengths.max()
    assert one.vertices == np.count_nonzero(target.lengths)
    assert stance.short_before > stance.short_after == 0
    assert stance.depth_before > stance.depth_after == 0.0


def test_target_is_short_beside_what_it_mends() -> None:
    """Where the modelled pose was what had to be smooth, not the bend, it moved the cloth twice as far."""
    told = mended().corrections
    assert told is not None
    assert told.targets[0].largest_move < 3.0 * told.stances[0].depth_before


def test_displacement_at_the_bend_is_what_its_target_does_there() -> None:
    pair = stance_case(straight()).posed_at(STRONG)
    frames = pulled_back(np.ones((1, len(straight().base))), [pair])
    maps = pair.maps[:, :, :3]
    assert np.linalg.svd(maps)[1].min() > FLATTEST
    assert np.allclose(maps @ frames, np.eye(3), atol=1e-12)
    flat = replace(pair, maps=pair.maps * np.array([1.0, 1.0, 1e-6, 1.0]))
    assert np.linalg.svd(pulled_back(np.ones((1, len(maps))), [flat]))[1].max() <= 1.0 / FLATTEST + 1e-9


def test_skin_between_the_vertices_of_coarse_cloth_is_asked_to_be_covered() -> None:
    """Of a polygon about a round limb no corner lies in the skin, and every side does."""
    coarse = sleeve(limb(rings=25, sides=32), ramp=0.12, clearance=0.004, rings=9, sides=12)
    pair = stance_case(coarse).posed_at(bent(1))
    near = np.array([(RADIUS + 0.0012) / (RADIUS + 0.004), 1.0, (RADIUS + 0.0012) / (RADIUS + 0.004)])
    sunk = pair.carried(linear_cloth(replace(coarse, base=coarse.base * near)))
    demands = ShapeDemands(pair, pair.cloth, np.arange(len(coarse.base)), np.full(len(coarse.base), 5e-4))
    demands.look(pair.cloth)
    (lifts, covers, *_), short = demands.demands(sunk)
    assert not len(lifts[1])
    assert len(covers[1]) > 100
    assert short.deepest > 5e-4


def test_short_displacements_vanish_and_others_lose_as_much() -> None:
    moves = np.array([[0.5 * SPARSE, 0.0, 0.0], [0.0, 3.0 * SPARSE, 0.0]])
    assert np.allclose(sparse(moves), [[0.0, 0.0, 0.0], [0.0, 2.0 * SPARSE, 0.0]], atol=1e-12)


def finger() -> Skeleton:
    """An arm of 30 cm, then a finger of two short bones, along +X."""
    rest = np.tile(np.eye(4), (5, 1, 1))
    rest[1:, 0, 3] = [0.3, 0.04, 0.03, 0.3]
    parents = np.array([-1, 0, 1, 2, 0])
    plain = Skeleton(("arm", "one", "two", "end", "other"), parents, rest, np.tile(np.eye(4), (5, 1, 1)))
    return Skeleton(plain.names, parents, rest, np.linalg.inv(plain.world()))


def turned(name: str, degrees: dict[str, float], axis: tuple[float, ...] = (0.0, 0.0, 1.0)) -> Stance:
    turns = {
        joint: Rotation.from_rotvec(np.radians(angle) * np.array(axis)).as_quat().tolist()
        for joint, angle in degrees.items()
    }
    return Stance(name, turned_worlds(finger(), turns))


def test_joints_on_short_bones_bend_as_one_driven_by_the_one_that_turns_farthest() -> None:
    fist = turned("fist", {"one": 60.0, "two": 70.0})
    (bend,) = strong_bends(finger(), [fist])
    assert (bend.joint, bend.joints) == (2, (1, 2))
    assert bend.angles == {0: pytest.approx(np.radians(70.0))}
    assert strong_bends(finger(), [turned("one alone", {"one": 60.0})]) == ()


def test_turn_about_the_bone_itself_is_no_bend_until_it_is_very_far() -> None:
    along = (1.0, 0.0, 0.0)
    assert strong_bends(finger(), [turned("twist", {"one": 110.0}, along)]) == ()
    assert len(strong_bends(finger(), [turned("twist", {"one": 125.0}, along)])) == 1


def test_bends_of_a_joint_about_one_axis_share_a_target_and_start_where_other_stances_end() -> None:
    stances = [turned("sharp", {"one": 140.0}), turned("half", {"one": 100.0}), turned("easy", {"one": 85.0})]
    (bend,) = strong_bends(finger(), stances)
    assert bend.angles == {0: pytest.approx(np.radians(140)), 1: pytest.approx(np.radians(100))}
    driver = driver_of(bend, finger(), [stances[2]])
    assert driver.knots == ((pytest.approx(np.radians(85)), 0.0), (pytest.approx(np.radians(140)), 1.0))
    assert driver_of(bend, finger(), []).knots[0][0] == pytest.approx(np.radians(70))


def test_displacement_is_shared_out_whole_and_goes_to_the_nearest_bend() -> None:
    bends = strong_bends(finger(), [turned("both", {"one": 100.0, "other": 130.0})])
    cloth = np.array([[0.3, 0.05, 0.0], [0.32, 0.0, 0.0]])
    shares = shares_of(bends, finger(), cloth, blur=0.01)
    assert np.allclose(shares.sum(axis=0), 1.0)
    assert len(bends) == 2


def test_what_was_clear_without_the_target_gives_way_last() -> None:
    """Four shapes on one vertex: it lies 5 mm under the skin of three, and may rise by 0.2 mm on the other."""
    fit = straight()
    energy, mass = change_energy(fit)
    outward = np.array([1.0, 1.0, 1.0, -1.0])[:, None] * np.array([[0.0, 0.0, 1.0]])
    terms, needed = np.array([[-0.005], [-0.005], [-0.005], [0.001]]), np.array([0.0, 0.0, 0.0, 0.0008])
    rows = Constraints(np.full(4, 130), outward, terms, needed)
    none = np.zeros((len(fit.base), 3))
    assert caps_of(rows).tolist() == [CAP, CAP, CAP, KEPT_CAP]
    assert lost_of(rows, none) == 0.0
    lost = []
    for caps in (CAP, caps_of(rows)):
        found = solve(energy, mass, rows, np.zeros(0), np.zeros(0), cap=caps, max_steps=2000)
        lost.append(lost_of(rows, found.moves[:, 0]))
    even, guarded = lost
    assert even > 1e-3
    assert guarded < 2e-4
