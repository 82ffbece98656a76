"""What repair does and costs: the demo's wardrobe and a real T-shirt, small cases beside a conic solver, and growth.

Three Markdown tables. (1) Per garment: pairs that fall short of the margin before and after, rounds, processor time,
largest move of the base, pucker p95 after over before, share of near pairs certified, exposed skin over 256 Sobol
shapes and the worst corners before and after (the corners of both fits). (2) The programme on flat cloth with random
constraints beside a general interior-point solver: energy over the least energy, time over its time. (3) A garment of
10,000 vertices that follows a body of 24,002 to 80 % (--strength), with 12 and with 60 morphs, and where the time goes.

Run: python benchmarks/bench_repair.py [--only NAME ...] [--skip wardrobe solver growth]
"""

import argparse
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace

import numpy as np

from bench_faults import make_case
from conic import Conic
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.body.shapes import sobol_shapes
from dressform.faults.skin.show_through import ShowThroughLook, prepare_show_through
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.mesh.tree import Tree
from dressform.proof.certificate import certify
from dressform.proof.linear_mesh import linear_body, linear_cloth
from dressform.repair.clear import clearance, clearance_case
from dressform.repair.clear.clearance import BASE_PRICE, Clearance, change_energy, keep_clear
from dressform.repair.clear.programme import Constraints, solve
from dressform.repair.cost import cost_of
from dressform.sweep.worst import worst_shapes
from scenes import demo_scenes, real_scene

SOBOL = 256
CM2, MM = 1e4, 1e3
SHEETS = ((8, 2), (16, 2), (16, 6), (32, 2), (32, 6))
"""Vertices along a side of the flat cloth, and morphs, of the cases for both solvers."""
SEED = 5
GROWTH = ((12, 1.0), (60, 0.3))
"""Morphs, and the highest weight of each, of the large case."""
STRENGTH = 0.8
"""How far the large case follows: the rest is what the repair must make up for."""
STEPS = {"near_pairs": clearance_case, "bounds_of": clearance_case, "solve": clearance, "touching_faces": clearance}


def exposed(body: Body, fit: Fit, shapes: np.ndarray) -> float:
    """Largest exposed skin of a fit over some shapes, judged against the garment as it was made, cm²."""
    body_tree, cloth_tree = Tree(body.vertices, body.faces), Tree(fit.garment.vertices, fit.garment.faces)
    prepared = prepare_show_through(cloth_tree, body_tree)
    return CM2 * max(
        ShowThroughLook(
            prepared, cloth_tree.refit(fit.at(weights)), body_tree.refit(body.at(weights))
        ).result.exposed_area
        for weights in shapes
    )


def repaired(body: Body, fit: Fit) -> tuple[Clearance, float]:
    """The repair at its defaults, and its processor time, seconds."""
    begin = time.process_time()
    result = keep_clear(fit, linear_body(body))
    return result, time.process_time() - begin


def garment_row(name: str, body: Body, garment: Garment) -> str:
    """One row of the first table."""
    fit = make_fit(body, garment)
    result, seconds = repaired(body, fit)
    corners = [threat.shape.weights for each in (fit, result.fit) for threat in worst_shapes(each)]
    shapes = np.array([*(shape.weights for shape in sobol_shapes(body.range, SOBOL)), *corners])
    proof = certify(linear_cloth(result.fit), linear_body(body), body.range)
    cost = cost_of(fit, result.fit)
    cells = [
        f"{name} | {len(garment.vertices):,}",
        f"{result.short_before:,} | {len(result.conflicts):,} | {result.rounds} | {seconds:.1f}",
        f"{result.base_move[0] * MM:.1f} | {cost.pucker_before * 1e4:.1f} | {cost.pucker_ratio:.2f}",
        f"{proof.share:.2%} | {proof.excluded_area:.1%}",
        f"{exposed(body, fit, shapes):.1f} | {exposed(body, result.fit, shapes):.1f}",
    ]
    return f"| {' | '.join(cells)} |"


def wardrobe(only: list[str] | None) -> None:
    """The first table."""
    scenes = demo_scenes()
    shirt = real_scene()
    if shirt is not None:
        scenes["real T-shirt"] = shirt
    print(
        "| garment | vertices | short before | short after | rounds | seconds | base move mm | pucker p95 ×1e-4 "
        "| × after | certified | left out | exposed cm² before | after |\n|" + "---|" * 13
    )
    for name, (body, garment) in scenes.items():
        if not only or name in only:
            print(garment_row(name, body, garment), flush=True)


