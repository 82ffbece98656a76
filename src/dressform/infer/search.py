"""The search for the weights whose shape a garment was modelled on: robust Gauss–Newton from several starts."""

from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Float
from scipy.optimize import lsq_linear

from dressform.arrays import Weights
from dressform.body.range import Range
from dressform.infer.cloth import AskedCloth
from dressform.infer.ease import EaseModel, ease_model
from dressform.infer.skin import ShapedSkin, SkinView

ROUNDS = 20
STARTING_SCATTER, CALMING = 8.0, 0.6  # the scatter starts so many times wider and shrinks by this factor each round
LONGEST_STEP = 0.7  # of the prior spread of a weight: the skin must be found again before going farther
STILL = 0.005  # prior spreads; a smaller step ends the search
TAILS = 2.5  # degrees of freedom of Student's t: how easily a point is left out of account
INSIDE = 0.006  # metres; how deep in the skin a maker's cloth may lie
MOST_INSIDE = 0.02  # share of the cloth that may lie deeper than that on a shape that is taken without another search
LOOKS_PER_HOLLOW = 3  # rounds between two looks for hollows, which change little
HELD_ROUNDS = 3  # for the ease alone, with the weights held
FARTHEST_STARTS = 2  # morphs whose ends are tried as starts: those that carry the skin under the garment farthest
START_SHARE = 0.7  # of the distance to the end
MIN_SPREAD = 1e-3  # prior spread of a weight that has no range


@dataclass(frozen=True)
class SearchResult:
    """The result of a search. Near it, minus twice the log of the posterior is approximated by a parabola.

    Attributes:
        weights: The likeliest weights in the range, (K,).
        centre: Where the parabola is lowest, in the range or not, (K,).
        information: Its second derivative / 2: the inverse of the covariance, (K, K).
        misfit: Minus the log of the evidence, up to a constant that is the same for every start.
        look: The shape as seen from the cloth.
    """

    weights: Weights
    centre: Weights
    information: Float[np.ndarray, "K K"]
    misfit: float
    look: SkinView

    def excess(self, weights: Weights) -> float:
        """How much less likely other weights are: minus twice the log of the ratio of posteriors; 0 at `weights`."""
        return self._height(weights) - self._height(self.weights)

    def _height(self, weights: Weights) -> float:
        away = weights - self.centre
        return float(away @ self.information @ away)


def prior_spread(box: Range) -> Weights:
    """Prior spread of each weight, (K,): the root-mean-square about the base of weights uniform in the range."""
    squares = (box.low**2 + box.low * box.high + box.high**2) / 3.0
    return np.maximum(np.sqrt(squares), MIN_SPREAD)


def search(skin: ShapedSkin, cloth: AskedCloth, start: Weights) -> SearchResult:
    """Search from one start.

    Each round measures the shape, treats clearance as affine in the weights near it, and solves for weights and ease
    together. Points that depart from the expected ease count less. The ease is then eliminated: its Schur complement is
    the information about the weights. So clearance that ease can explain as well does not count towards the shape.

    Args:
        skin: The body.
        cloth: Points of the garment.
        start: Where to begin, (K,).
    """
    box, spread = skin.body.range, prior_spread(skin.body.range)
    state = _begin(skin, cloth, start)
    for turn in range(ROUNDS):
        calm = max(1.0, STARTING_SCATTER * CALMING**turn)
        system = _solve(state, spread, calm)
        step = _lowest(system.information, system.pull, box) - state.weights
        longest = float(np.abs(step / spread).max(initial=0.0))
        weights = state.weights + step * min(1.0, LONGEST_STEP / max(longest, MIN_SPREAD))
        again = turn % LOOKS_PER_HOLLOW == LOOKS_PER_HOLLOW - 1
        after = _moved(skin, cloth, state, system, weights, hollows=again)
        found = _found(state, system, after, spread, calm)
        state = after
        if calm == 1.0 and longest < STILL:
            break
    return found


def held(skin: ShapedSkin, cloth: AskedCloth, weights: Weights) -> SearchResult:
    """A given shape, with the ease that the garment would have there."""
    spread = prior_spread(skin.body.range)
    state = _begin(skin, cloth, weights)
    for _ in range(HELD_ROUNDS):
        system = _solve(state, spread, 1.0)
        after = replace(state, residual=state.look.clearance - state.model.patterns @ system.amounts(weights))
        found = _found(state, system, after, spread, 1.0)
        state = after
    return found


def starts(skin: ShapedSkin, cloth: AskedCloth) -> list[Weights]:
    """Starts of searches: the base, and near the ends of the morphs that move the skin under the garment most."""
    box, count = skin.body.range, len(skin.body.deltas)
    chosen = [np.zeros(count)]
    for morph in np.argsort(-skin.carried(cloth.points), kind="stable")[:FARTHEST_STARTS]:
        for end in (box.low[morph], box.high[morph]):
            if end != 0.0:
                chosen.append(START_SHARE * end * np.eye(count)[morph])
    return chosen


def search_all(skin: ShapedSkin, cloth: AskedCloth) -> SearchResult:
    """The best of a search from the base and of one from the start that explains the garment best.

    No garment is modelled through the skin: where the best shape leaves cloth in it, the others are tried as well.
    """
    tried = starts(skin, cloth)
    likeliest = int(np.argmin([held(skin, cloth, start).misfit for start in tried]))
    first = sorted({0, likeliest})
    best = min((search(skin, cloth, tried[index]) for index in first), key=lambda found: found.misfit)
    if float((best.look.clearance < -INSIDE).mean()) > MOST_INSIDE:
        rest = (search(skin, cloth, start) for index, start in enumerate(tried) if index not in first)
        best = min((best, *rest), key=lambda found: found.misfit)
    return best


