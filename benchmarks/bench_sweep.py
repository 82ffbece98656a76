"""A sweep of 256 shapes of one garment, over one process and over more, and going on from a store.

Prints a Markdown table: wall-clock seconds from the call to the result, start of the processes and preparing of the
check included; what preparing took; the median of one shape; and the efficiency, seconds of one process over seconds of
n processes times n. The sweep over one process runs in this one, after a short one that loads compiled code.
"""

import argparse
import os
import statistics
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

from dressform.body.body import Body
from dressform.body.shapes import Shape, ShapeSettings
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.sweep.results import SweepResult
from dressform.sweep.run import choose_shapes, run_sweep
from dressform.sweep.store import RowStore
from scenes import demo_scenes, real_scene

SHAPES = 256
WARMING = 4
DEMO_GARMENT = "guernsey"

Shapes = Mapping[str, Sequence[Shape]]


def chosen(body: Body, fits: Mapping[str, Fit], count: int) -> dict[str, list[Shape]]:
    """Exactly `count` shapes: base, worst, ends, pairs, and Sobol for the rest."""
    settings = ShapeSettings(sobol=count)
    return {key: shapes[:count] for key, shapes in choose_shapes(fits, settings=settings).items()}


def line(name: str, label: str, result: SweepResult, alone: float, workers: int) -> None:
    """One row of the table."""
    shape = statistics.median(row.seconds for row in result.rows) * 1e3
    prepared = max(result.prepare_seconds.values())
    efficiency = alone / (workers * result.seconds)
    print(f"| {name} | {label} | {result.seconds:.2f} | {prepared:.2f} | {shape:.1f} | {efficiency:.2f} |", flush=True)


def race(name: str, body: Body, fit: Fit, counts: Sequence[int], shapes: int) -> None:
    """All rows of one garment."""
    fits = {name: fit}
    wanted = chosen(body, fits, shapes)
    run_sweep(fits, {name: wanted[name][:WARMING]})
    alone = 0.0
    for workers in counts:
        result = run_sweep(fits, wanted, workers=workers)
        alone = alone or result.seconds
        line(name, f"{workers}", result, alone, workers)
    with tempfile.TemporaryDirectory() as folder, RowStore(Path(folder) / "rows.db") as store:
        kept = run_sweep(fits, wanted, workers=counts[-1], store=store)
        line(name, f"{counts[-1]}, keeping rows", kept, alone, counts[-1])
        again = run_sweep(fits, wanted, store=store)
        assert all(row.kept for row in again.rows)
        print(f"| {name} | all rows kept before | {again.seconds:.2f} | | | |")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--shapes", type=int, default=SHAPES)
    parser.add_argument("--workers", type=int, nargs="*", help="numbers of processes; 1 and every core where left out")
    options = parser.parse_args()
    counts = options.workers or sorted({1, 2, os.cpu_count() or 1})
    scenes = {DEMO_GARMENT: demo_scenes()[DEMO_GARMENT]}
    shirt = real_scene()
    if shirt is not None:
        scenes["real T-shirt"] = shirt
    for name, (body, garment) in scenes.items():
        sizes = (
            f"{len(body.vertices)} vertices, {len(body.morph_names)} morphs; {name}: {len(garment.vertices)} vertices"
        )
        print(f"body: {sizes}; {options.shapes} shapes; {os.cpu_count()} cores")
    print("\n| garment | processes | seconds | prepare s | shape ms | efficiency |\n|---|---|---:|---:|---:|---:|")
    for name, (body, garment) in scenes.items():
        race(name, body, make_fit(body, garment), counts, options.shapes)


if __name__ == "__main__":
    main()
