"""Contact is decided shape by shape: against the closed form of a bent limb, and against an adversary."""

from functools import cache

import numpy as np

from bent_limb import GIRTH, RADIUS, bent, limb, sleeve
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.fit.contact import blended_maps, closed
from dressform.fit.fit import Fit
from dressform.mesh.intersect import crossing_pairs
from dressform.mesh.tree import Tree
from dressform.proof.at_stance import PosedPair, StanceCertificate, certify_stances, stance_case
from dressform.proof.bound_kernels import pair_gaps
from dressform.proof.certificate import decided
from dressform.proof.folds import folding_at
from dressform.proof.shape_contact import PairFates

DEGREES, RAMP, CLEARANCE = 80.0, 0.093, 0.006
FOLDS_FROM = (RAMP / (2 * RADIUS * np.tan(np.radians(DEGREES / 2))) - 1) / GIRTH
"""The girth from which on a ramp this long folds the skin: ℓ < 2 R (1 + g w) tan(θ/2)."""


@cache
def stiff() -> Fit:
    """A sleeve that does not follow girth: the limb comes through it from about half of the range on."""
    return sleeve(
        limb(ramp=RAMP, rings=41, sides=16), clearance=CLEARANCE, ramp=RAMP, follows=0.0, half=0.07, rings=11, sides=16
    )


@cache
def standing() -> tuple[PosedPair, StanceCertificate]:
    pair = stance_case(stiff()).posed_at(bent(DEGREES))
    return pair, certify_stances(stiff(), [bent(DEGREES)])[0]


def gaps_at(pair: PosedPair, pairs: np.ndarray, weights: np.ndarray) -> np.ndarray:
    return np.asarray(pair_gaps(pair.cloth.terms, pair.cloth.faces, pair.body.terms, pair.body.faces, pairs, weights))


def contact_at(pair: PosedPair, pairs: np.ndarray, weights: np.ndarray) -> np.ndarray:
    """What `fit/contact.py` says of pairs on one shape, by its own functions: of most corners of the cloth triangle."""
    case = pair.case
    rest, there, faces = case.body.at(weights), pair.body.at(weights), case.body.faces
    folds = folding_at(case.body, pair.body, blended_maps(pair.body_maps, faces), weights) < 0
    found = []
    for corner in range(3):
        vertices = pair.cloth.faces[pairs[:, 0], corner]
        feet = case.feet.faces[vertices], case.feet.barycentric[vertices]
        found.append(closed(rest, there, faces, feet, pairs[:, 1]) | folds[feet[0]])
    return folds[pairs[:, 1]] | (np.sum(found, axis=0) >= 2)


def test_skin_that_folds_on_thick_shapes_only_must_be_kept_clear_on_thin_ones() -> None:
    """Here the limb comes through the sleeve before any skin folds: folding later is no excuse."""
    assert 0.6 < FOLDS_FROM < 0.9
    pair, found = standing()
    assert not pair.folded.any()
    assert pair.folding.any()
    through = np.array([CLEARANCE / (GIRTH * RADIUS), 0.0])
    assert through[0] < 0.8 * FOLDS_FROM
    pairs = pair.near(pair.cloth, margin=pair.slack)
    pairs = pairs[pair.folding[pairs[:, 1]]]
    pierced = pairs[gaps_at(pair, pairs, through) < pair.slack]
    pierced = pierced[~contact_at(pair, pierced, through)]
    assert len(pierced) > 5
    assert {tuple(each) for each in pierced.tolist()} <= {tuple(each) for each in found.open_pairs.tolist()}
    assert not found.complete


def test_check_and_proof_say_the_same_of_a_shape_whose_skin_does_not_fold() -> None:
    """Where a check sees skin through the sleeve before any skin folds, no proof says that it is covered."""
    pair, found = standing()
    worn, girth = GarmentOnBody(stiff()), 0.8 * FOLDS_FROM
    through = worn.measure(np.array([girth, 0.0]), bent(DEGREES)).show_through
    assert 1e4 * through.exposed_area > 10
    over = pair.cloth.faces[np.unique(found.open_pairs[:, 0])]
    assert len(over) > 0.5 * len(pair.cloth.faces)
    assert not found.complete


def test_pair_is_left_out_only_on_shapes_on_which_it_is_contact() -> None:
    """An adversary finds no shape on which a pair that is left out is too near and no contact."""
    fit, rng, met = sleeve(limb(rings=31, sides=16), rings=21, sides=16), np.random.default_rng(4), 0
    pair = stance_case(fit).posed_at(bent(160.0))
    pairs = pair.near(pair.cloth, margin=pair.slack)
    fates: PairFates = pair.fates(pair.cloth, pairs, np.full(len(pairs), pair.slack))
    left_out, clear = pairs[fates.contact], pairs[fates.clear]
    assert len(left_out) > 100
    ends = [np.array([a, b], dtype=float) for a in (0, 1) for b in (0, 1)]
    for weights in [*ends, *rng.uniform(0, 1, (20, 2))]:
        assert gaps_at(pair, clear, weights).min() >= pair.slack - 1e-9
        near = left_out[gaps_at(pair, left_out, weights) < pair.slack]
        assert contact_at(pair, near, weights).all()
        met += len(near)
    assert met > 100


def test_open_pair_has_a_shape_that_shows_it() -> None:
    pair, found = standing()
    pairs, shown = found.open_pairs[::40], 0
    fates = pair.fates(pair.cloth, pairs, np.full(len(pairs), pair.slack))
    for each, weights in zip(pairs[fates.open], fates.shapes[fates.open]):
        cloth, skin = (
            mesh.at(weights)[mesh.faces[face]] for mesh, face in ((pair.cloth, each[0]), (pair.body, each[1]))
        )
        crosses = len(crossing_pairs(Tree(cloth, np.arange(3)[None]), Tree(skin, np.arange(3)[None]))) > 0
        too_near = crosses or gaps_at(pair, each[None], weights)[0] < pair.slack
        shown += int(too_near and not contact_at(pair, each[None], weights)[0])
    assert shown > 0.5 * fates.open.sum() > 0


def test_one_piece_of_the_range_is_proven_at_a_stance_wherever_any_one_direction_proves_it() -> None:
    """Seven directions that were tried before missed 28 of these pairs."""
    fit = sleeve(limb(rings=25, sides=16), ramp=0.12, clearance=0.004, rings=17, sides=16)
    pair = stance_case(fit).posed_at(bent(60))
    pairs = pair.near(pair.cloth, margin=pair.slack)
    needed, all_of_them = np.full(len(pairs), pair.slack), np.full(len(pairs), True)
    _, certified, _ = decided(pair.cloth, pair.body, pairs, pair.case.box, needed, all_of_them, 1)
    clear = pair.fates(pair.cloth, pairs, needed, budget=1).clear
    assert 0.5 * len(pairs) < certified.sum() < len(pairs)
    assert not (certified & ~clear).any()
