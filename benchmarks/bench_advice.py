"""Is the cause named, and does following the advice cure? On bodies, garments and places that bench_causes never sees.

The demo's bodies are carried to other shapes, which become the base, and its clean garments with them; capes and
ponchos are draped around them. Faults are seeded as in seeded_faults.py. A seed counts where it is seen, and where
its true share, found by taking it out (of a rough morph the noise only), is at least a half. A cause is named rightly
where it was seeded and truly has a half there; of two seeds at one place both may have, and so may the rougher method
by which some seeds let the garment follow. Only tight cloth and another
shape may bring skin in front at the base. Every action is followed by `make_actions`; the printed share of cures is
that of the seeded places. Rows go to the CSV file as they come. Drawing 0 was looked at; what else is drawn
(`--drawings 0 1`) has other bodies and other seeds, takes turns with it, and is printed apart.

    python benchmarks/bench_advice.py advice.csv [--singles 20] [--pairs 6] [--clean 6] [--seconds 200]
    python benchmarks/bench_advice.py advice.csv --first 20 [...]     goes on from there
    python benchmarks/bench_advice.py end.csv --only "beyond an extremity" --singles 240 --pairs 0 --clean 0
    python benchmarks/bench_advice.py advice-3.csv --part 3/15 [...]   a fifteenth of the cases, for as many processes
    python benchmarks/bench_advice.py advice*.csv --report            prints the tables only, of several files too
"""

import argparse
import csv
import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from time import perf_counter
from zlib import crc32

import numpy as np

from advice_scenes import NUMBERS, drapes, scenes
from advice_tables import SEEDED, TRUE, report
from dressform.body.shapes import distinct, end_shapes, shape_at_base
from dressform.causes.action import Action
from dressform.causes.actions.make import make_actions
from dressform.causes.explain import explain_garment
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.patch import near_spot
from dressform.causes.results import (
    BEYOND_EXTREMITY,
    BODY,
    METHOD,
    RIGID_PATCH,
    ROUGH_MORPH,
    TOO_FEW_VERTICES,
    TOO_TIGHT,
    Explanation,
)
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.registry import FAULT_OF, is_on_body
from dressform.faults.results import SEVERITIES
from dressform.fit.make import make_fit
from dressform.sweep.results import SweepRow
from seeded_cases import Case, known_weights, make_case, make_pair, propose, shows, without_noise
from seeded_faults import Seed
from seeded_scenes import Scene

PAIRS = ((TOO_TIGHT, RIGID_PATCH), (TOO_FEW_VERTICES, ROUGH_MORPH), (TOO_TIGHT, TOO_FEW_VERTICES))
ATTEMPTS = 4
"""Seeds that are tried for one case."""
CLEAN_SHAPES = 8
FIELDS = (
    *("drawing", "kind", "name", "truth", "true", "told", "half"),
    *("cured", "offered", "shorter", "graver", "seconds"),
)


def told(scene: Scene, shapes: Sequence[object]) -> tuple[tuple[Explanation, ...], tuple[Action, ...]]:
    """What is said of a scene on some shapes, and what there is to do."""
    rows = [SweepRow(scene.name, one.label, one.weights, scene.measure(one.weights), 0.0, False) for one in shapes]
    worn = ExplainedGarment(scene.fit)
    said = explain_garment(worn, rows, key=scene.name)
    return said, make_actions(worn, rows, said)


def _method_share(case: Case, one: Explanation) -> float:
    """Share of the fault at a place that goes when the garment follows as it did before anything was put in."""
    if case.clean.method == case.scene.method:
        return 0.0
    scene, weights = replace(case.scene, method=case.clean.method), one.cluster.worst.weights
    core = _core(scene, one, scene)
    whole, left = (_at_place(each.check, one, weights, core) for each in (case.scene, scene))
    return float(np.clip(1.0 - left / max(whole, 1e-12), 0.0, 1.0))


