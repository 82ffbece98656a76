"""What stands before the first measured shape: starting a process, and preparing one check in it.

The case is that of `bench_faults.py` with 12 morphs. Every run is a process of its own, as those that share a sweep on
a system without forks: it imports what a check needs, takes the fit over, prepares the check and measures two
shapes. A first process, which may compile kernels, is not counted. `prepare again` is the work itself, without loading
kernels. Medians of wall-clock and of processor time, milliseconds. Then the processor time of a command's help, beside
that of `python -c "import numpy"`, in turn.

Run: python benchmarks/bench_start.py
"""

import json
import os
import pickle
import statistics
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

from bench_faults import follow, make_case
from dressform.body.range import Range

RUNS, MORPHS = 9, 12
HELP = ("check", "triage")
PARTS = ("start and imports", "take the fit over", "prepare", "first shape", "prepare again", "a shape then")
CHILD = """
import sys, time
clocks = [(float(sys.argv[2]), 0.0)]
def mark():
    clocks.append((time.time(), time.process_time()))
import pickle
import numpy as np
from dressform.faults.garment_on_body import GarmentOnBody
mark()
fit = pickle.loads(open(sys.argv[1], "rb").read())
mark()
faults = GarmentOnBody(fit).prepare()
mark()
shape = np.full(len(fit.deltas), 0.3)
faults.measure(shape)
mark()
faults = GarmentOnBody(fit).prepare()
mark()
faults.measure(shape)
mark()
import json
print(json.dumps([[1e3 * (b - a) for a, b in zip(one, two)] for one, two in zip(clocks, clocks[1:])]))
"""


def one_run(path: Path) -> list[list[float]]:
    """Wall-clock and processor milliseconds of every part, in a process of its own."""
    command = [sys.executable, "-c", CHILD, str(path), repr(time.time())]
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    return json.loads(done.stdout)


def processor_seconds(*words: str) -> float:
    """Processor time of a process of Python with these arguments, seconds."""
    before = os.times()
    subprocess.run([sys.executable, *words], check=True, stdout=subprocess.DEVNULL)
    after = os.times()
    return after.children_user - before.children_user + after.children_system - before.children_system


def help_ratios() -> list[float]:
    """Median processor time of each command's help as a multiple of what importing NumPy takes."""
    asked = [("-c", "import numpy"), *(("-m", "dressform", command, "--help") for command in HELP)]
    runs = [[processor_seconds(*words) for words in asked] for _ in range(RUNS)]
    return [statistics.median(run[1 + index] / run[0] for run in runs) for index in range(len(HELP))]


def main() -> None:
    body, garment = make_case()
    names = body.morph_names[:MORPHS]
    body = replace(body, morph_names=names, deltas=body.deltas[:MORPHS], range=Range.unit(names))
    fit = follow(body, garment, strength=1.0)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "fit"
        path.write_bytes(pickle.dumps(fit))
        one_run(path)  # compiles what is not yet
        runs = [one_run(path) for _ in range(RUNS)]
    print(
        f"{len(garment.vertices)} vertices of cloth, {len(body.vertices)} of body, {MORPHS} morphs, {RUNS} processes\n"
    )
    print("| part | wall-clock, ms | processor, ms |\n|---|---|---|")
    for index, part in enumerate(PARTS):
        wall, processor = (statistics.median(run[index][clock] for run in runs) for clock in (0, 1))
        print(f"| {part} | {wall:.0f} | {processor:.0f} |")
    told = ", ".join(f"{ratio:.1f} × for `{command}`" for command, ratio in zip(HELP, help_ratios(), strict=True))
    print(f"\nHelp beside importing NumPy: {told}")


if __name__ == "__main__":
    main()
