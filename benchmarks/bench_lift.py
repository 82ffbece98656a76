"""What binding a garment costs: set-up beside one bare closest-point query, and how both grow.

Body of 24,000 vertices with 60 morphs, garments from 1,000 to 100,000 vertices around it. Milliseconds of processor
time, medians, so that a busy machine slows little; ratios are of one run. Columns: `query`, libigl's closest points of
the same vertices with its tree kept; `feet`, ours; `set-up`, feet, rows, smoothing lengths and factor, the body's own
tree kept between garments; `morphs`, all 60 lifted, offsets turned; `all pairs`, the nearest body vertex by NumPy
distances in chunks (estimated from 2,000 vertices); `loop`, the same by a loop over both (estimated from 5); `second`,
how often set-up and morphs go into the second that is felt as too long in live use (common practice, no source);
`memory`, the peak of the process.

Run: python benchmarks/bench_lift.py
"""

import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable

import igl
import numpy as np

from bench_mesh import bumpy_torus
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.garment.garment import Garment
from dressform.lift.feet import find_feet
from dressform.lift.lift import make_lift
from dressform.mesh.tree import Tree

RUNS = 5
MORPHS = 60
BODY = (160, 150)  # around and across: 24,000 vertices
LIMB, CLEARANCE = 0.10, 0.02  # metres
GARMENTS = {1_000: (40, 25), 3_000: (60, 50), 10_000: (125, 80), 30_000: (200, 150), 100_000: (400, 250)}
SAMPLE, CHUNK, FEW = 2_000, 100, 5
TOO_LONG = 1_000.0  # milliseconds


def make_body() -> Body:
    """A limb bent into a ring, with smooth random morphs."""
    vertices, faces = bumpy_torus(*BODY, tube=LIMB)
    rng = np.random.default_rng(1)
    waves = rng.uniform(-15, 15, (MORPHS, 3))
    deltas = np.stack([0.02 * np.sin(vertices @ wave)[:, None] * rng.normal(size=3) for wave in waves])
    names = tuple(f"morph {k}" for k in range(MORPHS))
    return Body("ring", vertices, faces, names, deltas, Range.unit(names))


def spent(task: Callable[[], object], runs: int = RUNS) -> float:
    """Median processor time, ms, after one run to warm up."""
    task()
    times = []
    for _ in range(runs):
        start = time.process_time()
        task()
        times.append(time.process_time() - start)
    return statistics.median(times) * 1e3


def all_pairs(body: np.ndarray, cloth: np.ndarray) -> None:
    """Nearest body vertex by brute force, chunk after chunk."""
    for first in range(0, len(cloth), CHUNK):
        part = cloth[first : first + CHUNK]
        ((part[:, None] - body[None]) ** 2).sum(axis=2).argmin(axis=1)


def loop(body: list[list[float]], cloth: list[list[float]]) -> None:
    """The same without arrays."""
    for x, y, z in cloth:
        best, nearest = np.inf, -1
        for index, (a, b, c) in enumerate(body):
            distance = (x - a) ** 2 + (y - b) ** 2 + (z - c) ** 2
            if distance < best:
                best, nearest = distance, index
        assert nearest >= 0


def measure(size: int) -> str:
    """One row of the table."""
    body = make_body()
    garment = Garment.of("sleeve", *bumpy_torus(*GARMENTS[size], tube=LIMB + CLEARANCE))
    kept = igl.AABB()
    kept.init(body.vertices, body.faces)
    tree = Tree(body.vertices, body.faces)
    query = spent(lambda: kept.squared_distance(body.vertices, body.faces, garment.vertices))
    feet = spent(lambda: find_feet(tree, garment.vertices, garment.faces))
    setup = spent(lambda: make_lift(body, garment, tree=tree))
    lift = make_lift(body, garment, tree=tree)
    morphs = spent(lambda: lift.displacements(body.deltas), runs=3)
    sample = garment.vertices[:: max(1, len(garment.vertices) // SAMPLE)]
    pairs = spent(lambda: all_pairs(body.vertices, sample), runs=1) * len(garment.vertices) / len(sample)
    few = garment.vertices[:FEW].tolist()
    looped = spent(lambda: loop(body.vertices.tolist(), few), runs=3) * len(garment.vertices) / FEW
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return (
        f"| {len(garment.vertices):,} | {query:.1f} | {feet:.1f} | {setup:.1f} | {setup / query:.1f} | {morphs:.0f} "
        f"| {pairs / setup:,.0f} | {looped / setup:,.0f} | {TOO_LONG / (setup + morphs):.1f} | {memory:.0f} |"
    )


def main() -> None:
    """Print the table; a process per row, so that memory is its own."""
    if len(sys.argv) > 1:
        print(measure(int(sys.argv[1])))
        return
    print(
        "| vertices | query | feet | set-up | ÷ query | morphs | pairs ÷ set-up | loop ÷ set-up | second | memory, MB |"
    )
    print("|" + "---|" * 10)
    for size in GARMENTS:
        done = subprocess.run([sys.executable, __file__, str(size)], check=True, capture_output=True, text=True)
        print(done.stdout.strip(), flush=True)


if __name__ == "__main__":
    main()
