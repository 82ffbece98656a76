"""Sleeves on the bent limb whose own joint weights have one known fault, or none."""

from dataclasses import replace

import numpy as np

import dressform as df
from bent_limb import RADIUS, bent, limb, wall, weights_of
from dressform.body.body import Body
from dressform.causes.clusters import find_clusters
from dressform.causes.explain import explain_garment, explain_patches
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.patch import cut_patch
from dressform.causes.results import Explanation
from dressform.fit.fit import Fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.garment.own_joints import OwnJoints
from dressform.sweep.results import SweepRow

NAMES, PARENTS = ("upper", "lower"), np.array([-1, 0])
BEND = bent(60, "elbow 60°")
FAULTS = ("one joint", "swapped", "too much of one", "noise", "too far up")


def body() -> Body:
    return limb(rings=25, sides=16)


def sleeve(kind: str = "", *, seed: int = 0, clearance: float = 0.006) -> Garment:
    """A sleeve with joint weights of its own: the limb's, with a fault of one kind of `FAULTS` of random strength."""
    vertices, faces = wall(RADIUS + clearance, -0.2, 0.2, rings=25, sides=20)
    share = spoiled(weights_of(vertices[:, 1]).weights[:, 1], vertices, kind, np.random.default_rng(seed))
    joints = np.tile([0, 1], (len(vertices), 1))
    own = OwnJoints(NAMES, PARENTS, joints, np.stack([1.0 - share, share], axis=1))
    return replace(Garment.of("sleeve", vertices, faces), own_joints=own)


def spoiled(share: np.ndarray, vertices: np.ndarray, kind: str, draw: np.random.Generator) -> np.ndarray:
    """The weight of the lower joint with a fault of one kind."""
    if kind == "one joint":
        return np.full_like(share, float(draw.integers(2)))
    if kind == "swapped":
        return 1.0 - share
    if kind == "too much of one":
        return (1.0 - draw.uniform(0.4, 0.8)) * share
    if kind == "noise":
        return np.clip(share + draw.normal(0.0, draw.uniform(0.15, 0.3), len(share)), 0.0, 1.0)
    if kind == "too far up":
        return weights_of(vertices[:, 1] + draw.choice([-1, 1]) * draw.uniform(0.06, 0.1)).weights[:, 1]
    return share


def fitted(garment: Garment, on: Body, **how: str) -> Fit:
    return df.fit(on, garment, Following(**how))


def explained(fit: Fit) -> tuple[ExplainedGarment, list[SweepRow], tuple[Explanation, ...]]:
    """A fit explained on the base body, at rest and bent."""
    worn = ExplainedGarment(fit)
    zero = np.zeros(len(fit.morph_names))
    rows = [SweepRow("sleeve", "base", zero, worn.measure(zero, stance), 0.0, False) for stance in (None, BEND)]
    return worn, rows, explain_garment(worn, rows, stances=[BEND])


def first_place(fit: Fit) -> Explanation:
    """The most noticed place of a fit on the base body, bent."""
    worn = ExplainedGarment(fit)
    zero = np.zeros(len(fit.morph_names))
    row = SweepRow("sleeve", "base", zero, worn.measure(zero, BEND), 0.0, False)
    cluster = find_clusters(worn, "sleeve", [row], bands=worn.bands, stances=[BEND])[0]
    return explain_patches(iter([cut_patch(worn, worn.context.narrowed(zero), cluster)]))
