"""Repair over stances: one programme for the rest pose and every stance, in which the rest pose comes first."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int
from scipy.sparse import csr_array

from dressform.body.stance import Stance
from dressform.proof.at_stance import StanceCase
from dressform.repair.clear.clearance_case import ASKED_MORE, ClearanceCase, State, both, moved_fit, with_new
from dressform.repair.clear.programme import Constraints, Solution, solve
from dressform.repair.clear.stance_planes import ROOM, StancePlanes, StanceState

MOST_ROUNDS = 6
REST_CAP = 5.0
"""Metres; see `CONFLICT_CAP`."""
STANCE_CAP = 0.5
"""A demand of a stance gives way if its pull would move its vertex alone farther than this, metres."""
FIRST_ROUNDS = 2
"""Rounds in which what falls short may rise, while planes find their places."""
GAINING = 0.9
"""Later rounds go on while each brings what falls short below this share of the round before."""
LOSS_PRICE = 10.0
"""What a stance loses weighs this many times what others gain: a repair must not cost a stance what it had."""
NEGLIGIBLE = 1e-4
"""What may fall short of the margin at rest, summed over all pairs, metres: a twentieth of one margin."""
REST_ROUNDS = 4
"""Times that planes at rest are gathered anew for one set of planes at stances."""
MOST_STEPS = 300
AT_CAP = 0.98
"""A pull above this share of the cap has given way."""
STRIDE = 2**44
"""Keys of one stance's planes lie in an interval of this length."""

Planes = tuple[Constraints, Int[np.ndarray, " _"]]
"""Constraints and their keys."""


@dataclass(frozen=True)
class StanceOutcome:
    """What the repair came to at one stance.

    Attributes:
        stance: Its name.
        short_before: Pairs with own skin, and vertices under it, that fell short before.
        depth_before: The most that any fell short, metres.
        short_after: How many fall short now.
        depth_after: The most that any falls short, metres.
        given_way: Demands that pull as hard as they may and still fall short: others oppose them, or they are too dear.
        price: The largest pull among these, as the distance by which it alone would move its vertex, metres.
    """

    stance: str
    short_before: int
    depth_before: float
    short_after: int
    depth_after: float
    given_way: int
    price: float


@dataclass(frozen=True)
class StanceRound:
    """A fit after a round: how it stands at rest and at every stance, and what solving for it left.

    Attributes:
        rest: The rest pose.
        stances: The stances.
        given_way: Demands of each stance that gave way.
        price: The largest pull among them, metres.
    """

    rest: State
    stances: tuple[StanceState, ...]
    given_way: tuple[int, ...]
    price: tuple[float, ...]

    @property
    def short(self) -> float:
        """By how much all stances fall short, summed, metres."""
        return sum(one.short for one in self.stances)

    def price_against(self, first: "StanceRound") -> float:
        """By how much all fall short, and more than before the repair at `LOSS_PRICE`, metres."""
        lost = sum(max(now.short - was.short, 0.0) for now, was in zip(self.stances, first.stances))
        return self.short + LOSS_PRICE * lost


