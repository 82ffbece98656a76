"""Does an explanation name the cause that was put in? Confusion, precision, recall, calibration, misses.

Faults are seeded into clean garments of the demo, and of a real body where one is at hand (`DRESSFORM_DATA`):
seeded_faults.py says how, seeded_cases.py where. Every case is checked and explained at the base and the few
shapes that show it. Rows go to the CSV file as they come; a second run goes on where the first one stopped. Of several
runs on one file, each with its `--part`, every one takes its share of the garments. `--report` only prints the tables.

    python benchmarks/bench_causes.py causes.csv [--only CAUSE] [--garments NAME ...] [--quick] [--part 1/2] [--report]
"""

import argparse
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from pathlib import Path
from time import perf_counter

import numpy as np

from causes_tables import (
    APART,
    CLEAN,
    DROPPED,
    NONE,
    SAME,
    SEPARATOR,
    SINGLE,
    UNSEEN,
    Row,
    add_row,
    print_tables,
    read_rows,
)
from dressform.body.shapes import Shape
from dressform.causes.explain import explain_garment
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.results import (
    ANOTHER_SHAPE,
    CAUSES,
    RIGID_PATCH,
    SHOULD_NOT_FOLLOW,
    TOO_FEW_VERTICES,
    TOO_TIGHT,
    Explanation,
)
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.sweep.results import SweepRow
from seeded_cases import NEAR, Case, apart, at_place, known_weights, make_case, make_pair, propose, shows
from seeded_faults import Seed
from seeded_scenes import Scene, clean_scenes

CASES = 2
"""Cases of each garment and cause, and of each garment with two causes at one place and at two."""
ATTEMPTS = 6
"""Seeds tried for each of them."""
QUICK_GARMENTS = ("guernsey", "trousers", "gloves", "man_waistcoat", "real vest 10 mm")
SAME_PLACE = (
    (TOO_FEW_VERTICES, TOO_TIGHT),
    (RIGID_PATCH, SHOULD_NOT_FOLLOW),
    (TOO_FEW_VERTICES, ANOTHER_SHAPE),
    (TOO_TIGHT, RIGID_PATCH),
    (TOO_TIGHT, SHOULD_NOT_FOLLOW),
    (SHOULD_NOT_FOLLOW, ANOTHER_SHAPE),
    (TOO_FEW_VERTICES, SHOULD_NOT_FOLLOW),
    (TOO_FEW_VERTICES, RIGID_PATCH),
)
TWO_PLACES = (
    (TOO_FEW_VERTICES, TOO_TIGHT),
    (TOO_TIGHT, SHOULD_NOT_FOLLOW),
    (TOO_FEW_VERTICES, SHOULD_NOT_FOLLOW),
)
LIFTS = (("smooth", "keep"), ("smooth", "scale"), ("surface", "keep"), ("nearest-three", "keep"))
"""Ways and ease policies by which clean garments follow."""
CLEAN_SHAPES = 8
"""Shapes on which a clean garment is explained at most."""
MIN_PART = 0.15
"""Part of some fault that each of two causes at one place must truly have, for the pair to count."""
FIELD_REACH = 0.10
"""How far around a cluster a garment made for another shape is looked at, metres."""


@dataclass(frozen=True)
class Stored:
    """A scene explained: what was said, and the seconds that checking and explaining took."""

    said: tuple[Explanation, ...]
    check: float
    explain: float


def tell(scene: Scene, shapes: Sequence[Shape]) -> Stored:
    """Check and explain a scene on some shapes."""
    start = perf_counter()
    check = GarmentOnBody(scene.fit)
    rows = [
        SweepRow(scene.name, shape.label, shape.weights, check.measure(shape.weights), 0.0, False) for shape in shapes
    ]
    middle = perf_counter()
    said = explain_garment(ExplainedGarment(scene.fit), rows, key=scene.name)
    return Stored(said, middle - start, perf_counter() - middle)


