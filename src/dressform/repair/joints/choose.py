"""Choosing joint weights that clear stances: as little as needed of other weights, as smoothly as possible."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Float

from dressform.arrays import Weights
from dressform.body.skeleton import Skin
from dressform.body.stance import Stance
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.results import SEVERITIES, ShapeFaults
from dressform.fit.fit import Fit
from dressform.fit.joint_weights import choose_joints, same_skin
from dressform.garment.following import LIFTED, NEAREST_PART, SMOOTHED
from dressform.lift.lift import make_lift
from dressform.mesh.laplacian import cotangent
from dressform.mesh.tree import Tree
from dressform.repair.joints.demands import StanceView, StanceViews
from dressform.repair.joints.shares import least_shares

KINDS = (LIFTED, SMOOTHED, NEAREST_PART)
"""Weights of which a share may be taken."""
SMOOTH: tuple[float, ...] = (0.03, 0.12)
"""Shares do not change much over less than this, metres; the second is tried where the first spoils the cloth."""
PRICE = 1.0e6
"""A millimetre that falls short at one vertex costs as much as taking the other weights wholly there, 1/m²."""
ROUNDS = 3
"""Times that the skin nearest to the cloth is looked up anew."""
SEEN_MORE = 1e-4
"""More skin than this that is seen, m², is too much."""
HELPS = 0.8
"""Weights are changed only where no more than this share of what falls short is left,"""
WORSE = 1.1
"""and at no stance more than this share of what was there, or of a tenth of the worst stance's."""
NEARLY = 1.05
"""Of kinds that leave less than so many times the least, the first is taken."""
MEASURED = 2
"""At so many stances, those where most falls short, every fault is measured on the base and the high end."""
CHANGED = 0.01
"""A share below this is no change."""


@dataclass(frozen=True)
class StanceLack:
    """How far cloth falls short of its own skin at one stance, over the shapes looked at.

    Attributes:
        stance: Its name.
        before: Volume by which it falls short on the worst shape, m³.
        after: The same with the weights chosen, m³.
        deepest_before: The most that a vertex falls short, metres.
        deepest_after: The same with the weights chosen, metres.
    """

    stance: str
    before: float
    after: float
    deepest_before: float
    deepest_after: float


@dataclass(frozen=True, eq=False)
class ChosenWeights:
    """A fit with joint weights chosen for stances.

    Attributes:
        fit: The fit; the one given where no weights help.
        kind: Weights of which a share was taken; empty where none help.
        shares: Share of each vertex, (G,).
        area_share: Share of the cloth's area that was changed.
        largest: Largest change of a vertex's weights, ½ Σ |Δw|, 0 to 1.
        stances: What falls short at each stance.
    """

    fit: Fit
    kind: str
    shares: Float[np.ndarray, " G"]
    area_share: float
    largest: float
    stances: tuple[StanceLack, ...]


def choose_weights(
    fit: Fit, stances: Sequence[Stance], *, shapes: Sequence[Weights] = (), tree: Tree | None = None
) -> ChosenWeights:
    """Blend in as little of other joint weights as keeps the cloth off the skin under it at stances.

    At each vertex a share t of other weights is taken: Σ area t² plus the smoothness of t along the cloth, and what
    still falls short at all stances and shapes, is least. That is convex, and demands of stances that oppose each other
    are weighed, never chased. Lifted, smoothed and nearest-part weights are tried; the one that leaves least is taken
    if it helps clearly and spoils nothing: neither is the verdict worse at the worst stances, nor more skin seen. Where
    shares of the others would tear the cloth, as with weights that are wrong altogether, they are taken wholly. At rest
    nothing moves.

    Args:
        fit: The fit to repair.
        stances: The stances.
        shapes: Shapes that count beside the base and both ends of the range.
        tree: The body's triangles, if already built.

    Proof: tests/repair/joints/test_choose.py
    """
    same = ChosenWeights(fit, "", np.zeros(len(fit.base)), 0.0, 0.0, ())
    skin, body = fit.skin, fit.body
    if skin is None or body.skin is None or body.skeleton is None or not stances:
        return same
    zero = np.zeros(len(body.morph_names))
    looked = {weights.tobytes(): weights for weights in (zero, body.range.low, body.range.high, *shapes)}
    views = StanceViews.of(fit, stances, list(looked.values()), tree)
    before = views.short(skin)
    if not before.any():
        return replace(same, stances=_lacks(views, before, before))
    others, count, guard = _others(fit, tree), len(body.skeleton.names), _Guard.of(views, _lacks(views, before, before))
    for smooth in (*SMOOTH, None) if others else ():
        tried = []
        for kind, other in others.items():
            shares = np.ones(len(fit.base)) if smooth is None else _shares(views, skin, other, smooth)
            blended = _blended(skin, other, shares, count)
            tried.append((kind, shares, blended, views.short(blended)))
        least = min(_total(views, one[3]) for one in tried)
        kind, shares, blended, after = next(one for one in tried if _total(views, one[3]) <= NEARLY * least)
        lacks = _lacks(views, before, after)
        if _helps(lacks, _total(views, before), _total(views, after)) and not guard.is_spoiled_by(blended):
            change = 0.5 * np.abs(blended.dense(count) - skin.dense(count)).sum(axis=1)
            area = float(views.areas[change > CHANGED].sum() / views.areas.sum())
            return ChosenWeights(replace(fit, skin=blended), kind, shares, area, float(change.max()), lacks)
    return replace(same, stances=_lacks(views, before, before))