def true_share(case: Case, seed: Seed, one: Explanation) -> float:
    """Share of the fault at a place that goes when a seed is taken out; 1 at the base, where nothing is measured."""
    weights = one.cluster.worst.weights
    if not weights.any():
        return 1.0
    left_out = (without_noise(seed),) if seed.cause == ROUGH_MORPH else ()
    rest = case.with_only((*(each for each in case.seeds if each is not seed), *left_out))
    method = case.clean.method if seed.cause == METHOD else case.scene.method
    rest = replace(rest, method=method)
    check = GarmentOnBody(make_fit(rest.body, rest.garment, replace(case.scene.fit.following, method=method)))
    core = _core(case.scene, one, case.scene)
    same = len(rest.garment.vertices) == len(case.scene.garment.vertices)
    whole = _at_place(case.scene.check, one, weights, core)
    left = _at_place(
        check, one, known_weights(case.scene, weights, rest), core if same else _core(rest, one, case.scene)
    )
    return float(np.clip(1.0 - left / max(whole, 1e-12), 0.0, 1.0))


def _core(worn: Scene, one: Explanation, seen: Scene) -> np.ndarray:
    """Vertices of a scene within 2 cm of where a place of another is, at the base."""
    body = is_on_body(one.cluster.fault)
    spot = (seen.body if body else seen.garment).vertices[one.cluster.vertices]
    return near_spot(spot, (worn.body if body else worn.garment).vertices)


def _at_place(check: GarmentOnBody, one: Explanation, weights: np.ndarray, core: np.ndarray) -> float:
    """The fault of a place: the worst vertex of its core, or the sum where values add up."""
    fault = one.cluster.fault
    field = check.field(fault, weights)[core] * (-1.0 if one.cluster.worst.place.value < 0 else 1.0)
    return max(float(field.sum() if FAULT_OF[fault].is_summed else field.max(initial=0.0)), 0.0)


def judged(case: Case, kind: str) -> list[Mapping[str, object]]:
    """A row for each seed of a case: whether its cause is named at its place, and whether the advice there cures."""
    start = perf_counter()
    said, actions = told(case.scene, case.shapes)
    rows = []
    for seed in case.seeds:
        near = [one for one in said if shows(case.scene, seed, one.cluster.worst.place)]
        if not near:
            continue
        named = [each for each in case.seeds if each.cause == near[0].cause]
        action = next((a for a in actions if near[0].cluster.name in a.places), None)
        best = action.offered[0] if action is not None and action.offered else None
        rows.append(
            {
                "kind": kind,
                "name": case.name,
                "truth": seed.cause,
                "true": round(true_share(case, seed, near[0]), 3),
                "told": near[0].cause,
                "half": int(
                    any(true_share(case, each, near[0]) >= TRUE for each in named)
                    or (near[0].cause == METHOD and _method_share(case, near[0]) >= TRUE)
                ),
                "cured": int(best is not None and near[0].cluster.name in best.cured),
                "offered": int(best is not None),
                "shorter": int(best is not None and near[0].cause == BEYOND_EXTREMITY and best.by == BODY),
                "graver": int(best is not None and bool(best.spoilt)),
                "seconds": round(perf_counter() - start, 1),
            }
        )
    return rows


def clean(scene: Scene) -> Mapping[str, object]:
    """What is said of a clean garment; right where nothing is moderate and no cause is given."""
    start = perf_counter()
    shapes = distinct([shape_at_base(scene.body.range), *end_shapes(scene.body.range)])[:CLEAN_SHAPES]
    said, _ = told(scene, shapes)
    worst = max((scene.measure(one.weights).severity for one in shapes), key=SEVERITIES.index)
    causes = sorted({one.cause for one in said if one.cause})
    return dict.fromkeys(FIELDS[1:], "") | {
        "kind": "clean",
        "name": scene.name,
        "truth": worst,
        "told": ", ".join(causes),
        "seconds": round(perf_counter() - start, 1),
    }


def work(count: argparse.Namespace) -> Iterator[list[Mapping[str, object]]]:
    """Cases of all drawings in turn, so that a run that is cut short has as many of each."""
    for together in itertools.zip_longest(*(drawn(count, drawing) for drawing in count.drawings), fillvalue=[]):
        yield from together


