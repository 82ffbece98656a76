"""What the repair over stances does and costs: garments repaired at rest, then at stances, with corrective targets.

Per garment, after the chain of repairs at rest and after the clearance repair over rest and stances: worst share of
near pairs certified at any of its stances, pairs open and triangles under their own skin summed over them, share at
rest, pucker p95 as a multiple of before (mean over the base and the ends of every morph), stretch p99 likewise, base
move, corrective targets with the farthest that any moves a vertex, and processor time. Then per stance: certified
before and after, open pairs, contact, demands that gave way; and the most skin that shows through cloth before and
after over the base, every morph at its high and at its low end, an even sample (`--shapes`), and the corners that the
closed form finds, with the deepest cloth under its own foot, and pucker p95 (mean) and stretch p99 (worst) there over
the base and every morph at its high end, as multiples of before. Stances are turns of the joints by the degrees in
their names, or with `--built-in` those of that name that every recognised skeleton has. Every row is printed as soon
as it is known.

`--real` takes the T-shirt on the mean body of DRESSFORM_DATA, with joints and weights of `real_skeleton.py`, where
there is one. `--clips` publishes the share of the time for which pairs are certified between the moments of the
demo's animations.

Run: python benchmarks/bench_stances_repair.py [--only NAME ...] [--strong] [--turns NAME ...] [--built-in] [--shapes N]
     [--real] [--clips walk haul [--halvings N]]
"""

import argparse
import sys
import tempfile
import time
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np

from dressform.body.body import Body
from dressform.body.pose import turned_worlds
from dressform.body.shapes import end_shapes, sobol_shapes
from dressform.body.skeleton import Skeleton
from dressform.body.stance import Stance
from dressform.demo.moving import clips_of
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.fit.posed import posed_fit
from dressform.formats.gltf.joint_tracks import read_animations
from dressform.formats.gltf.save import save_body
from dressform.formats.load import load_body
from dressform.garment.garment import Garment
from dressform.jobs.stances import find_stances
from dressform.proof.at_stance import StanceCertificate, certify_stances
from dressform.proof.certificate import certify
from dressform.proof.clip import MOST_HALVINGS, certify_clip
from dressform.proof.linear_mesh import linear_body, linear_cloth
from dressform.repair.chain import repair_fit
from dressform.repair.clear.clearance import keep_clear
from dressform.repair.cost import cost_of
from dressform.sweep.worst import worst_shapes
from real_skeleton import jointed
from scenes import demo_scenes, real_scene

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


HEADING = (
    "| garment | worst certified before | open | sunk | worst certified after | open | sunk | at rest | pucker × "
    "| stretch × | base move, mm | targets | CPU s |\n|" + "---|" * 13
)
AT_STANCES = (
    "| garment | stance | before | after | open | open after | across | folded | gave way | skin seen, cm² "
    "| under its own foot, mm | pucker × | stretch × |\n|" + "---|" * 13
)
CLIPS = "| garment | animation | pairs | certified | contact | intervals | most open | CPU s |\n|" + "---|" * 8


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


def seen(fit: Fit, stance: Stance, shapes: int) -> tuple[float, float]:
    """The most skin that shows at a stance, cm², and the deepest cloth under its own foot, mm, over many shapes."""
    worn, box = GarmentOnBody(fit), fit.body.range
    looked = [np.zeros(len(fit.morph_names)), box.high, box.low, *(one.weights for one in sobol_shapes(box, shapes))]
    looked += [threat.shape.weights for threat in worst_shapes(posed_fit(fit, stance), most=3)]
    found = [worn.measure(weights, stance).show_through for weights in looked]
    return 1e4 * max(one.exposed_area for one in found), 1e3 * max(one.depth_max for one in found)


def form(fit: Fit, stance: Stance) -> tuple[float, float]:
    """Pucker p95, the mean, and stretch p99, the worst, at a stance over the base and every morph at its high end."""
    worn = GarmentOnBody(fit)
    found = [worn.measure(weights, stance) for weights in (np.zeros(len(fit.morph_names)), fit.body.range.high)]
    return float(np.mean([one.pucker.p95 for one in found])), max(one.stretch.relative_p99 for one in found)