def _others(fit: Fit, tree: Tree | None) -> Mapping[str, Skin]:
    """Joint weights of which a share may be taken, by kind; those that the fit has are not among them."""
    lift, found = make_lift(fit.body, fit.garment, fit.following, tree=tree), {}
    for kind in KINDS:
        skin = choose_joints(lift, replace(fit.following, joint_weights=kind)).skin
        if skin is not None and fit.skin is not None and not same_skin(skin, fit.skin):
            found[kind] = skin
    return found


def _shares(views: StanceViews, skin: Skin, other: Skin, smooth: float) -> Float[np.ndarray, " G"]:
    """The least share of the other weights at each vertex."""
    garment = views.fit.garment
    stiffness = cotangent(garment.vertices, garment.faces)
    mass = np.maximum(views.areas, 1e-3 * float(views.areas.mean()))
    shares = np.zeros(len(mass))
    for _ in range(ROUNDS):
        demands = views.demands(skin, other, shares)
        new = least_shares(stiffness, mass, demands, smooth=smooth, price=PRICE)
        if np.abs(new - shares).max() < CHANGED:
            return new
        shares = new
    return shares


def _blended(skin: Skin, other: Skin, shares: Float[np.ndarray, " G"], count: int) -> Skin:
    """The weights with a share of the others; vertices with hardly any stay exactly as they are."""
    kept = shares < CHANGED
    dense = (1.0 - shares)[:, None] * skin.dense(count) + shares[:, None] * other.dense(count)
    blended = Skin.from_dense(dense)
    width = skin.joints.shape[1]
    joints, weights = blended.joints, blended.weights
    joints[kept, :width], weights[kept, :width] = skin.joints[kept], skin.weights[kept]
    joints[kept, width:], weights[kept, width:] = 0, 0.0
    return Skin(joints, weights)


def _total(views: StanceViews, short: Float[np.ndarray, "R G"]) -> float:
    return float((short * views.areas).sum())


def _lacks(
    views: StanceViews, before: Float[np.ndarray, "R G"], after: Float[np.ndarray, "R G"]
) -> tuple[StanceLack, ...]:
    """What falls short at each stance, on its worst shape."""
    names = [view.stance.name for view in views.views]
    told = []
    for name in dict.fromkeys(names):
        rows = [row for row, other in enumerate(names) if other == name]
        volumes = [float((each[rows] * views.areas).sum(axis=1).max()) for each in (before, after)]
        deepest = [float(each[rows].max(initial=0.0)) for each in (before, after)]
        told.append(StanceLack(name, *volumes, *deepest))
    return tuple(told)


@dataclass(frozen=True)
class _Guard:
    """The garment as it is at the stances where most falls short, on the base body and at the high end of the range."""

    worn: GarmentOnBody
    views: tuple[StanceView, ...]
    was: tuple[ShapeFaults, ...]

    @classmethod
    def of(cls, views: StanceViews, lacks: Sequence[StanceLack]) -> "_Guard":
        """Measure it there."""
        worst = {one.stance for one in sorted(lacks, key=lambda one: -one.before)[:MEASURED]}
        high = views.fit.body.range.high
        chosen = tuple(
            view
            for view in views.views
            if view.stance.name in worst and (not view.weights.any() or np.array_equal(view.weights, high))
        )
        worn = GarmentOnBody(views.fit)
        return cls(worn, chosen, tuple(worn.measure(view.weights, view.stance) for view in chosen))

    def is_spoiled_by(self, skin: Skin) -> bool:
        """Whether the verdict becomes worse, and moderate or grave, or more skin is seen."""
        other = self.worn.carried_by(skin)
        for view, was in zip(self.views, self.was):
            found = other.measure(view.weights, view.stance)
            if found.show_through.exposed_area > was.show_through.exposed_area + SEEN_MORE:
                return True
            old, new = (SEVERITIES.index(one.severity) for one in (was, found))
            if new > old and new >= SEVERITIES.index("moderate"):
                return True
        return False


def _helps(lacks: Sequence[StanceLack], before: float, after: float) -> bool:
    """Whether clearly less falls short in all, and at no stance clearly more."""
    allowed = 0.1 * max(one.before for one in lacks)
    return after <= HELPS * before and all(one.after <= WORSE * max(one.before, allowed) for one in lacks)
