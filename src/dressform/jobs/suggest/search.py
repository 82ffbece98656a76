"""The search for how a garment should follow: what eases most and makes nothing graver, on a few telling shapes."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np

from dressform.body.shapes import BASE_LABEL, Shape
from dressform.faults.fault import CLOTH
from dressform.faults.graded.clearance import CLEARANCE
from dressform.faults.registry import FAULT_OF
from dressform.formats.results.suggest_schema import TriedVerdict
from dressform.garment.following import Following
from dressform.jobs.suggest.shared import SharedGarment, key_of_following
from dressform.jobs.suggest.ways import Way, all_ways, falloff_ways, plain_ways
from dressform.jobs.suggest.weigh import STIFF, Change, Left, badness, eased, graver, worst

ROUNDS = 3
"""So many changes are put on one another."""
BETTER = 0.1
"""A change must lower the badness by so much, a tenth of a grade, to be taken beside those before it."""
PER_FAULT = 2
"""So many of the worst shapes of each graded fault are looked at;"""
SPREAD = 4
"""beside so many of the others, and the worst corners of the range."""
TRADED = frozenset((CLEARANCE.key,))
"""Faults that may be the price of what a way eases, for a person to weigh; such a way is never suggested.

What is held in the hand leaves the thigh beside it where the hand does: its clearance there changes, and rightly so.
"""
LEAST_SPOT = 4
"""Vertices; a smaller spot is not painted."""

EASES: Final = "eases"
TRADES: Final = "trades"
NO_BETTER: Final = "no better"
GRAVER: Final = "graver"


@dataclass(frozen=True)
class TriedFollowing:
    """One way of following, and what became of it.

    Attributes:
        words: The changes, for people.
        following: How the garment follows then.
        verdict: `eases`, `trades` (by a grade, at the price of clearance alone), `no better` or `graver`.
        changes: What it eases; or, where it makes something graver, that, on the first shape that shows it.
        price: What is graver where it trades, at its worst.
        shape: The shape that shows what is graver; None where nothing is.
        shapes: Shapes on which it was measured: no more than needed to see that something is graver.
        badness: How bad what it leaves is; infinite where something is graver.
    """

    words: str
    following: Following
    verdict: TriedVerdict
    changes: tuple[Change, ...]
    price: tuple[Change, ...]
    shape: Shape | None
    shapes: int
    badness: float


@dataclass
class Search:
    """The search for one garment.

    Attributes:
        shared: The garment.
        start: What a check found of it as it follows now, by shape.
        looked: Shapes on which ways are tried.
        tried: Every way that was tried, by its content.
    """

    shared: SharedGarment
    start: Sequence[tuple[Shape, Left]]
    looked: list[Shape] = field(default_factory=list)
    tried: dict[bytes, TriedFollowing] = field(default_factory=dict)

    def __post_init__(self) -> None:
        now = self.shared.start.following
        for shape, left in self.start:
            self.shared.know(now, shape, left)
        self.looked = self.looked or telling_shapes(self.start)

    @property
    def is_clean(self) -> bool:
        """Whether nothing is graded as it follows now, likely stiff parts that bend among it."""
        return not any(any(left.grades.values()) for _, left in self.start)

    def best(self) -> tuple[Way, ...]:
        """The changes that ease most and make nothing graver; none where it should follow as it does."""
        self.tried.clear()
        if self.is_clean:
            for way in plain_ways(self.shared):
                self._try((way,))
            return ()
        posed = any(shape.stance is not None for shape in self.looked)
        ways = all_ways(self.shared, self._spots(), posed=posed)
        first = [(way, self._try((way,))) for way in ways]
        helpful = [way for way, one in first if one.verdict == EASES]
        taken: tuple[Way, ...] = ()
        now = badness(
            [self.shared.left(self.shared.start.following, shape) for shape in self.looked], self.shared.bands
        )
        for _ in range(ROUNDS if helpful else 0):
            if now < BETTER:
                break
            following = followed(self.shared.start.following, taken)
            more = [way for way in (*helpful, *falloff_ways(following)) if way not in taken]
            tries = [(way, self._try((*taken, way))) for way in more]
            good = [(one.badness, number) for number, (_, one) in enumerate(tries) if one.verdict == EASES]
            if not good or (least := min(good))[0] > now - BETTER:
                break
            near = [number for bad, number in good if bad <= least[0] + BETTER]
            chosen = min(near)
            taken, now = (*taken, tries[chosen][0]), tries[chosen][1].badness
        return self._needed(taken)

    def without(self, taken: Sequence[Way], way: Way) -> TriedFollowing:
        """The same without one of the changes."""
        return self._try(tuple(one for one in taken if one is not way))

    def whole(self, taken: Sequence[Way]) -> TriedFollowing:
        """All of the changes."""
        return self._try(taken)

    def _needed(self, taken: tuple[Way, ...]) -> tuple[Way, ...]:
        """Those of the changes without which it is worse."""
        for way in taken[:-1]:
            rest = tuple(one for one in taken if one is not way)
            whole, less = self._try(taken), self._try(rest)
            if less.verdict == EASES and less.badness <= whole.badness + BETTER:
                taken = rest
        return taken

    def _try(self, ways: Sequence[Way]) -> TriedFollowing:
        """Measure a way on the shapes one by one, until something is graver."""
        following = followed(self.shared.start.following, ways)
        key = key_of_following(following)
        if key not in self.tried:
            words = " and ".join(way.words for way in ways) or "as it follows now"
            self.tried[key] = self._measured(words, following)
        return self.tried[key]

    def _measured(self, words: str, following: Following) -> TriedFollowing:
        shared, start = self.shared, self.shared.start.following
        before, after, price = list[Left](), list[Left](), list[Change]()
        for number, shape in enumerate(self.looked):
            before.append(shared.left(start, shape))
            after.append(shared.left(following, shape))
            worse = graver(before[-1], after[-1], number)
            price += worse
            if any(one.fault not in TRADED for one in worse):
                return TriedFollowing(words, following, GRAVER, tuple(worse), (), shape, number + 1, np.inf)
        gained, count = tuple(eased(before, after)), len(self.looked)
        if not price:
            verdict: TriedVerdict = EASES if gained else NO_BETTER
            return TriedFollowing(words, following, verdict, gained, (), None, count, badness(after, shared.bands))
        most = max(price, key=lambda one: one.after)
        shape, gained = self.looked[most.shape], tuple(one for one in gained if one.grade_after < one.grade_before)
        if gained:
            return TriedFollowing(words, following, TRADES, gained, (most,), shape, count, np.inf)
        return TriedFollowing(words, following, GRAVER, (most,), (), shape, count, np.inf)

    def _spots(self) -> dict[str, np.ndarray]:
        """The cloth on which each graded fault lies at its worst shape, by the words of the fault."""
        shared, found = self.shared, {}
        worn = shared.look(shared.start.following)
        for key, (_, grade, number) in worst([left for _, left in self.start]).items():
            if key == STIFF or grade == 0:
                continue
            fault, shape = FAULT_OF[key], self.start[number][0]
            if fault.on == CLOTH and fault.field is not None and not fault.is_summed and not fault.is_constant:
                spot = np.abs(worn.field(key, shape.weights, shape.stance)) >= shared.bands[key][0]
                if spot.sum() >= LEAST_SPOT:
                    found[fault.words] = spot
        return found


def followed(start: Following, ways: Sequence[Way]) -> Following:
    """How it follows with some changes."""
    for way in ways:
        start = way.on(start)
    return start


def telling_shapes(start: Sequence[tuple[Shape, Left]]) -> list[Shape]:
    """The few shapes on which ways are tried: the worst of each graded fault, the worst corners, and some others."""
    lefts = [left for _, left in start]
    chosen: dict[int, None] = {}
    for key, (_, grade, _) in worst(lefts).items():
        if grade > 0:
            order = np.argsort([-left.values[key] for left in lefts], kind="stable")
            chosen.update(dict.fromkeys(int(number) for number in order[:PER_FAULT]))
    labels = [shape.label for shape, _ in start]
    chosen.update(dict.fromkeys(number for number, label in enumerate(labels) if label.startswith("worst ")))
    rest = [number for number in range(len(start)) if number not in chosen and labels[number] != BASE_LABEL]
    step = max(len(rest) // SPREAD, 1)
    chosen.update(dict.fromkeys(rest[::step][:SPREAD]))
    return [start[number][0] for number in chosen]
