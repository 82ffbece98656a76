"""What a search suggests, checked over the whole range; where anything is graver there, the search goes on."""

import time
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from dressform.body.body import Body
from dressform.body.shapes import Shape
from dressform.faults.body_context import BodyContext
from dressform.faults.severity import Bands
from dressform.fit.fit import Fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.jobs.fit import fit
from dressform.jobs.progress import Step
from dressform.jobs.suggest.search import Search, followed
from dressform.jobs.suggest.shared import SharedGarment, key_of_shape
from dressform.jobs.suggest.ways import Way
from dressform.jobs.suggest.weigh import Left, graver
from dressform.sweep.results import SweepRow

SECOND_THOUGHTS = 4
"""So often a search goes on with shapes on which a check of what it found shows something graver."""

Checked = Mapping[str, Sequence[SweepRow]]
CheckFits = Callable[[Mapping[str, Fit], str], Checked]
"""Checks fits by name as `dressform check` does, with words for what is being done; the rows of each."""
LeftRows = Sequence[tuple[Shape, Left]]


@dataclass
class Suggesting:
    """One garment on the way to how it should follow.

    Attributes:
        garment: The garment.
        search: The search for it.
        taken: The changes that are suggested; none where it should follow as it does.
        after: What a check finds with them.
        seconds: What searching took.
    """

    garment: Garment
    search: Search
    taken: tuple[Way, ...] = ()
    after: LeftRows = ()
    seconds: float = 0.0

    @property
    def following(self) -> Following:
        """How it should follow."""
        return followed(self.search.shared.start.following, self.taken)

    def look(self) -> None:
        """Search, on all shapes that are known to tell."""
        began = time.perf_counter()
        self.taken = self.search.best()
        self.after = self.search.start
        self.seconds += time.perf_counter() - began

    def accept(self, rows: Sequence[SweepRow], fitted: Fit) -> bool:
        """Take over the check of what is suggested; where it is graver on any shape of either check, search on.

        Returns:
            Whether the matter is settled.
        """
        shared, start, following = self.search.shared, self.search.shared.start.following, self.following
        after = left_rows(shared, fitted, rows)
        for shape, left in after:
            shared.know(following, shape, left)
        shapes = {key_of_shape(shape): shape for shape, _ in (*after, *self.search.start)}.values()
        worse = [one for one in shapes if graver(shared.left(start, one), shared.left(following, one))]
        if not worse:
            self.after = after
            return True
        self.search.looked = [*worse, *self.search.looked]
        self.look()
        return not self.taken

    def give_up(self) -> None:
        """Leave it as it follows now."""
        self.taken, self.after = (), self.search.start


def suggest_all(
    body: Body,
    garments: Sequence[Garment],
    fits: Mapping[str, Fit],
    *,
    check: CheckFits,
    bands: Bands,
    searched: Step | None = None,
) -> list[Suggesting]:
    """How each garment should follow, as far as each can be checked.

    Args:
        body: The body.
        garments: The garments as they were read.
        fits: How they follow now, by name.
        check: Checks fits.
        bands: From which value on a fault is slight, moderate, grave.
        searched: Told how many garments have been searched.
    """
    context = BodyContext(body)
    first = check(fits, "checking how they follow now")
    sound = [one for one in garments if one.name in first]
    found = []
    for number, garment in enumerate(sound, start=1):
        fitted = fits[garment.name]
        shared = SharedGarment(fitted, garment, context=context, bands=bands)
        one = Suggesting(garment, Search(shared, left_rows(shared, fitted, first[garment.name])))
        one.look()
        found.append(one)
        if searched is not None:
            searched(number, len(sound))
    waiting = [one for one in found if one.taken]
    for _ in range(SECOND_THOUGHTS):
        if not waiting:
            break
        asked = {one.garment.name: fit(body, one.garment, one.following, tree=context.tree) for one in waiting}
        rows = check(asked, "checking what is suggested")
        for one in waiting:
            if one.garment.name not in rows:
                one.give_up()
        waiting = [
            one for one in waiting if one.taken and not one.accept(rows[one.garment.name], asked[one.garment.name])
        ]
    for one in waiting:
        one.give_up()
    return found


def left_rows(shared: SharedGarment, fitted: Fit, rows: Sequence[SweepRow]) -> LeftRows:
    """The rows of a check, graded, each with its shape."""
    shapes = [Shape(row.label, row.weights, row.stance) for row in rows]
    return [(shape, shared.graded(row.values, fitted, shape)) for shape, row in zip(shapes, rows)]