def flat_case(side: int, morphs: int) -> tuple[Fit, Constraints, np.ndarray, np.ndarray]:
    """A sheet of 1 cm squares, and twice as many constraints as vertices: smooth bumps that come through it."""
    rng = np.random.default_rng(SEED)
    x, z = (axis.ravel() for axis in np.meshgrid(*2 * [0.01 * np.arange(side)], indexing="ij"))
    row, column = (axis.ravel() for axis in np.meshgrid(*2 * [np.arange(side - 1)], indexing="ij"))
    a = row * side + column
    faces = np.concatenate([np.stack([a, a + 1, a + side + 1], 1), np.stack([a, a + side + 1, a + side], 1)])
    sheet = Garment.of("sheet", np.stack([x, 0 * x, z], axis=1), faces)
    vertex = np.tile(np.arange(side * side), 2)
    direction = np.array([0.0, 1.0, 0.0]) + 0.3 * rng.normal(size=(len(vertex), 3))
    direction /= np.linalg.norm(direction, axis=1, keepdims=True)
    middles = rng.uniform(0, 0.01 * side, (morphs, 2))
    bumps = [-0.02 * np.exp(-((x - u) ** 2 + (z - v) ** 2) / 0.04**2) for u, v in middles]
    terms = np.stack([np.full(side * side, 0.01), *bumps], axis=1)[vertex]
    names = tuple(f"bump {number}" for number in range(morphs))
    low, high = -rng.uniform(0, 0.5, morphs), rng.uniform(0.5, 1.0, morphs)
    still = np.zeros((morphs, side * side, 3))
    body = Body("sheet", sheet.vertices, sheet.faces, names, still, Range(names, low, high))
    fit = Fit(body, sheet, Following(), sheet.vertices, still)
    return fit, Constraints(vertex, direction, terms, np.full(len(vertex), 0.002)), low, high


def solvers() -> None:
    """The second table."""
    print(
        "| vertices | morphs | constraints | energy ÷ least | worst shortfall mm | steps | ours s | conic s "
        "| conic ÷ ours |\n|" + "---|" * 9
    )
    for side, morphs in SHEETS:
        fit, rows, low, high = flat_case(side, morphs)
        energy, mass = change_energy(fit)
        solve(energy, mass, rows, low, high, base_price=BASE_PRICE, max_steps=2)
        begin = time.process_time()
        ours = solve(energy, mass, rows, low, high, base_price=BASE_PRICE)
        between = time.process_time()
        least = Conic.of(energy, rows, low, high, base_price=BASE_PRICE).solve()
        own, theirs = between - begin, time.process_time() - between
        print(
            f"| {side * side:,} | {morphs} | {len(rows.vertex):,} | {ours.energy / least:.4f} "
            f"| {ours.shortfall.max() * MM:.3f} | {ours.steps} | {own:.3f} | {theirs:.2f} | {theirs / own:.1f} |",
            flush=True,
        )


@contextmanager
def stopwatch(spent: dict[str, float]) -> Iterator[None]:
    """Add up the processor time of every step in `STEPS`, seconds."""
    kept: dict[str, Callable[..., object]] = {name: getattr(module, name) for name, module in STEPS.items()}

    def watched(name: str) -> Callable[..., object]:
        def run(*args: object, **options: object) -> object:
            begin = time.process_time()
            answer = kept[name](*args, **options)
            spent[name] += time.process_time() - begin
            return answer

        return run

    for name, module in STEPS.items():
        setattr(module, name, watched(name))
    try:
        yield
    finally:
        for name, task in kept.items():
            setattr(STEPS[name], name, task)


def growth(strength: float) -> None:
    """The third table."""
    whole, garment = make_case()
    print(
        "| morphs | highest weight | short before | short after | rounds | constraints | steps, last round | seconds | "
        + " | ".join(STEPS)
        + " |\n|"
        + "---|" * (8 + len(STEPS))
    )
    for morphs, highest in GROWTH:
        names = whole.morph_names[:morphs]
        box = Range(names, np.zeros(morphs), np.full(morphs, highest))
        body = replace(whole, morph_names=names, deltas=whole.deltas[:morphs], range=box)
        spent = dict.fromkeys(STEPS, 0.0)
        fit = make_fit(body, garment)
        fit = replace(fit, deltas=strength * fit.deltas)
        with stopwatch(spent):
            result, seconds = repaired(body, fit)
        steps = result.solution.steps if result.solution is not None else 0
        print(
            f"| {morphs} | {highest:g} | {result.short_before:,} | {len(result.conflicts):,} | {result.rounds} "
            f"| {result.constraints:,} | {steps} | {seconds:.1f} | "
            + " | ".join(f"{each:.1f}" for each in spent.values())
            + " |",
            flush=True,
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", nargs="*", help="names of garments; all where left out")
    parser.add_argument("--skip", nargs="*", default=[], choices=["wardrobe", "solver", "growth"])
    parser.add_argument("--strength", type=float, default=STRENGTH, help="how far the large case follows")
    options = parser.parse_args()
    if "solver" not in options.skip:
        solvers()
        print()
    if "growth" not in options.skip:
        growth(options.strength)
        print()
    if "wardrobe" not in options.skip:
        wardrobe(options.only)


if __name__ == "__main__":
    main()
