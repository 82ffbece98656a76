"""A repair that divides the range leaves alone what the proof can already tell to be clear."""

from dressform.fit.make import make_fit
from dressform.proof.certificate import certify
from dressform.proof.linear_mesh import linear_body, linear_cloth
from dressform.repair.clear.clearance import keep_clear
from phantoms import phantom_body, phantom_tube


def test_coarse_cloth_that_dividing_the_range_proves_clear_is_left_where_it_is() -> None:
    body = phantom_body(rings=24, sides=24)
    fit = make_fit(body, phantom_tube(rings=14, sides=24))
    obstacle = linear_body(body)
    assert certify(linear_cloth(fit), obstacle, body.range, margin=fit.following.margin).share == 1.0
    straight, divided = keep_clear(fit, obstacle), keep_clear(fit, obstacle, divide=True)
    assert straight.base_move[0] > 0.001
    assert divided.short_before == 0
    assert divided.base_move[0] == 0.0


def test_cloth_that_comes_too_near_is_still_moved_until_all_is_proven() -> None:
    body = phantom_body(rings=24, sides=24)
    fit = make_fit(body, phantom_tube(clearance=0.012, rings=10, sides=16))
    obstacle = linear_body(body)
    assert certify(linear_cloth(fit), obstacle, body.range).share < 1.0
    straight, divided = keep_clear(fit, obstacle), keep_clear(fit, obstacle, divide=True)
    assert certify(linear_cloth(divided.fit), obstacle, body.range).share == 1.0
    assert 0.0 < divided.base_move[1] < straight.base_move[1]
