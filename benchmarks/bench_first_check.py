"""What a check that was not told how many shapes to look at misses at stances, and what it saves.

python benchmarks/bench_first_check.py FOLDER [--garments NAME ...] [--stances motion|everyday,strong]

FOLDER holds `body.glb` and `garments/`, as `dressform demo` writes them. Each garment is fitted, not repaired, and
measured at every stance on all 64 shapes of the sample, the base and the worst corners, and on what the search finds.
The first check looks at the stances at which the garment moves, on 8 shapes of the sample instead of 64. A row per
garment: stances, rows and processor seconds of both, the gravest verdict of both, the faults whose gravest verdict over
all stances and rest differs, and stances whose own verdict does; then how much of the most skin seen the first check
finds.
"""

import argparse
import time
from collections.abc import Sequence
from pathlib import Path

import dressform as df
from dressform.body.shapes import Shape, ShapeSettings
from dressform.body.stance import Stance
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.results import SEVERITIES
from dressform.faults.severity import DEFAULT_BANDS, graded_values
from dressform.fit.fit import Fit
from dressform.jobs.check import DEFAULT_SHAPES
from dressform.sweep.posed_shapes import posed_shapes
from dressform.sweep.results import SweepRow
from dressform.sweep.run import choose_shapes
from dressform.sweep.search import search_worse

HEADING = (
    "| garment | stances | shapes | CPU s | verdict | faults that differ | stances that differ | most skin seen, cm² |"
    f"\n|{'---|' * 8}"
)
Key = tuple[str, str, bytes]


def key_of(shape: Shape) -> Key:
    return "" if shape.stance is None else shape.stance.name, shape.label.split()[0], shape.weights.tobytes()


def all_shapes(fit: Fit, stances: Sequence[Stance]) -> list[Shape]:
    """Every stance on 64 shapes of the sample: also those at which the garment is still."""
    rest = choose_shapes({"": fit}, settings=ShapeSettings())[""]
    corners = [one for one in rest if one.label.startswith(("base", "worst"))]
    sample = [one for one in rest if one.label.startswith("sobol")]
    return [*rest, *posed_shapes(fit, corners, sample, stances, worst=8)]


def gravest(rows: Sequence[SweepRow]) -> dict[str, str]:
    """The gravest verdict of each fault."""
    found: dict[str, str] = {}
    for row in rows:
        for fault, value in graded_values(row.faults).items():
            told = DEFAULT_BANDS.grade(fault, value)
            found[fault] = max(found.get(fault, SEVERITIES[0]), told, key=SEVERITIES.index)
    return found


def compared(name: str, fit: Fit, stances: Sequence[Stance]) -> str:
    """A row of the table."""
    worn, rows, seconds = GarmentOnBody(fit), list[SweepRow](), list[float]()
    worn.prepare()
    asked = all_shapes(fit, stances)
    for shape in asked:
        begin = time.process_time()
        rows.append(SweepRow("", shape.label, shape.weights, worn.measure(shape.weights, shape.stance), 0.0, False,
                             shape.stance))  # fmt: skip
        seconds.append(time.process_time() - begin)
    wanted = {key_of(one) for one in choose_shapes({"": fit}, settings=DEFAULT_SHAPES, stances=stances)[""]}
    few = [number for number, one in enumerate(asked) if key_of(one) in wanted]
    assert len(few) == len(wanted), "the first check looks at a part of what the whole one does"
    told = []
    for chosen in (range(len(rows)), few):
        begin, own = time.process_time(), [rows[number] for number in chosen]
        own += search_worse(worn, own, stances)
        told.append((own, sum(seconds[number] for number in chosen) + time.process_time() - begin))
    (whole, dear), (first, cheap) = told
    before, after = gravest(whole), gravest(first)
    faults = [f"{one}: {before[one]} → {after[one]}" for one in before if before[one] != after[one]]
    worst = [
        f"{one.name}: {a} → {b}"
        for one in stances
        if (a := _at(whole, one)) != (b := _at(first, one)) and b != "as at rest"
    ]
    at_stances = [[row for row in own if row.stance is not None] for own in (whole, first)]
    shown = [max(graded_values(row.faults)["exposed"] for row in own) * 1e4 for own in at_stances]
    kept = len({row.stance.name for row in first if row.stance is not None})
    verdicts = [max(one.values(), key=SEVERITIES.index) for one in (before, after)]
    return (
        f"| {name} | {len(stances)} → {kept} | {len(whole):,} → {len(first):,} | {dear:.0f} → {cheap:.0f} | "
        f"{' → '.join(verdicts)} | {', '.join(faults) or 'none'} | {', '.join(worst) or 'none'} | "
        f"{shown[0]:.1f} → {shown[1]:.1f} |"
    )


def _at(rows: Sequence[SweepRow], stance: Stance) -> str:
    own = [row.faults.severity for row in rows if row.stance is not None and row.stance.name == stance.name]
    return max(own, key=SEVERITIES.index) if own else "as at rest"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path)
    parser.add_argument("--garments", nargs="+", default=["guernsey", "trousers", "gloves"])
    parser.add_argument("--stances", default="motion")
    told = parser.parse_args()
    body = df.load_body(told.folder / "body.glb", base="woman")
    stances = df.find_stances(body, told.stances).stances
    print(HEADING, flush=True)
    for name in told.garments:
        fit = df.fit(body, df.load_garment(told.folder / "garments" / f"{name}.glb"))
        print(compared(name, fit, stances), flush=True)


if __name__ == "__main__":
    main()
