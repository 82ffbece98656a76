"""A coarser level moves as the finer one where both have cloth, and follows the body by itself elsewhere."""

from dataclasses import replace

import numpy as np
import pytest

from bent_limb import limb, sleeve
from dressform.body.range import Range
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.garment import Garment
from dressform.levels.carry import FAR, carries_joints, carry
from phantoms import phantom_body, phantom_tube, tube
from skeletons import renamed

BODY = phantom_body(rings=24, sides=24)


@pytest.fixture(scope="module")
def finer() -> Fit:
    """A tube whose base was moved by a wave, as by a repair."""
    fit = make_fit(BODY, phantom_tube(rings=25, sides=40))
    wave = 0.003 * np.sin(40 * fit.base[:, 1:2]) * np.array([1.0, 0.0, 1.0])
    return replace(fit, base=fit.base + wave)


def test_where_a_vertex_of_both_levels_lies_both_move_alike(finer: Fit) -> None:
    plain = make_fit(BODY, phantom_tube(rings=13, sides=20))
    carried = carry(finer, plain)
    same = np.arange(25 * 40).reshape(25, 40)[::2, ::2].ravel()
    assert carried.loose == 0
    np.testing.assert_allclose(carried.fit.base, finer.base[same], atol=1e-12)
    np.testing.assert_allclose(carried.fit.deltas, finer.deltas[:, same], atol=1e-12)
    assert np.abs(plain.base - carried.fit.base).max() > 0.002


def test_what_the_finer_level_lacks_follows_the_body_by_itself(finer: Fit) -> None:
    plain = make_fit(BODY, Garment.of("long", *tube(bottom=0.4, rings=19, sides=20)))
    carried = carry(finer, plain)
    beyond = carried.distances > FAR
    assert beyond.any()
    assert carried.loose == (carried.share < 1).sum() >= beyond.sum()
    np.testing.assert_array_equal(carried.fit.deltas[:, beyond], plain.deltas[:, beyond])
    np.testing.assert_array_equal(carried.fit.base[beyond], plain.base[beyond])


def test_morphs_go_by_their_names_and_those_of_the_coarser_body_alone_are_lifted(finer: Fit) -> None:
    names = ("tall", "belly", "own")
    order = [2, 0, 1]
    body = replace(BODY, morph_names=names, deltas=BODY.deltas[order], range=Range.unit(names))
    plain = make_fit(body, phantom_tube(rings=13, sides=20))
    carried = carry(finer, plain)
    assert carried.lifted == ("own",)
    straight = carry(finer, make_fit(BODY, phantom_tube(rings=13, sides=20)))
    np.testing.assert_array_equal(carried.fit.deltas[:2], straight.fit.deltas[[2, 0]])
    np.testing.assert_array_equal(carried.fit.deltas[2], plain.deltas[2])


def test_the_inner_of_two_sheets_follows_the_inner_one() -> None:
    """Thick cloth: the outer sheet faces outward, the inner one inward; each moves otherwise."""
    outer, inner = tube(clearance=0.026, rings=13, sides=24), tube(clearance=0.020, rings=13, sides=24)
    both = Garment.of(
        "thick",
        np.concatenate([outer[0], inner[0]]),
        np.concatenate([outer[1], inner[1][:, ::-1] + len(outer[0])]),
    )
    fit = make_fit(BODY, both)
    deltas = np.zeros_like(fit.deltas)
    deltas[:, len(outer[0]) :, 1] = 1.0
    finer = replace(fit, deltas=deltas)
    middle = tube(clearance=0.0235, rings=7, sides=12)  # nearer to the outer sheet
    turned = Garment.of("lining", middle[0], middle[1][:, ::-1])
    followed = carry(finer, make_fit(BODY, turned)).fit.deltas[..., 1]
    np.testing.assert_allclose(followed, 1.0)


def test_joint_weights_are_those_of_the_finer_level_unless_the_joints_differ() -> None:
    fine, coarse = sleeve(limb()), sleeve(limb(rings=25, sides=16), rings=17, sides=16, ramp=0.05)
    carried = carry(fine, coarse)
    assert carried.fit.skin is not None
    assert fine.skin is not None
    assert carries_joints(fine, coarse)
    np.testing.assert_allclose(carried.fit.skin.dense(2), carried.rows @ fine.skin.dense(2), atol=1e-12)
    skeleton = coarse.body.skeleton
    assert skeleton is not None
    other = replace(coarse, body=replace(coarse.body, skeleton=renamed(skeleton, ("thigh", "shin"))))
    assert not carries_joints(fine, other)
    assert carry(fine, other).fit.skin is other.skin
