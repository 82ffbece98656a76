"""Is the cause *joint weights* named, and does its swap cure? Seeded faults in the demo's garments.

python benchmarks/bench_joint_weights.py FOLDER [--seeds 50] [--first 0] [--seconds 240]

FOLDER holds `body.glb` and `garments/`, as `dressform demo` writes them. Each garment gets the lifted joint weights as
its own, spoiled in one of five ways (`joint_faults.py`). It is looked at on the base body at two stances. The place
that a wearer would notice most, among those that the sound garment does not have there, is explained. Printed are one
line a seed, then the figures. Seeds whose fault shows nowhere, from moderate on, are counted apart. The five sound
garments are explained as well.

python benchmarks/bench_joint_weights.py --limb 60

The same on a sleeve over a bent limb, as `tests/seeded_joints.py` makes it: other kinds of faults, of random strength.
"""

import argparse
import sys
import time
from collections import Counter
from pathlib import Path

import numpy as np

import dressform as df
from dressform.body.stance import Stance
from dressform.causes.clusters import find_clusters
from dressform.causes.explain import explain_patches
from dressform.causes.explained_body import ExplainedBody
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.patch import cut_patch
from dressform.causes.results import JOINT_WEIGHTS, Explanation
from dressform.faults.results import SEVERITIES
from dressform.sweep.results import SweepRow
from joint_faults import STANCES, seeded, with_own
from stance_scenes import demo_stances

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
from seeded_joints import FAULTS, first_place, fitted, sleeve
from seeded_joints import body as limb_body

RISES = 1.25
"""A place is new where the sound garment has less than its value over this at the same stance."""
QUIET = "does not show"


def worst_place(worn: ExplainedGarment, stances: list[Stance], sound: ExplainedGarment | None) -> Explanation | None:
    """The most noticed place, moderate or grave, that the sound garment does not have, explained; None without one."""
    zero = np.zeros(len(worn.body.morph_names))
    rows = [SweepRow("", "base", zero, worn.measure(zero, stance), 0.0, False) for stance in stances]
    for cluster in find_clusters(worn, "", rows, bands=worn.bands, stances=stances):
        worst = cluster.worst
        if SEVERITIES.index(worst.place.severity) < SEVERITIES.index("moderate"):
            continue
        if sound is not None:
            fields = (each.field(cluster.fault, zero, worst.stance)[cluster.vertices] for each in (worn, sound))
            here, there = (float(np.abs(field).max()) for field in fields)
            if there * RISES > here:
                continue
        return explain_patches(iter([cut_patch(worn, worn.context.narrowed(zero), cluster)]))
    return None


def removed(found: Explanation) -> float:
    """The share of the fault that other joint weights remove."""
    return max((value for name, value in found.evidence.items() if name.startswith("joints_remove/")), default=0.0)


def print_figures(named: dict[str, Counter[str]], gone: list[float]) -> None:
    """What was named of each kind of fault, and in all."""
    print(f"\n{'fault put in':26s}{'shows':>7s}{'named':>7s}   otherwise")
    shown = right = 0
    for kind in named:
        of = named.get(kind, Counter())
        total = sum(count for cause, count in of.items() if cause != QUIET)
        others = ", ".join(f"{cause} {count}" for cause, count in of.items() if cause != JOINT_WEIGHTS)
        print(f"{kind:26s}{total:7d}{of[JOINT_WEIGHTS]:7d}   {others}")
        shown, right = shown + total, right + of[JOINT_WEIGHTS]
    print(f"joint weights named at {right} of {shown} seeds ({100 * right / max(shown, 1):.0f} %)")
    if gone:
        print(f"others remove {100 * np.median(gone):.0f} % of it in the median, {100 * min(gone):.0f} % at least")


def on_limb(count: int) -> None:
    """Seeds on the limb of the tests."""
    shape, named, gone = limb_body(), dict[str, Counter[str]](), list[float]()
    for seed in range(count):
        kind = FAULTS[seed % len(FAULTS)]
        found = first_place(fitted(sleeve(kind, seed=seed), shape))
        named.setdefault(kind, Counter())[found.cause or "nothing"] += 1
        gone += [removed(found)] if found.cause == JOINT_WEIGHTS else []
    print_figures(named, gone)


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("folder", type=Path, nargs="?")
    parser.add_argument("--limb", type=int, default=0, help="So many seeds on the limb of the tests instead.")
    parser.add_argument("--seeds", type=int, default=50)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--seconds", type=float, default=np.inf, help="Stop before the next seed after so long.")
    told = parser.parse_args()
    if told.folder is None or told.limb:
        on_limb(told.limb or 60)
        return
    shape = df.load_body(told.folder / "body.glb", base="woman")
    assert shape.skeleton is not None
    body, begin = ExplainedBody(shape), time.perf_counter()
    stances = {name: demo_stances(shape.skeleton, *names) for name, names in STANCES.items()}
    sound: dict[str, ExplainedGarment] = {}
    named, gone = dict[str, Counter[str]](), list[float]()
    for seed in range(told.first, told.first + told.seeds):
        if time.perf_counter() - begin > told.seconds:
            break
        start, name = time.perf_counter(), list(STANCES)[seed % len(STANCES)]
        if name not in sound:
            plain = df.load_garment(told.folder / "garments" / f"{name}.glb", beside=shape)
            sound[name] = ExplainedGarment(df.fit(shape, with_own(plain, shape)), context=body)
            found = worst_place(sound[name], stances[name], None)
            print(f"    {name:10s} {'sound':24s} {QUIET if found is None else found.cause or 'nothing'}")
        one = seeded(seed, sound[name].fit)
        found = worst_place(sound[name].carried_by(one.skin), stances[name], sound[name])
        cause = QUIET if found is None else found.cause or "nothing"
        named.setdefault(one.kind, Counter())[cause] += 1
        line = f"{seed:3d} {name:10s} {one.kind:24s} {cause:14s}"
        if found is not None:
            worst = found.cluster.worst
            line += f" {100 * removed(found):4.0f} %  {worst.place.severity} {found.cluster.fault}, {worst.seen_at[1]}"
            gone += [removed(found)] if cause == JOINT_WEIGHTS else []
        print(f"{line}  {time.perf_counter() - start:.0f} s", flush=True)
    print_figures(named, gone)


if __name__ == "__main__":
    main()
