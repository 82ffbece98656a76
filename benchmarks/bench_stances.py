"""Faults at stances: what is seen against the referee, what the closed form and the search find, and what it costs.

python benchmarks/bench_stances.py FOLDER [--garment guernsey] [--stances NAME …] [--cost [--shapes 64]]

FOLDER holds `body.glb` and `garments/`, as `dressform demo` writes them. The garment is fitted, not repaired. The first
table holds the skin that the measure says is seen against the referee's count, on the base, with every morph at its
high end, and on three shapes of the sample. The second holds, per stance, the most that the sample shows, the most at
the corners of the closed form, and what the search adds. `--cost` times all faults of one shape at rest and at each of
15 stances, then 15 stances × 64 shapes on two processes. Times of one shape are processor time, so that other work on
the machine does not count; that of the sweep, whose goal is 90 s, is by the clock, since the processes that do the work
are no children of this one.
"""

import argparse
import time
from pathlib import Path

import numpy as np

import dressform as df
from dressform.body.shapes import Shape, sobol_shapes
from dressform.body.stance import Stance
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.fit.fit import Fit
from dressform.fit.posed import posed_fit
from dressform.sweep.run import run_sweep
from dressform.sweep.search import search_worse
from dressform.sweep.worst import worst_shapes
from referee import Referee
from stance_scenes import TURNS, demo_stances

CM2 = 1e4
EVERYDAY = ("walk", "bow", "sit", "arms forward", "elbows 90°")
SHOWN = (*EVERYDAY, "elbows 140°", "arms up", "arms down")
SAMPLE = 16
GOAL = 1.5
PROCESSES = 2


def loaded(folder: Path, garment: str) -> Fit:
    """The fit of one garment of the demo."""
    body = df.load_body(folder / "body.glb", base="woman")
    return df.fit(body, df.load_garment(folder / "garments" / f"{garment}.glb"))


def seen(worn: GarmentOnBody, stances: list[Stance]) -> None:
    """Skin that is seen: the measure against the referee."""
    fit, body = worn.fit, worn.body
    referee = Referee(body.vertices, body.faces, fit.base, fit.garment.faces)
    shapes = [Shape("base", np.zeros(len(body.morph_names))), Shape("high", body.range.high)]
    shapes += sobol_shapes(body.range, 3)
    print(f"\n{'stance':14s}" + "".join(f"{shape.label:>18s}" for shape in shapes) + "   measure / referee, cm²")
    apart = []
    for stance in stances:
        cells = []
        for shape in shapes:
            look = worn.look(shape.weights, stance)
            ours = worn.measure(shape.weights, stance).show_through.exposed_area * CM2
            theirs = referee.count(look.body, look.cloth).through * CM2
            apart.append((abs(ours - theirs), theirs))
            cells.append(f"{ours:8.1f} / {theirs:7.1f}")
        print(f"{stance.name:14s}" + "".join(f"{cell:>18s}" for cell in cells), flush=True)
    good = sum(off <= max(1.0, 0.1 * theirs) for off, theirs in apart)
    print(f"within 10 % or 1 cm²: {good} of {len(apart)}; farthest {max(off for off, _ in apart):.1f} cm²")


def worst(worn: GarmentOnBody, stances: list[Stance]) -> None:
    """What the sample, the closed form and the search find."""
    print(f"\n{'stance':14s}{'sample of 16':>14s}{'closed form':>14s}{'search':>14s}   most skin seen, cm²")
    box = worn.body.range
    for stance in stances:
        sample = [Shape(one.label, one.weights, stance) for one in sobol_shapes(box, SAMPLE)]
        corners = [
            Shape(one.shape.label, one.shape.weights, stance) for one in worst_shapes(posed_fit(worn.fit, stance))
        ]
        rows = run_sweep({"": worn.fit}, {"": [*sample, *corners]}).rows
        areas = [row.faults.show_through.exposed_area * CM2 for row in rows]
        found = [row.faults.show_through.exposed_area * CM2 for row in search_worse(worn, rows, [stance])]
        most = max(areas)
        print(f"{stance.name:14s}{max(areas[:SAMPLE]):14.1f}{max(areas[SAMPLE:], default=0.0):14.1f}"
              f"{max([most, *found]):14.1f}", flush=True)  # fmt: skip


def cost(worn: GarmentOnBody, stances: list[Stance]) -> None:
    """Times of one shape at rest and at each stance, and of a whole sweep."""
    shapes = sobol_shapes(worn.body.range, 8)
    worn.prepare()
    times: dict[str, list[float]] = {}
    for number, shape in enumerate(shapes):
        for stance in (None, *stances):
            start = time.process_time()
            worn.measure(shape.weights, stance)
            if number:
                times.setdefault(stance.name if stance else "rest", []).append(time.process_time() - start)
    rest = float(np.median(times["rest"]))
    print(f"\none shape of {len(worn.fit.base):,} vertices on a body of {len(worn.body.vertices):,}, median of 7")
    for name, found in times.items():
        print(f"{name:14s}{np.median(found) * 1e3:8.0f} ms{np.median(found) / rest:8.2f} × rest")
    every = [float(np.median(found)) for name, found in times.items() if name != "rest"]
    dear = sum(one > GOAL * rest for one in every)
    print(f"all stances {np.mean(every) / rest:.2f} × rest, median {np.median(every) / rest:.2f} ×, worst "
          f"{max(every) / rest:.2f} ×; above the goal of {GOAL:g} ×: {dear} of {len(every)}")  # fmt: skip


def whole(fit: Fit, stances: list[Stance], count: int) -> None:
    """Every stance on so many shapes, on two processes."""
    asked = [Shape(one.label, one.weights, stance) for one in sobol_shapes(fit.body.range, count) for stance in stances]
    start = time.perf_counter()
    rows = run_sweep({"": fit}, {"": asked}, workers=PROCESSES).rows
    wall = time.perf_counter() - start
    print(
        f"\n{len(stances)} stances × {count} shapes, {PROCESSES} processes, start and preparing included: {wall:.0f} s"
    )
    print(f"by the clock a row took {1e3 * np.mean([row.seconds for row in rows]):.0f} ms")


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--garment", default="guernsey")
    parser.add_argument("--stances", nargs="+", default=SHOWN, choices=list(TURNS))
    parser.add_argument("--cost", action="store_true")
    parser.add_argument("--shapes", type=int, default=64)
    told = parser.parse_args()
    fit = loaded(told.folder, told.garment)
    assert fit.body.skeleton is not None
    worn = GarmentOnBody(fit)
    if told.cost:
        cost(worn, demo_stances(fit.body.skeleton))
        whole(fit, demo_stances(fit.body.skeleton), told.shapes)
    else:
        stances = demo_stances(fit.body.skeleton, *told.stances)
        seen(worn, stances)
        worst(worn, stances)


if __name__ == "__main__":
    main()