def measure(name: str, body: Body, garment: Garment, stances: Sequence[Stance], shapes: int) -> Fit:
    """Print the garment's row, then one per stance; the repaired fit."""
    fit, moving = repair_fit(make_fit(body, garment)).fit, linear_body(body)
    before = certify_stances(fit, stances, obstacle=moving)
    begin = time.process_time()
    end = keep_clear(fit, moving, stances=stances)
    seconds = time.process_time() - begin
    after = certify_stances(end.fit, stances, obstacle=moving)
    rest = certify(linear_cloth(end.fit), moving, body.range)
    ratio, stretched = cost_of(fit, end.fit).pucker_ratio, (stretch(end.fit), stretch(fit))
    targets = [one.lengths.max() for one in end.fit.correctives]
    row = (
        f"| {name} | {totals(before)} | {totals(after)} | {rest.share:.3%} | {ratio:.2f} | "
        f"{stretched[0] / stretched[1]:.2f} | {1e3 * end.base_move[0]:.1f} | "
        f"{len(targets)}, {1e3 * max(targets, default=0.0):.0f} mm | {seconds:.0f} |"
    )
    print(f"{HEADING}\n{row}\n\n{AT_STANCES}", flush=True)
    gave = {told.stance: told.given_way for told in end.stances}
    for a, b in zip(before, after):
        through = [seen(one, a.stance, shapes) for one in (fit, end.fit)] if shapes >= 0 else [(np.nan, np.nan)] * 2
        forms = np.divide(form(end.fit, a.stance), form(fit, a.stance))
        print(
            f"| {name} | {a.stance.name} | {a.share:.3%} | {b.share:.3%} | {len(a.open_pairs):,} | "
            f"{len(b.open_pairs):,} | {b.contacts.across:,} | {b.contacts.folded + b.contacts.folding:,} | "
            f"{gave.get(a.stance.name, 0)} | {through[0][0]:.1f} → {through[1][0]:.1f} | "
            f"{through[0][1]:.1f} → {through[1][1]:.1f} | {forms[0]:.2f} | {forms[1]:.2f} |",
            flush=True,
        )
    print()
    return end.fit


def clips(fit: Fit, names: Sequence[str], halvings: int) -> list[str]:
    """A row per animation of the demo's bodies: what share of the time is certified, and what is open."""
    assert fit.body.skeleton is not None
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "body.glb"
        save_body(fit.body, path, clips={fit.body.name: clips_of(fit.body)})
        animations = read_animations(load_body(path, units="m", up="y", front="z"))
    for animation in animations:
        if animation.name in names:
            begin = time.process_time()
            found = certify_clip(fit, animation, halvings=halvings)
            worst = max(found.open, key=lambda one: len(one.pairs), default=None)
            when = "none" if worst is None else f"{worst.start:.3f} to {worst.end:.3f} s ({len(worst.pairs)} pairs)"
            rows.append(
                f"| {fit.garment.name} | {animation.name} | {len(found.pairs):,} | {found.share:.4%} | "
                f"{found.contact_share:.3%} | {found.pieces} | {when} | {time.process_time() - begin:.0f} |"
            )
    return rows


def scenes_asked(asked: argparse.Namespace) -> dict[str, tuple[Body, Garment]]:
    """Garments by name, each with its body."""
    if asked.real:
        scene = real_scene()
        if scene is None:
            sys.stderr.write("no real meshes: set DRESSFORM_DATA to the folder that holds them\n")
            return {}
        return {"T-shirt": (jointed(scene[0]), scene[1])}
    scenes = demo_scenes()
    return {name: scenes[name] for name in asked.only}


def main() -> None:
    """Print the tables."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", nargs="*", default=GARMENTS)
    parser.add_argument("--strong", action="store_true", help="the strong bends too")
    parser.add_argument("--turns", nargs="*", help="names of stances; all by default")
    parser.add_argument("--built-in", action="store_true", help="built-in stances of a recognised skeleton")
    parser.add_argument("--shapes", type=int, default=64, help="shapes of the sample; -1 measures no skin that shows")
    parser.add_argument("--real", action="store_true", help="the real T-shirt instead of the demo's garments")
    parser.add_argument("--clips", nargs="*", default=(), help="animations to certify at every instant: walk, haul")
    parser.add_argument("--halvings", type=int, default=MOST_HALVINGS, help="times that time between keys is halved")
    asked = parser.parse_args()
    wanted = {**EVERYDAY, **(STRONG if asked.strong or asked.turns else {})}
    wanted = {name: turns for name, turns in wanted.items() if not asked.turns or name in asked.turns}
    for name, (body, garment) in scenes_asked(asked).items():
        if body.skeleton is None:
            continue
        known = set(body.skeleton.names)
        if asked.built_in:
            words = "everyday,strong" if asked.strong or asked.turns else "everyday"
            stances = [one for one in find_stances(body, words).stances if one.name in (asked.turns or [one.name])]
        else:
            stances = [
                stance_of(each, turns, body.skeleton)
                for each, turns in wanted.items()
                if all(joint.replace("*", "l") in known for joint, _, _ in turns)
            ]
        end = measure(name, body, garment, stances, asked.shapes)
        if asked.clips:
            print("\n".join([CLIPS, *clips(end, asked.clips, asked.halvings)]) + "\n", flush=True)


if __name__ == "__main__":
    main()