def drawn(count: argparse.Namespace, drawing: int) -> Iterator[list[Mapping[str, object]]]:
    """Cases of all kinds in turn, so that a run that is cut short has some of each."""
    worn = scenes(drawing)
    names = sorted(worn, key=lambda name: crc32(name.encode()))
    every = [*drapes(drawing), *worn.values()]
    part, parts = (int(number) for number in count.part.split("/"))
    mine = slice(part, None, parts)
    start = drawing * NUMBERS
    numbers = range(start + count.first, start + count.first + count.singles)
    asked = [number for number in numbers if count.only in ("", SEEDED[number % len(SEEDED)])]
    kinds = (
        (_single(worn, names, number) for number in asked[mine]),
        ([clean(scene)] for scene in every[:: max(1, len(every) // max(count.clean, 1))][: count.clean][mine]),
        (_pair(worn, names, number) for number in range(start, start + count.pairs)[mine]),
    )
    for turn in itertools.cycle((0, 0, 1, 0, 0, 2)):
        rows = next(kinds[turn], None)
        if rows is not None:
            yield [{"drawing": drawing, **row} for row in rows]
        elif turn == 0:
            break
    for rows in itertools.chain(*kinds[1:]):
        yield [{"drawing": drawing, **row} for row in rows]


def _single(worn: Mapping[str, Scene], names: Sequence[str], number: int) -> list[Mapping[str, object]]:
    start = names.index(names[(number * 5 + number // len(SEEDED)) % len(names)])
    case = found(worn, names, start, SEEDED[number % len(SEEDED)], number)
    return [] if case is None else judged(case, "single")


def _pair(worn: Mapping[str, Scene], names: Sequence[str], number: int) -> list[Mapping[str, object]]:
    first, second = PAIRS[number % len(PAIRS)]
    case = found(worn, names, number, first, 100 + number)
    other = None if case is None else propose(case.clean, second, 200 + number)
    pair = None if case is None or other is None else make_pair(case.clean, case, other, f"{case.name} + {second}")
    return [] if pair is None else judged(pair, "pair")


def found(worn: Mapping[str, Scene], names: Sequence[str], start: int, cause: str, number: int) -> Case | None:
    """The first seed of a cause that is seen, on this garment or the next."""
    for attempt in range(ATTEMPTS):
        scene = worn[names[(start + attempt) % len(names)]]
        seed = propose(scene, cause, 1000 + 10 * number + attempt)
        case = None if seed is None else make_case(scene, seed, f"{scene.name}: {cause}, {number}")
        if case is not None:
            return case
    return None


def main() -> None:
    """Run what is missing, then print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("csv", type=Path, nargs="+")
    for name, number in (("singles", 18), ("pairs", 3), ("clean", 6)):
        parser.add_argument(f"--{name}", type=int, default=number)
    parser.add_argument("--first", type=int, default=0, help="number of the first single; earlier rows are kept")
    parser.add_argument("--seconds", type=float, default=200.0)
    parser.add_argument("--only", default="", choices=["", *SEEDED], help="singles of this cause only")
    parser.add_argument("--drawings", type=int, nargs="+", default=[0], help="0 was looked at, others were not")
    parser.add_argument("--part", default="0/1", metavar="I/N", help="every Nth case from the Ith; the first is 0")
    parser.add_argument("--report", action="store_true")
    asked = parser.parse_args()
    if not asked.report:
        start = perf_counter()
        with asked.csv[0].open("a" if asked.first else "w", newline="", encoding="utf-8") as stream:
            writer = csv.DictWriter(stream, FIELDS)
            if not stream.tell():
                writer.writeheader()
            for rows in work(asked):
                writer.writerows(rows)
                stream.flush()
                if perf_counter() - start > asked.seconds:
                    break
    rows: list[Mapping[str, str]] = []
    for path in asked.csv:
        with path.open(newline="", encoding="utf-8") as stream:
            rows += csv.DictReader(stream)
    report(rows)


if __name__ == "__main__":
    main()
