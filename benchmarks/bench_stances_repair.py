"""What the repair over stances does and costs: garments of the demo, repaired at rest and then at stances too.

Per garment, after the chain of repairs at rest and after the clearance repair over rest and stances: worst share of
near pairs certified at any of its stances, pairs open and triangles under their own skin summed over them, share at
rest, pucker p95 as a multiple of before (mean over the base and the ends of every morph), stretch p99 likewise, and
processor time of the repair over stances. Then per stance: certified before and after, open pairs, contact, what gave
way. Skin that shows is measured by the check at stances, not here. Stances are turns of the demo's joints by the
degrees in their names.

Run: python benchmarks/bench_stances_repair.py [--only NAME ...] [--strong] [--turns NAME ...]
"""

import argparse
import time
from collections.abc import Mapping, Sequence

import numpy as np

from dressform.body.body import Body
from dressform.body.pose import turned_worlds
from dressform.body.shapes import end_shapes
from dressform.body.skeleton import Skeleton
from dressform.body.stance import Stance
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.garment import Garment
from dressform.proof.at_stance import StanceCertificate, certify_stances
from dressform.proof.certificate import certify
from dressform.proof.linear_mesh import linear_body, linear_cloth
from dressform.repair.chain import repair_fit
from dressform.repair.clearance import keep_clear
from dressform.repair.cost import cost_of
from scenes import demo_scenes

GARMENTS = ("guernsey", "trousers", "waistcoat", "skirt", "coat", "gloves")
X, Y, Z, ELBOW, KNUCKLE = (1, 0, 0), (0, 1, 0), (0, 0, 1), (0, -1, 0.6), (0.3, 0, -1)
Turns = Sequence[tuple[str, tuple[float, float, float], float]]
EVERYDAY: Mapping[str, Turns] = {
    "T": [("upper_arm_*", Z, 45)],
    "arms forward": [("upper_arm_*", Y, -70)],
    "elbows 90": [("forearm_*", ELBOW, 90)],
    "sit": [("thigh_*", X, -90), ("shin_*", X, 90)],
    "walk": [
        ("thigh_l", X, -30), ("thigh_r", X, 25), ("shin_l", X, 10), ("shin_r", X, 45), ("upper_arm_l", X, 22),
        ("upper_arm_r", X, -22),
    ],
    "lunge": [("thigh_l", X, -80), ("thigh_r", X, 30), ("shin_l", X, 80), ("shin_r", X, 60)],
    "bow": [("spine_1", X, 30), ("spine_2", X, 20), ("spine_3", X, 10)],
    "twist": [("spine_1", Y, 15), ("spine_2", Y, 15), ("spine_3", Y, 15)],
    "head turn": [("neck", Y, 30), ("head", Y, 40)],
}  # fmt: skip
STRONG: Mapping[str, Turns] = {
    "arms up 105": [("upper_arm_*", Z, 105)],
    "arms up 150": [("upper_arm_*", Z, 150)],
    "arms down": [("upper_arm_*", Z, -35)],
    "elbows 140": [("forearm_*", ELBOW, 140)],
    "knees 120": [("shin_*", X, 120)],
    "fists": [(f"{finger}_{n}_*", KNUCKLE, 70) for finger in ("index", "middle", "ring", "little") for n in (1, 2)],
}
"""`*` is both sides, the right one mirrored. Axes are those of the world."""


def turn(axis: tuple[float, float, float], degrees: float) -> tuple[float, ...]:
    """A unit quaternion x, y, z, w."""
    half = np.radians(degrees) / 2
    return (*(np.sin(half) * np.array(axis) / np.linalg.norm(axis)).tolist(), float(np.cos(half)))


def stance_of(name: str, turns: Turns, skeleton: Skeleton) -> Stance:
    """The stance that turns make of rest."""
    done = {}
    for joint, (x, y, z), degrees in turns:
        done[joint.replace("*", "l")] = turn((x, y, z), degrees)
        if "*" in joint:
            done[joint.replace("*", "r")] = turn((x, -y, -z), degrees)
    return Stance(name, turned_worlds(skeleton, done), "turned joints")


def stretch(fit: Fit) -> float:
    """Stretch p99 beside the body's, the worst over the base and the ends of every morph."""
    check = GarmentOnBody(fit)
    shapes = [np.zeros(len(fit.morph_names)), *(shape.weights for shape in end_shapes(fit.body.range))]
    return max(check.measure(weights).stretch.relative_p99 for weights in shapes)


def totals(found: Sequence[StanceCertificate]) -> str:
    """Worst share, open pairs and sunk triangles of all stances."""
    open_pairs, sunk = sum(len(one.open_pairs) for one in found), sum(int(one.sunk.sum()) for one in found)
    return f"{min(one.share for one in found):.3%} | {open_pairs:,} | {sunk}"


def measure(name: str, body: Body, garment: Garment, stances: Sequence[Stance]) -> tuple[str, list[str]]:
    """The garment's row, and one per stance."""
    fit, moving = repair_fit(make_fit(body, garment)).fit, linear_body(body)
    before = certify_stances(fit, stances, obstacle=moving)
    begin = time.process_time()
    end = keep_clear(fit, moving, stances=stances)
    seconds = time.process_time() - begin
    after = certify_stances(end.fit, stances, obstacle=moving)
    rest = certify(linear_cloth(end.fit), moving, body.range)
    ratio, stretched = cost_of(fit, end.fit).pucker_ratio, (stretch(end.fit), stretch(fit))
    row = (
        f"| {name} | {totals(before)} | {totals(after)} | {rest.share:.3%} | {ratio:.2f} | "
        f"{stretched[0] / stretched[1]:.2f} | {1e3 * end.base_move[0]:.1f} | {seconds:.0f} |"
    )
    rows = [
        f"| {name} | {a.stance.name} | {b.share:.3%} | {a.share:.3%} | {len(b.open_pairs):,} | {len(a.open_pairs):,} | "
        f"{a.contacts.across:,} | {a.contacts.folded + a.contacts.folding:,} | {told.given_way} |"
        for b, a, told in zip(before, after, end.stances)
    ]
    return row, rows


def main() -> None:
    """Print both tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", nargs="*", default=GARMENTS)
    parser.add_argument("--strong", action="store_true", help="the strong bends too")
    parser.add_argument("--turns", nargs="*", help="names of stances; all by default")
    asked = parser.parse_args()
    wanted = {**EVERYDAY, **(STRONG if asked.strong else {})}
    wanted = {name: turns for name, turns in wanted.items() if not asked.turns or name in asked.turns}
    scenes, later = demo_scenes(), []
    print(
        "| garment | worst certified before | open | sunk | worst certified after | open | sunk | at rest | pucker × "
        "| stretch × | base move, mm | CPU s |\n|" + "---|" * 12
    )
    for name in asked.only:
        body, garment = scenes[name]
        if body.skeleton is None:
            continue
        stances = [stance_of(each, turns, body.skeleton) for each, turns in wanted.items()]
        row, rows = measure(name, body, garment, stances)
        print(row, flush=True)
        later += rows
    print("\n| garment | stance | before | after | open | open after | across | folded | gave way |\n|" + "---|" * 9)
    print("\n".join(later))


if __name__ == "__main__":
    main()