@dataclass(frozen=True, eq=False)
class StanceRepair:
    """What stays the same over all rounds.

    Attributes:
        case: The repair at rest.
        planes: One per stance.
        energy: Energy of a change.
        mass: Area of each vertex.
        base_price: Price of base moves.
    """

    case: ClearanceCase
    planes: tuple[StancePlanes, ...]
    energy: csr_array
    mass: Float[np.ndarray, " G"]
    base_price: float

    def begin(self, rest: State) -> StanceRound:
        """How the fit stands before."""
        none = (0,) * len(self.planes)
        return StanceRound(rest, tuple(one.stand(rest.fit) for one in self.planes), none, (0.0,) * len(self.planes))

    def next_round(self, now: StanceRound, held: Int[np.ndarray, "H 2"]) -> tuple[StanceRound, Int[np.ndarray, "N 2"]]:
        """The fit after one more round, and the pairs held at rest.

        Planes of the stances stay as they are within a round; those at rest are gathered until the rest pose is clear.
        """
        parts, scales = self._planes_at_stances(now)
        rest, at_stances = now.rest, both(*parts)
        for _ in range(REST_ROUNDS):
            held = with_new(held, rest.pairs, len(self.case.body.faces))
            priced = rest.priced
            at_rest = self.case.cutting_planes(rest.cloth, held, priced[priced < STRIDE])
            rows, keys = both(at_rest, at_stances)
            caps = np.where(keys < STRIDE, REST_CAP, STANCE_CAP)
            solution = solve(
                self.energy, self.mass, rows, self.case.box.low, self.case.box.high, base_price=self.base_price,
                cap=caps, start=rest.warm(keys), max_steps=MOST_STEPS,
            )  # fmt: skip
            rest = self.case.stand(moved_fit(self.case.fit, solution), solution, keys)
            if rest.settled:
                break
        given, price = self._given_way(solution, rows, keys, scales)
        return StanceRound(rest, tuple(one.stand(rest.fit) for one in self.planes), given, price), held

    def _planes_at_stances(self, now: StanceRound) -> tuple[list[Planes], Float[np.ndarray, " _"]]:
        """The planes of each stance, with keys of its own, and how blending scales each plane, (R,)."""
        priced, parts, scales = now.rest.priced, [], []
        for index, (one, state) in enumerate(zip(self.planes, now.stances), start=1):
            own = priced[priced // STRIDE == index] % STRIDE
            rows, keys, lengths = one.planes(state, own)
            parts.append((rows, keys + STRIDE * index))
            scales.append(lengths)
        return parts, np.concatenate(scales)

    def _given_way(
        self, solution: Solution, rows: Constraints, keys: Int[np.ndarray, " R"], scales: Float[np.ndarray, " _"]
    ) -> tuple[tuple[int, ...], tuple[float, ...]]:
        """Per stance, how many demands pull as hard as they may and still fall short, and the largest pull, metres."""
        own = keys >= STRIDE
        price = (solution.multipliers / self.mass[rows.vertex])[own]
        given = (price > AT_CAP * STANCE_CAP) & (solution.shortfall[own] * scales > ASKED_MORE)
        of = keys[own] // STRIDE
        each = [price[given & (of == index)] for index in range(1, len(self.planes) + 1)]
        return tuple(len(one) for one in each), tuple(float(one.max(initial=0.0)) for one in each)


def clear_stances(
    repair: StanceRepair,
    end: State,
    held: Int[np.ndarray, "H 2"],
    *,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[State, tuple[StanceOutcome, ...]]:
    """From a fit that is clear at rest, the least further change that keeps it off its own skin at every stance.

    Unknowns stay the base and the deltas at rest. Each round adds the planes of every stance to those of the rest
    pose and solves for the whole change from the original fit. Demands of stances can oppose each other: an elbow asks
    for more cloth when bent and for less when straight. Above a price a demand gives way, and what falls short by much
    is not asked for at all; both are reported, never chased. Demands at rest are dearer by ten times, and a round after
    which more falls short at rest than before is not taken.

    Args:
        repair: What is repaired.
        end: Where the repair at rest ended.
        held: Pairs that it held.
        progress: Called with the round and the number of pairs that fall short at stances.

    Proof: tests/repair/test_clear_stances.py
    """
    now = first = best = repair.begin(end)
    for number in range(1, MOST_ROUNDS + 1):
        if now.short == 0.0:
            break
        before = now
        now, held = repair.next_round(now, held)
        if progress is not None:
            progress(number, sum(len(one.pairs) for one in now.stances))
        kept = now.rest.short <= end.short + NEGLIGIBLE
        if kept and now.price_against(first) < best.price_against(first):
            best = now
        if kept and now.short > GAINING * before.short and number > FIRST_ROUNDS:
            break
    names = [one.pair.stance.name for one in repair.planes]
    told = [
        StanceOutcome(name, a.count, a.deepest, b.count, b.deepest, given, price)
        for name, a, b, given, price in zip(names, first.stances, best.stances, best.given_way, best.price)
    ]
    return best.rest, tuple(told)


def stance_repair(
    case: ClearanceCase,
    posed_case: StanceCase,
    stances: Sequence[Stance],
    energy: csr_array,
    mass: Float[np.ndarray, " G"],
    *,
    base_price: float,
) -> StanceRepair:
    """Prepare a repair at rest, and the fit it ended with, for stances."""
    planes = tuple(StancePlanes(posed_case.posed_at(one), case.start, ROOM) for one in stances)
    return StanceRepair(case, planes, energy, mass, base_price)
