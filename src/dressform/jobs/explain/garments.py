"""Explains every garment of a check, in this process or spread over several."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import closing
from dataclasses import dataclass
from time import perf_counter

from dressform.body.body import Body
from dressform.body.stance import Stance
from dressform.causes.action import Action
from dressform.causes.actions.make import make_actions, with_actions
from dressform.causes.explain import explain_garment
from dressform.causes.explained_garment import ExplainedGarment, explained_wardrobe
from dressform.causes.results import Causes, Explanation
from dressform.causes.shared import shared_places
from dressform.faults.results import SEVERITIES
from dressform.faults.severity import DEFAULT_BANDS, Bands
from dressform.faults.wardrobe import Wardrobe
from dressform.fit.fit import Fit
from dressform.sweep.results import SweepResult, SweepRow
from dressform.sweep.staff import run_tasks

Progress = Callable[[int, int], None]
"""Called with the number of garments that are done and the number of all."""


def explain_garments(
    fits: Mapping[str, Fit],
    swept: SweepResult,
    *,
    bands: Bands = DEFAULT_BANDS,
    others: Sequence[Body] = (),
    under: Mapping[str, Sequence[str]] | None = None,
    stances: Sequence[Stance] = (),
    wardrobe: Wardrobe[ExplainedGarment] | None = None,
    workers: int = 1,
    progress: Progress | None = None,
) -> Causes:
    """Find the cause of every fault of a check.

    What is found does not depend on the number of processes.

    Args:
        fits: The garments' fits by key.
        swept: The results of their checks; other keys, and what was found at other stances, are ignored.
        bands: The bands that the sweep graded with.
        others: Other base bodies of the body, on which a garment may have been modelled.
        under: For each key the keys of the garments worn under it.
        stances: Stances at which faults are explained too.
        wardrobe: Garments that are already prepared; its `bands` and `others` are then used.
        workers: Processes, each with a garment of its own at a time; 1 explains in this process.
        progress: Called before the first garment and after every one.

    Proof: tests/causes/test_explain_demo.py
    """
    wardrobe = wardrobe or explained_wardrobe(bands=bands, others=others)
    known = {"", *(stance.pose for stance in stances)}
    tasks = [ExplainTask(key, tuple(row for row in swept.of(key) if row.faults.stance in known)) for key in fits]
    # Those with most faults come first, as they take longest.
    tasks.sort(key=lambda task: -sum(row.faults.severity in SEVERITIES[2:] for row in task.rows))
    job = ExplainJob(fits, wardrobe if workers == 1 else wardrobe.emptied(), under or {}, tuple(stances))
    events = run_tasks(job, tasks, workers=workers)
    done: dict[str, Explained] = {}
    if progress is not None:
        progress(0, len(fits))
    with closing(events):
        for event in events:
            done[event.garment] = event
            if progress is not None:
                progress(len(done), len(fits))
    explained = {key: done[key].explanations for key in fits}
    seconds = {key: done[key].seconds for key in fits}
    return Causes(explained, shared_places(fits, explained), seconds, {key: done[key].actions for key in fits})


@dataclass(frozen=True)
class ExplainTask:
    """A garment to explain, and what a sweep found about it."""

    garment: str
    rows: Sequence[SweepRow]

    @property
    def size(self) -> int:
        """How many shapes it is."""
        return len(self.rows)


@dataclass(frozen=True)
class Explained:
    """A garment was explained."""

    garment: str
    explanations: tuple[Explanation, ...]
    actions: tuple[Action, ...]
    seconds: float


@dataclass(frozen=True)
class ExplainJob:
    """Garments to explain, by key, how they are prepared, what is worn under each, by key, and the stances."""

    fits: Mapping[str, Fit]
    wardrobe: Wardrobe[ExplainedGarment]
    under: Mapping[str, Sequence[str]]
    stances: tuple[Stance, ...] = ()

    def begin(self) -> Callable[[ExplainTask], Iterator[Explained]]:
        """What explains its garments in this process."""
        return self._run

    def _run(self, task: ExplainTask) -> Iterator[Explained]:
        start = perf_counter()
        below = [self.fits[key] for key in self.under.get(task.garment, ())]
        worn = self.wardrobe.worn(self.fits[task.garment], under=below)
        found = explain_garment(worn, task.rows, key=task.garment, stances=self.stances)
        actions = make_actions(worn, task.rows, found, stances=self.stances)
        yield Explained(task.garment, with_actions(found, actions), actions, perf_counter() - start)
