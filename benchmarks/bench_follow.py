"""What following one shape costs beside the time that its bytes take to pass through memory.

10,000 vertices, 60 morphs, float32. The floor: reading every delta and base once and writing the cloth, at the
bandwidth that a scalar product over that many bytes reaches in the same run, in the same level of cache. Microseconds
of wall-clock time, the fastest tenth of many runs, so that a busy machine disturbs little. Run it with one BLAS thread
(OPENBLAS_NUM_THREADS=1) where the cores are busy: threads that wait for each other cost more than they give.

Run: python benchmarks/bench_follow.py
"""

import time
from collections.abc import Callable

import numpy as np

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.fit.fit import Fit
from dressform.fit.follow import Follower
from dressform.garment.following import Following
from dressform.garment.garment import Garment

VERTICES, MORPHS, SHAPES = 10_000, 60, 64
RUNS = 2_000
EVERY = "following, every morph active"
ACCEPTED = 1_000.0
"""What an update may take in a live world, µs: common practice, no source."""


def fastest(task: Callable[[], object], runs: int = RUNS) -> float:
    """Tenth percentile of the wall-clock time, µs."""
    times = np.zeros(runs)
    for run in range(runs):
        start = time.perf_counter()
        task()
        times[run] = time.perf_counter() - start
    return float(np.percentile(times, 10)) * 1e6


def make_fit(rng: np.random.Generator) -> Fit:
    """A fit of the size to measure; its values cost the same whatever they are."""
    garment = Garment.of("cloth", rng.normal(size=(VERTICES, 3)), np.zeros((1, 3), dtype=np.int64))
    names = tuple(f"morph {k}" for k in range(MORPHS))
    deltas = 0.01 * rng.normal(size=(MORPHS, VERTICES, 3))
    body = Body("body", garment.vertices, garment.faces, names, deltas, Range.unit(names))
    return Fit(body, garment, Following(), garment.vertices, deltas)


def main() -> None:
    """Print the table."""
    rng = np.random.default_rng(0)
    fit = make_fit(rng)
    follower = Follower(fit)
    weights = rng.uniform(0, 1, MORPHS)
    few = np.where(np.arange(MORPHS) < 5, weights, 0.0)
    shapes = rng.uniform(0, 1, (SHAPES, MORPHS))
    one, two = np.ones((2, follower.bytes_per_shape // 8), dtype=np.float32)
    floor = fastest(lambda: np.dot(one, two))
    rows = {
        "floor: the bytes read once": floor,
        EVERY: fastest(lambda: follower.at(weights)),
        "following, 5 morphs active": fastest(lambda: follower.at(few)),
        f"a shape of {SHAPES} at once": fastest(lambda: follower.many(shapes), runs=60) / SHAPES,
        "the fit itself, float64": fastest(lambda: fit.at(weights), runs=60),
    }
    print(f"{follower.bytes_per_shape / 1e6:.1f} MB a shape, {follower.bytes_per_shape / floor / 1e3:.0f} GB/s\n")
    print("| what | µs | × floor |\n|---|---|---|")
    for name, spent in rows.items():
        print(f"| {name} | {spent:.0f} | {spent / floor:.2f} |")
    share = ACCEPTED / rows[EVERY]
    print(f"\nA millisecond an update is accepted (common practice, no source): {share:.0f} times as long as ours.")


if __name__ == "__main__":
    main()