def judged(case: Case, kind: str) -> Row:
    """One row about a case; of kind `dropped` where one of two causes at one place has no part in any fault there."""
    told = tell(case.scene, case.shapes)
    near = [[e for e in told.said if shows(case.scene, seed, e.cluster.worst.place)] for seed in case.seeds]
    here = list({e.cluster.name: e for each in near for e in each}.values())
    truth = [seed.cause for seed in case.seeds]
    true = {e.cluster.name: true_shares(case, e) for e in here}
    if kind == SAME and not all(any(parts[k] >= MIN_PART for parts in true.values()) for k in (0, 1)):
        kind = DROPPED
    head = here[0] if here else None
    told_here = two_largest(here) if kind == SAME else [top(each) for each in near]
    away = [e for e in told.said if e.cluster.name not in true and e.cause]
    return Row(
        name=case.name,
        kind=kind,
        garment=case.clean.name,
        truth=SEPARATOR.join(truth),
        told=SEPARATOR.join(told_here),
        fault=head.cluster.fault if head else "",
        severity=head.cluster.worst.place.severity if head else "",
        shape=head.cluster.worst.label if head else case.shapes[-1].label,
        strength=" ".join(f"{seed.strength:.3g}" for seed in case.seeds),
        share=next((s.share for s in head.shares if s.cause == truth[0]), 0.0) if head else 0.0,
        true_share=true[head.cluster.name][0] if head else float("nan"),
        clusters=len(told.said),
        wrong_elsewhere=sum(e.cause not in truth for e in away),
        check_seconds=told.check,
        explain_seconds=told.explain,
    )


def top(near: Sequence[Explanation]) -> str:
    """The cause of the cluster that a wearer would notice most."""
    return (near[0].cause or NONE) if near else UNSEEN


def two_largest(near: Sequence[Explanation]) -> list[str]:
    """The two causes that carry most of the faults at one place: shares, weighted by how much is noticed of each."""
    sums = dict.fromkeys(CAUSES, 0.0)
    for said in near:
        for share in said.shares:
            sums[share.cause] += share.share * said.cluster.noticed
    largest = sorted((cause for cause in CAUSES if sums[cause] > 0), key=lambda cause: -sums[cause])
    return [*largest, *([NONE if near else UNSEEN] * 2)][:2]


def true_shares(case: Case, said: Explanation) -> tuple[float, ...]:
    """What part of a cluster's fault goes away with each seed, averaged over the orders of taking them out."""

    def left(seeds: tuple[Seed, ...]) -> float:
        return fault_left(case, seeds, said)

    whole = left(case.seeds)
    if whole <= 0:  # the check counts nothing at the base: what is wrong there is the garment's own
        return tuple(float("nan") for _ in case.seeds)
    if len(case.seeds) == 1:
        parts = [whole - left(())]
    else:
        first, second, none = left(case.seeds[:1]), left(case.seeds[1:]), left(())
        parts = [0.5 * (whole - second + first - none), 0.5 * (whole - first + second - none)]
    return tuple(float(np.clip(part / whole, 0.0, 1.0)) for part in parts)


def fault_left(case: Case, seeds: tuple[Seed, ...], said: Explanation) -> float:
    """The fault at a cluster's place and shape with some of the seeds only, in the unit of its band."""
    scene, worst = case.with_only(seeds), said.cluster.worst
    weights = known_weights(case.scene, worst.weights, scene)
    here = case.scene.base_point(worst.place)
    reach = max((seed.radius for seed in case.seeds if np.isfinite(seed.radius)), default=FIELD_REACH) + NEAR
    values = [
        abs(place.value)
        for place in scene.measure(weights).places
        if place.fault == worst.place.fault and np.linalg.norm(scene.base_point(place) - here) <= reach
    ]
    return max(values, default=0.0)


def singles(scene: Scene, cause: str, count: int, done: Mapping[str, str]) -> Iterator[Row]:
    """Rows of one garment and cause, those of dropped seeds among them."""
    kept = 0
    for number in range(ATTEMPTS * count):
        name = f"{scene.name}: {cause}, {number + 1}"
        kept += done.get(name, DROPPED) != DROPPED
        if name in done or kept >= count:
            continue
        seed = propose(scene, cause, number)
        if seed is None:
            return
        case = make_case(scene, seed, name)
        if case is None:
            yield Row(name, DROPPED, scene.name, cause)
            continue
        kept += 1
        yield judged(case, SINGLE)


def pairs(scene: Scene, kind: str, count: int, done: Mapping[str, str]) -> Iterator[Row]:
    """Rows of two causes in one garment, at one place or at two; the first is one that was seen alone."""
    choices = SAME_PLACE if kind == SAME else TWO_PLACES
    start = np.random.default_rng(list(scene.name.encode())).integers(len(choices))
    kept = 0
    for attempt in range(len(choices)):
        first, second = choices[(start + attempt) % len(choices)]
        name = f"{scene.name}: {first}{SEPARATOR}{second}, {kind}"
        kept += done.get(name, DROPPED) != DROPPED
        if name in done or kept >= count:
            continue
        firsts, seconds = _seen(scene, first, done), _proposed(scene, second)
        if not firsts or not seconds:
            continue
        case = _paired(scene, firsts, seconds, kind, name)
        row = Row(name, DROPPED, scene.name, f"{first}{SEPARATOR}{second}") if case is None else judged(case, kind)
        kept += row.kind != DROPPED
        yield row


