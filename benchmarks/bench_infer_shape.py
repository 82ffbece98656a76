"""How truly the shape is inferred that a garment was modelled on, as Markdown tables for docs/infer_shape.md.

Run: python benchmarks/bench_infer_shape.py
The constants of the search were chosen on the first table's garments (woman, shapes 0 to 9); the others are held out.
"""

import argparse
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from dressform.body.body import Body
from dressform.demo.body import make_demo_bodies
from dressform.errors import MeshError
from dressform.infer.results import CUT_LOOSE, OTHER_BASE, OTHER_SHAPE, VERDICTS, InferredShape
from dressform.infer.shape import infer_shape
from modelled_garments import Worn, random_weights, wear

SIX = ("guernsey", "trousers", "skirt", "waistcoat", "coat", "gloves")
HELD_OUT = ("clogs", "souwester")
TUNING, FRESH, MEN = range(10), range(100, 110), range(200, 210)
BASES = range(300, 310)
UNCUT = "not cut"


@dataclass(frozen=True)
class Trial:
    """One garment and what was inferred."""

    worn: Worn
    found: InferredShape
    seconds: float

    @property
    def inside(self) -> bool:
        """Whether the true weights lie in the set."""
        return self.found.holds(self.worn.weights)

    @property
    def stored_errors(self) -> list[float]:
        """Error along each direction that the garment is said to tell."""
        away = self.found.weights - self.worn.weights
        return [abs(float(direction.mix @ away)) for direction in self.found.directions if direction.told]


def main() -> None:
    """Print every table."""
    few = argparse.ArgumentParser(description=__doc__)
    few.add_argument("--shapes", type=int, default=10, help="shapes per table")
    count = few.parse_args().shapes
    bodies = make_demo_bodies()
    for title, base, names, seeds in (
        ("woman, six garments, the shapes that the constants were chosen on", "woman", SIX, TUNING),
        ("woman, six garments, fresh shapes", "woman", SIX, FRESH),
        ("man, fresh shapes", "man", SIX, MEN),
        ("woman, garments that no constant was chosen on", "woman", HELD_OUT, FRESH),
    ):
        show(title, coverage(bodies, base, names, list(seeds)[:count]))
    show("verdicts", verdicts(bodies, list(BASES)[:count]))


def coverage(bodies: Mapping[str, Body], base: str, names: Sequence[str], seeds: Sequence[int]) -> Iterator[str]:
    """Rows of a table, one per garment and one for all."""
    yield "garment | true weights in the set | told directions | median error along them | 95 % | CPU, median ms"
    everything = []
    for name in names:
        trials = [trial(bodies, name, base, random_weights(bodies[base], seed), seed) for seed in seeds]
        everything += trials
        yield _row(name, trials)
    yield _row("all", everything)


def trial(bodies: Mapping[str, Body], name: str, base: str, weights: np.ndarray, seed: int) -> Trial:
    """Cut one garment and infer its shape."""
    worn = wear(bodies, name, base, weights, seed)
    start = time.process_time()
    found = infer_shape(bodies[base], worn.garment)
    return Trial(worn, found, time.process_time() - start)


def verdicts(bodies: Mapping[str, Body], seeds: Sequence[int]) -> Iterator[str]:
    """Rows of the confusion matrix: what garments are and what they are said to be."""
    yield "garment is | " + " | ".join((*VERDICTS, UNCUT))
    for truth in VERDICTS:
        counts = dict.fromkeys((*VERDICTS, UNCUT), 0)
        for name in SIX:
            for seed in seeds:
                counts[said(bodies, name, truth, seed)] += 1
        yield f"{truth} | " + " | ".join(str(count) for count in counts.values())


def said(bodies: Mapping[str, Body], name: str, truth: str, seed: int) -> str:
    """What a garment of one kind is said to be."""
    base, other = ("woman", "man") if seed % 2 else ("man", "woman")
    body, rest = bodies[base], bodies[other]
    weights = random_weights(body, seed) if truth == OTHER_SHAPE else np.zeros(len(body.morph_names))
    try:
        worn = wear(bodies, name, other if truth == OTHER_BASE else base, weights, seed, cut_loose=truth == CUT_LOOSE)
    except MeshError:  # the tailor cannot cut every garment for every shape
        return UNCUT
    return infer_shape(body, worn.garment, others=(rest,)).verdict


def _row(name: str, trials: Iterable[Trial]) -> str:
    kept = list(trials)
    errors = [error for one in kept for error in one.stored_errors]
    inside = sum(one.inside for one in kept)
    middle, most = (f"{value:.3f}" for value in np.percentile(errors, [50, 95])) if errors else ("–", "–")
    milliseconds = 1e3 * float(np.median([one.seconds for one in kept]))
    told = len(errors) / len(kept)
    return f"{name} | {inside} of {len(kept)} | {told:.1f} | {middle} | {most} | {milliseconds:.0f}"


def show(title: str, rows: Iterator[str]) -> None:
    """Print a Markdown table."""
    head, *rest = rows
    print(f"\n### {title}\n\n| {head} |\n|{'---|' * (head.count('|') + 1)}", flush=True)
    for row in rest:
        print(f"| {row} |", flush=True)


if __name__ == "__main__":
    main()
