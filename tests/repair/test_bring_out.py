"""Cloth that lies in the skin at the base is brought out of it, no farther than needed; tucked rims stay."""

from dataclasses import replace

import numpy as np
import pytest

from dressform.faults.garment_on_body import GarmentOnBody
from dressform.fit.make import make_fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.jobs.repair import repair
from dressform.proof.certificate import certify
from dressform.proof.linear_mesh import linear_body, linear_cloth
from dressform.repair.bring_out import bring_out
from fault_meshes import icosphere, make_body, pipe
from phantoms import RADIUS, phantom_body, phantom_tube, tube

MARGIN = 0.002
BODY = phantom_body(rings=30, sides=32)


def sunk_tube(depth: float) -> Garment:
    """A tube about the capsule that lies in it by `depth`, between heights of 0.6 and 1.3 m."""
    return phantom_tube(clearance=-depth)


def bellied(depth: float) -> Garment:
    """A tube outside the capsule with a patch at the belly that lies in it."""
    vertices, faces = tube(clearance=0.01)
    ahead = np.exp(-(((vertices - [0.0, 0.95, RADIUS]) / 0.06) ** 2).sum(axis=1))
    return Garment.of("bellied", vertices - (0.01 + depth) * ahead[:, None] * np.array([0.0, 0.0, 1.0]), faces)


def fitted(garment: Garment, **settings):
    return make_fit(BODY, garment, Following(margin_mm=MARGIN * 1e3, **settings))


@pytest.mark.parametrize(("depth", "most"), [(0.0, 0.006), (0.004, 0.0025), (0.015, 0.0025)])
def test_a_tube_in_the_skin_is_brought_out_to_the_margin(depth, most):
    fit = fitted(sunk_tube(depth))
    assert GarmentOnBody(fit).at_base.skin_area > 1000e-4
    result = bring_out(fit)
    assert len(result.left) == 0
    found = GarmentOnBody(result.fit)
    assert (found.at_base.skin_area, found.at_base.inside_share) == (0.0, 0.0)
    assert MARGIN <= found.start_sides.signed.min() < most
    assert depth + MARGIN <= result.largest_move < depth + most + 0.004
    assert np.array_equal(result.fit.deltas, fit.deltas)


def test_only_the_patch_that_lies_in_the_skin_moves_far():
    fit = fitted(bellied(0.006))
    result = bring_out(fit)
    assert GarmentOnBody(result.fit).at_base.skin_area == 0.0
    moved = np.linalg.norm(result.fit.base - fit.base, axis=1)
    behind = fit.base[:, 2] < 0
    assert moved.max() == result.largest_move > 0.006
    assert moved[behind].max() < 0.15 * result.largest_move


def test_cloth_that_is_clear_is_returned_as_it_came():
    fit = fitted(phantom_tube(clearance=0.001))
    result = bring_out(fit)
    assert result.fit is fit
    assert (result.rounds, result.largest_move, result.wrong_before) == (0, 0.0, 0)


def test_a_tucked_rim_stays_where_its_maker_put_it():
    vertices, faces = icosphere(0.2, level=4)
    body = make_body(vertices, faces, rise=0.0 * vertices)
    collar, triangles = pipe(0.1, 0.2, edge=0.005)
    dip = np.sqrt(0.2**2 - 0.1**2) - 0.01
    fit = make_fit(body, Garment.of("collar", collar + np.array([0.0, dip, 0.0]), triangles))
    assert GarmentOnBody(fit).at_base.tucked_area > 50e-4
    assert bring_out(fit).fit is fit


def test_cloth_that_does_not_follow_is_left_and_told():
    garment = sunk_tube(0.004)
    still = replace(garment, strength=np.where(garment.vertices[:, 1] > 0.95, 1.0, 0.0))
    result = bring_out(fitted(still))
    moved = np.linalg.norm(result.fit.base - still.vertices, axis=1)
    assert moved[still.strength == 0].max() < 1e-5
    assert GarmentOnBody(result.fit).at_base.inside_share > 0.2


def test_after_it_the_whole_garment_can_be_proven():
    fit = fitted(sunk_tube(0.004))
    obstacle = linear_body(BODY)
    assert certify(linear_cloth(fit), obstacle, BODY.range).excluded.all()
    repaired = repair(fit)
    assert (repaired.proof.complete, repaired.proof.certificate.excluded_area) == (True, 0.0)
    assert not repaired.faulty
    assert repaired.changes.brought_out.largest_move > 0.004


@pytest.mark.parametrize("garment", [sunk_tube(0.004), bellied(0.01)], ids=["sunk", "bellied"])
def test_the_base_is_kept_bit_for_bit_where_that_is_asked(garment):
    fit = fitted(garment)
    kept = repair(fit, keep_base=True)
    old = len(fit.base)
    assert kept.fit.base[:old].tobytes() == fit.base.tobytes()
    assert kept.changes.cost.base_move == 0.0
    assert kept.changes.brought_out is None
    assert kept.receipt.settings["keep_base"] is True
    assert kept.faulty
    row = next(line for line in str(kept).splitlines() if "moved at the base" in line)
    assert row.split()[-1] == "0.0"


def test_deltas_alone_keep_the_cloth_clear_where_the_base_has_room():
    fit = make_fit(BODY, phantom_tube(clearance=0.003), Following(method="nearest", margin_mm=MARGIN * 1e3))
    moved, kept = (repair(fit, repairs=["clearance"], keep_base=keep, shapes=0) for keep in (False, True))
    assert kept.changes.clearance.short_before == moved.changes.clearance.short_before > 0
    assert kept.fit.base.tobytes() == fit.base.tobytes()
    assert (kept.fit.deltas != fit.deltas).any()
    assert len(kept.changes.clearance.conflicts) == 0
    assert kept.proof.complete


def test_the_receipt_tells_what_moved_at_the_base_though_nothing_was_brought_out():
    fit = make_fit(BODY, phantom_tube(clearance=0.003), Following(method="nearest", margin_mm=MARGIN * 1e3))
    mended = repair(fit, repairs=["clearance"], shapes=0)
    move = 1e3 * mended.changes.cost.base_move
    assert move > 0.1
    row = next(line for line in str(mended).splitlines() if "moved at the base" in line)
    assert float(row.split()[-1]) == pytest.approx(move, abs=0.05)
    assert mended.receipt.settings["keep_base"] is False
