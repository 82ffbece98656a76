"""A chain of repairs does what is named, in its own order, and nothing else."""

import pytest

from dressform.errors import ArgumentError
from dressform.fit.make import make_fit
from dressform.garment.following import Following
from dressform.proof.certificate import certify
from dressform.proof.linear_mesh import linear_body, linear_cloth
from dressform.repair.chain import REPAIRS, repair_fit
from dressform.repair.names import JOINTS
from phantoms import phantom_body, phantom_tube


def test_no_repair_returns_the_fit_as_it_came() -> None:
    body = phantom_body()
    fit = make_fit(body, phantom_tube())
    result = repair_fit(fit, repairs=())
    assert result.fit is fit
    assert (result.refined, result.rigid_patches, result.whole, result.brought_out) == (None,) * 4
    assert (result.clearance, result.hard) == (None, None)
    assert result.cost.largest_move == 0.0


def test_the_whole_chain_ends_in_a_fit_that_is_certified() -> None:
    body = phantom_body(rings=30, sides=32)
    fit = make_fit(body, phantom_tube(clearance=0.003), Following(method="nearest"))
    obstacle = linear_body(body)
    assert certify(linear_cloth(fit), obstacle, body.range).share < 1.0
    result = repair_fit(fit, obstacle=obstacle)
    assert result.clearance is not None
    assert result.clearance.short_before > 0
    assert result.cost.largest_move > 0
    assert certify(linear_cloth(result.fit), obstacle, body.range).share == 1.0


def test_an_unknown_repair_is_refused() -> None:
    body = phantom_body()
    fit = make_fit(body, phantom_tube())
    with pytest.raises(
        ArgumentError,
        match="`repairs` must be some of refine, blend-rims, whole, bring-out, joints, clearance, hard, got 'ironing'",
    ):
        repair_fit(fit, repairs=("ironing",))


@pytest.mark.parametrize("name", [name for name in REPAIRS if name != JOINTS])  # it needs stances
def test_each_repair_is_done_by_its_own_name(name: str) -> None:
    result = repair_fit(make_fit(phantom_body(), phantom_tube()), repairs=(name,))
    done = {
        "refine": result.refined,
        "blend-rims": result.rigid_patches,
        "whole": result.whole,
        "bring-out": result.brought_out,
        "clearance": result.clearance,
        "hard": result.hard,
    }
    assert [one for one, found in done.items() if found is not None] == [name]
