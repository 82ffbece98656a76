"""What following costs in somebody's engine: `runtime/dressform_follow.h` on one core.

10,000 vertices and 60 targets, 5 of them active, read from a GLB: once with every target moving every vertex, once
with each moving a fifth of them, as a belly or an arm does. Compiled with the system's C compiler. Microseconds, the
best and the middle of many runs: the best is what the code costs, the middle what else the machine was doing.

Run: python benchmarks/bench_runtime.py
"""

import os
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.formats.gltf.save import save_body

VERTICES, MORPHS, ACTIVE = 10_000, 60, 5
GOAL = 20.0
"""What an update with five active morphs may take, µs."""
RUNTIME = Path(__file__).parents[1] / "runtime"
FLAGS = ("-O3", "-O2")


def write_file(path: Path, share: float) -> None:
    """A garment whose targets each move `share` of its vertices, those of a stretch that starts anywhere."""
    rng = np.random.default_rng(0)
    moved = np.zeros((MORPHS, VERTICES, 3))
    length = int(share * VERTICES)
    for morph, start in zip(moved, rng.integers(0, VERTICES - length + 1, MORPHS)):
        morph[start : start + length] = 0.01 * rng.normal(size=(length, 3))
    names = tuple(f"morph {number}" for number in range(MORPHS))
    faces = np.arange(VERTICES - VERTICES % 3).reshape(-1, 3)
    save_body(Body("cloth", rng.normal(size=(VERTICES, 3)), faces, names, moved, Range.unit(names)), path)


def rows(compiler: str, flag: str, folder: Path, garment: Path) -> list[list[str]]:
    """What the bench prints, compiled with `flag`."""
    program = folder / "bench"
    subprocess.run([compiler, "-std=c99", flag, "-o", program, RUNTIME / "bench.c"], check=True)
    told = subprocess.run([program, garment, str(ACTIVE)], check=True, capture_output=True, text=True).stdout
    return [line.split("\t") for line in told.splitlines()]


def processor() -> str:
    """The processor's name, as the system tells it."""
    try:
        lines = Path("/proc/cpuinfo").read_text(encoding="utf-8").splitlines()
    except OSError:
        lines = []
    return next((line.split(": ")[1] for line in lines if line.startswith("model name")), "unknown processor")


def main() -> None:
    """Print the table."""
    compiler = os.environ.get("CC") or shutil.which("cc") or shutil.which("gcc")
    if compiler is None:
        sys.exit("bench_runtime: no C compiler found; install one, or set CC")
    version = subprocess.run([compiler, "--version"], check=True, capture_output=True, text=True).stdout.splitlines()[0]
    print(f"{processor()}; {version}; {VERTICES:,} vertices, {MORPHS} targets, {ACTIVE} active\n")
    print("| each target moves | compiled | what changes | best, µs | middle, µs |\n|---|---|---|---|---|")
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for share, words in ((1.0, "every vertex"), (0.2, "a fifth of the vertices")):
            write_file(folder / "garment.glb", share)
            for flag in FLAGS:
                (_, memory, _), *timed = rows(compiler, flag, folder, folder / "garment.glb")
                for what, best, middle in timed:
                    print(f"| {words}, {memory} MB | `{flag}` | {what} | {best} | {middle} |")
    print(f"\nGoal: {GOAL:g} µs with {ACTIVE} active.")


if __name__ == "__main__":
    main()