def _seen(scene: Scene, cause: str, done: Mapping[str, str]) -> list[Seed]:
    """Seeds of a cause that were seen alone in a garment."""
    numbers = [n for n in range(ATTEMPTS * CASES) if done.get(f"{scene.name}: {cause}, {n + 1}") == SINGLE]
    return [seed for seed in (propose(scene, cause, number) for number in numbers) if seed is not None]


def _proposed(scene: Scene, cause: str) -> list[Seed]:
    """Seeds of a cause, whether seen alone or not."""
    return [seed for seed in (propose(scene, cause, n) for n in range(ATTEMPTS * CASES)) if seed is not None]


def _paired(scene: Scene, firsts: Sequence[Seed], seconds: Sequence[Seed], kind: str, name: str) -> Case | None:
    """The first two seeds that go together, the second one where the first is or far from it."""
    likely = [(one, two) for one, two in product(firsts, seconds) if kind == SAME or apart(one, two)]
    for one, two in likely[:ATTEMPTS]:
        alone = make_case(scene, one, name)
        second = at_place(scene, two, one) if kind == SAME else two
        pair = None if alone is None else make_pair(scene, alone, second, name)
        if pair is not None:
            return pair
    return None


def clean(scene: Scene, method: str, ease: str) -> Row:
    """A clean garment under one lift: every cluster that is told is a false alarm."""
    lifted = replace(scene, method=method, ease=ease)
    shapes = [shape for shape in scene.clean_shapes if lifted.clean_at(shape)][:CLEAN_SHAPES]
    told = tell(lifted, shapes)
    head = told.said[0] if told.said else None
    return Row(
        name=f"{scene.name}: {CLEAN}, {method}, {ease}",
        kind=CLEAN,
        garment=scene.name,
        told=SEPARATOR.join(sorted({said.cause or NONE for said in told.said})),
        fault=head.cluster.fault if head else "",
        severity=head.cluster.worst.place.severity if head else "",
        shape=f"{len(shapes)} shapes" if head is None else head.cluster.worst.label,
        clusters=len(told.said),
        check_seconds=told.check,
        explain_seconds=told.explain,
    )


def rows_of(scenes: Sequence[Scene], options: argparse.Namespace, done: Mapping[str, str]) -> Iterator[Row]:
    """Every row that is not there yet: all single causes first, then pairs, then what is clean."""

    def wanted(words: str) -> bool:
        return not options.only or options.only in words

    for scene in scenes:
        for cause in CAUSES:
            if wanted(cause):
                yield from singles(scene, cause, options.cases, done)
    for scene in scenes if wanted("pairs") else ():
        for kind in (APART, SAME):
            yield from pairs(scene, kind, options.cases, done)
    for scene in scenes if wanted(CLEAN) else ():
        for method, ease in LIFTS:
            if f"{scene.name}: {CLEAN}, {method}, {ease}" not in done:
                yield clean(scene, method, ease)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("rows", type=Path, help="CSV file with one row per case")
    parser.add_argument("--only", help=f"words of one cause, `pairs` or `{CLEAN}`")
    parser.add_argument("--garments", nargs="*", help="names of clean garments; all where left out")
    parser.add_argument("--quick", action="store_true", help="few garments where none are named, one case of each kind")
    parser.add_argument("--cases", type=int, default=CASES, help="cases of each kind and garment")
    parser.add_argument("--part", default="1/1", help="which share of the garments, such as 1/2")
    parser.add_argument("--report", action="store_true", help="print the tables of the rows that are there")
    options = parser.parse_args()
    options.cases = 1 if options.quick else options.cases
    if not options.report:
        part, parts = (int(word) for word in options.part.split("/"))
        wanted = options.garments or (QUICK_GARMENTS if options.quick else ())
        scenes = [scene for name, scene in clean_scenes().items() if not wanted or name in wanted]
        done = {row.name: row.kind for row in read_rows(options.rows)}
        for row in rows_of(scenes[part - 1 :: parts], options, done):
            done[row.name] = row.kind
            add_row(options.rows, row)
            print(f"{row.name}: {row.kind} {row.fault} {row.severity}, named {row.told or '-'}", flush=True)
    print_tables(read_rows(options.rows))


if __name__ == "__main__":
    main()
