"""The whole job on real bodies and a real T-shirt: four ways to lift, every fault, then repair and proof.

Shapes: base, ends of every morph, pairs of the strongest, 64 Sobol shapes and the worst corners. Those corners are
chosen against each fit for itself; every fit is then measured on all that were found, so that all rows look at the same
shapes. Of show-through, depth, stretch and broken cloth a row says the worst shape, of pucker and change the mean.
Broken cloth: triangles turned over + pairs that cross + buttons, seams or layers gone wrong. Milliseconds are of
processor time. Prints two Markdown tables.

The meshes are not part of the project: DRESSFORM_DATA names the folder that holds them.
Run: python benchmarks/bench_job.py [--sobol 64] [--margin 2]
"""

import argparse
import statistics
import sys
import time
from collections.abc import Callable, Sequence
from typing import TypeVar

import numpy as np

from dressform.body.body import Body
from dressform.body.shapes import Shape, ShapeSettings, distinct
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.results import Broken, ShapeFaults
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.following import METHODS, Following
from dressform.garment.garment import Garment
from dressform.mesh.tree import Tree
from dressform.proof.certificate import certify
from dressform.proof.linear_mesh import linear_body, linear_cloth
from dressform.repair.clear.clearance import keep_clear
from dressform.sweep.run import choose_shapes
from scenes import real_scene

CM2, MM, PERCENT, INDEX = 1e4, 1e3, 100.0, 1e4
T = TypeVar("T")
SMOOTH, REPAIRED = "smooth", "smooth, repaired"
HEADINGS = (
    "method", "exposed cm²", "exposed %", "inside %", "depth p95 mm", "depth max mm", "pucker p50/p95/p99 ×1e-4",
    "stretch p99, abs ln", "change p5/p95 mm", "broken", "set-up ms", "per shape ms", "clean shapes",
)  # fmt: skip


def timed(task: Callable[[], T]) -> tuple[T, float]:
    """What a task gives, and its processor time in milliseconds."""
    begin = time.process_time()
    result = task()
    return result, (time.process_time() - begin) * 1e3


def broken(found: Broken) -> int:
    """Triangles and vertices gone wrong, and one each for a seam that opens by 0.1 mm and a hard part that bends so."""
    counts = found.folded_faces + found.crossing_pairs + found.layer_swaps
    return counts + int(found.seam_opening > 1e-4) + int(found.hard_bend > 1e-4)


def cells(rows: Sequence[ShapeFaults]) -> list[str]:
    """The measured columns of one row."""
    through = [row.show_through for row in rows]
    pucker = np.mean([(row.pucker.p50, row.pucker.p95, row.pucker.p99) for row in rows], axis=0) * INDEX
    change = np.mean([(row.clearance_change.p5, row.clearance_change.p95) for row in rows], axis=0) * MM
    return [
        f"{max(each.exposed_area for each in through) * CM2:.1f}",
        f"{max(each.exposed_share for each in through) * PERCENT:.2f}",
        f"{max(each.inside_share for each in through) * PERCENT:.2f}",
        f"{max(each.depth_p95 for each in through) * MM:.2f}",
        f"{max(each.depth_max for each in through) * MM:.2f}",
        "/".join(f"{value:.1f}" for value in pucker),
        f"{max(row.stretch.relative_p99 for row in rows):.3f}",
        f"{change[0]:+.2f}/{change[1]:+.2f}",
        f"{max(broken(row.broken) for row in rows)}",
    ]


def measured(body: Body, fit: Fit, shapes: Sequence[Shape]) -> tuple[list[ShapeFaults], float]:
    """All faults on all shapes, and the median processor time of one, milliseconds."""
    check = GarmentOnBody(fit)
    check.measure(shapes[0].weights)
    timings = [timed(lambda shape=shape: check.measure(shape.weights)) for shape in shapes]
    return [faults for faults, _ in timings], statistics.median(spent for _, spent in timings)


def set_up(body: Body, garment: Garment, following: Following) -> tuple[Fit, float]:
    """A fit and what making it takes, the body's tree kept, the 7 morphs lifted, milliseconds."""
    tree = Tree(body.vertices, body.faces)
    make_fit(body, garment, following, tree=tree)
    return timed(lambda: make_fit(body, garment, following, tree=tree))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sobol", type=int, default=64, help="size of the Sobol sample")
    parser.add_argument("--margin", type=float, default=2.0, help="clearance that the repair keeps, mm")
    options = parser.parse_args()
    scene = real_scene()
    if scene is None:
        sys.exit("The real meshes are missing: set DRESSFORM_DATA to the folder that holds them.")
    body, garment = scene
    made = {method: set_up(body, garment, Following(method=method, margin_mm=options.margin)) for method in METHODS}
    fits = {method: fit for method, (fit, _) in made.items()}
    keep_clear(fits[SMOOTH], linear_body(body), max_rounds=1)  # compiles
    obstacle = linear_body(body)
    repair, spent = timed(lambda: keep_clear(fits[SMOOTH], obstacle))
    fits[REPAIRED] = repair.fit
    made[REPAIRED] = fits[REPAIRED], spent
    chosen = choose_shapes(fits, settings=ShapeSettings(sobol=options.sobol))
    shapes = distinct(shape for each in chosen.values() for shape in each)
    print(
        f"body {len(body.vertices):,} vertices, {len(body.morph_names)} morphs; T-shirt {len(garment.vertices):,} "
        f"vertices; {len(shapes)} shapes\n\n| {' | '.join(HEADINGS)} |\n|{'---|' * len(HEADINGS)}"
    )
    for name, fit in fits.items():
        rows, milliseconds = measured(body, fit, shapes)
        clean = sum(row.severity == "clean" for row in rows)
        last = [f"{made[name][1]:,.0f}", f"{milliseconds:.0f}", f"{clean}"]
        print(f"| {' | '.join([name, *cells(rows), *last])} |", flush=True)
    print(
        f"\n| lift | near pairs | certified at 0 mm | certified at {0.9 * options.margin:g} mm | left out, % of area "
        "| seconds |\n|---|---|---|---|---|---|"
    )
    for name in (SMOOTH, REPAIRED):
        cloth = linear_cloth(fits[name])
        bare, took = timed(lambda cloth=cloth: certify(cloth, obstacle, body.range))
        held = certify(cloth, obstacle, body.range, margin=0.9 * options.margin / MM)
        print(
            f"| {name} | {len(bare.pairs):,} | {bare.share:.4%} | {held.share:.4%} "
            f"| {bare.excluded_area * PERCENT:.2f} | {took / 1e3:.2f} |",
            flush=True,
        )


if __name__ == "__main__":
    main()