@dataclass(frozen=True)
class _State:
    """The state of a search.

    Attributes:
        weights: The shape, (K,). look: What the cloth sees of it.
        hollows: How hollow its skin is under each point, (N,). hang: How far skin above stands out, (N,).
        model: Ease to expect there. residual: By how much clearance departs from the ease found so far, (N,).
    """

    weights: Weights
    look: SkinView
    hollows: Float[np.ndarray, " N"]
    hang: Float[np.ndarray, " N"]
    model: EaseModel
    residual: Float[np.ndarray, " N"]


def _begin(skin: ShapedSkin, cloth: AskedCloth, weights: Weights) -> _State:
    """The state before the first round: the ease is the one that most of the cloth has."""
    look = skin.look(cloth.points, weights)
    hollows, hang = skin.hollows(look, weights), skin.overhangs(look, weights)
    residual = look.clearance - np.median(look.clearance)
    return _State(weights, look, hollows, hang, ease_model(cloth, look, hollows, hang), residual)


def _moved(
    skin: ShapedSkin, cloth: AskedCloth, state: _State, system: "_System", weights: Weights, *, hollows: bool
) -> _State:
    """The state at other weights; hollows are found again where `hollows` is set."""
    look = skin.look(cloth.points, weights)
    hollow = skin.hollows(look, weights) if hollows else state.hollows
    hang = skin.overhangs(look, weights) if hollows else state.hang
    residual = look.clearance - state.model.patterns @ system.amounts(weights)
    return _State(weights, look, hollow, hang, ease_model(cloth, look, hollow, hang), residual)


def _found(state: _State, system: "_System", after: _State, spread: Weights, calm: float) -> SearchResult:
    """The result of the search after a round."""
    amounts = system.amounts(after.weights)
    misfit = _misfit(state.model, after.residual, calm * state.model.scatter, amounts, after.weights / spread)
    depth = np.maximum(-after.look.clearance, 0.0) / INSIDE
    misfit += 0.5 * (TAILS + 1.0) * float(np.log1p(depth**2 / TAILS).sum())
    misfit += 0.5 * system.log_volume + float(np.log(spread).sum())
    centre = np.linalg.solve(system.information, system.pull)
    return SearchResult(after.weights, centre, system.information, misfit, after.look)


@dataclass(frozen=True)
class _System:
    """Normal equations with the ease eliminated.

    Attributes:
        information: Of the weights, (K, K). pull: Right-hand side, (K,).
        free: Amounts of ease at weights 0, (M,). per_weight: How they change with each weight, (M, K).
        log_volume: Logarithm of the determinant of the whole system.
    """

    information: Float[np.ndarray, "K K"]
    pull: Weights
    free: Float[np.ndarray, " M"]
    per_weight: Float[np.ndarray, "M K"]
    log_volume: float

    def amounts(self, weights: Weights) -> Float[np.ndarray, " M"]:
        """The likeliest ease at given weights."""
        return self.free - self.per_weight @ weights


def _solve(state: _State, spread: Weights, calm: float) -> _System:
    """Weighted least squares for weights and ease together; points are weighted by Student's t."""
    model, scatter = state.model, calm * state.model.scatter
    trust = (TAILS + 1.0) / (TAILS + (state.residual / scatter) ** 2) / scatter**2
    rows, ease = state.look.slopes, model.patterns
    values = state.look.clearance + rows @ state.weights  # clearance at weights 0, were it affine
    trusted = trust[:, None] * ease
    inner = ease.T @ trusted + np.diag(model.precision)
    cross = trusted.T @ rows
    right = trusted.T @ values + model.precision * model.expected
    solved = np.linalg.solve(inner, np.column_stack([cross, right]))
    per_weight, free = solved[:, :-1], solved[:, -1]
    weighed = trust + _pressed(state.look, calm)
    information = rows.T @ (weighed[:, None] * rows) + np.diag(1.0 / spread**2) - cross.T @ per_weight
    pull = rows.T @ (weighed * values) - cross.T @ free
    volume = np.linalg.slogdet(inner)[1] + np.linalg.slogdet(information)[1]
    return _System((information + information.T) / 2, pull, free, per_weight, float(volume))


def _pressed(look: SkinView, calm: float) -> Float[np.ndarray, " N"]:
    """Weight that pulls the clearance of cloth inside the body towards 0, whatever the ease, (N,)."""
    depth = np.maximum(-look.clearance, 0.0) / (INSIDE * calm)
    return np.where(depth > 0, (TAILS + 1.0) / (TAILS + depth**2), 0.0) / (INSIDE * calm) ** 2


def _misfit(
    model: EaseModel,
    residual: Float[np.ndarray, " N"],
    scatter: Float[np.ndarray, " N"],
    amounts: Float[np.ndarray, " M"],
    weights: Weights,
) -> float:
    """Minus the log of likelihood and prior, up to constants."""
    points = np.log(scatter) + 0.5 * (TAILS + 1.0) * np.log1p((residual / scatter) ** 2 / TAILS)
    ease = 0.5 * model.precision * (amounts - model.expected) ** 2
    return float(points.sum() + ease.sum() + 0.5 * (weights**2).sum())


def _lowest(information: Float[np.ndarray, "K K"], pull: Weights, box: Range) -> Weights:
    """Lowest point of the parabola in the range."""
    if not len(pull):
        return pull
    root = np.linalg.cholesky(information)
    ends = box.low - MIN_SPREAD**2, box.high + MIN_SPREAD**2  # the solver wants room between them
    return box.clip(lsq_linear(root.T, np.linalg.solve(root, pull), ends, method="bvls").x)
