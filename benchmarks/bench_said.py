"""What is said of the demo woman's garments, of tight cloth under swellings, and what a repair does besides.

    python benchmarks/bench_said.py places [--garments guernsey_tight guernsey_coarse] [--shapes 64]
    python benchmarks/bench_said.py tight
    python benchmarks/bench_said.py repairs

`places` checks each garment as `dressform check` does, the ends of every morph, a Sobol sample and the worst corners,
explains it and tries every action. `tight` lays a patch of cloth 1 mm into the skin and lets the skin under it swell.
`repairs` measures what a repair of clearance does to folds and crossings. Prints Markdown tables.
"""

import argparse
from collections import Counter
from collections.abc import Iterator

import numpy as np

from dressform.body.shapes import DEFAULT_SOBOL, ShapeSettings, distinct, end_shapes, shape_at_base
from dressform.causes.actions.make import make_actions
from dressform.causes.explain import explain_garment
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.results import TOO_FEW_VERTICES, TOO_TIGHT
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.results import SEVERITIES
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.mesh.geometry import vertex_normals
from dressform.proof.linear_mesh import linear_body
from dressform.repair.clear.clearance import keep_clear
from dressform.sweep.results import SweepRow
from dressform.sweep.run import choose_shapes, run_sweep
from seeded_cases import propose, shows
from seeded_faults import SWELLING_MORPH, Seed, insert, with_morph
from seeded_scenes import Scene, demo_scenes

BODY = "woman"
SWELLINGS = (0.012, 0.025, 0.035)
"""How far the skin swells under cloth that is too tight, metres."""
WIDE = 0.08
"""Over what radius it does, metres."""
TIGHT = -0.001
"""How the cloth lies there at the base, metres."""
SEEDS = 12
REPAIRED = ("guernsey", "guernsey_coarse", "skirt", "trousers")
CM2, MM = 1e4, 1e3


def worn(names: list[str]) -> Iterator[tuple[str, Fit]]:
    """The woman's garments, those named or all."""
    bodies = make_demo_bodies()
    for name, made in make_wardrobe(bodies).items():
        if made.made_on == BODY and (name in names or not names):
            yield name, make_fit(bodies[BODY], made.garment)


def places(names: list[str], sobol: int) -> None:
    """A row for each garment."""
    print("| garment | places | without a cause | of these moderate and grave ", end="")
    print("| actions | advised | about vertices | first place |")
    print("|---|---:|---:|---:|---:|---:|---:|---|", flush=True)
    total: Counter[str] = Counter()
    for name, fit in worn(names):
        shapes = choose_shapes({name: fit}, settings=ShapeSettings(sobol=sobol))
        rows = run_sweep({name: fit}, shapes).rows
        told = ExplainedGarment(fit)
        said = explain_garment(told, rows, key=name)
        actions = make_actions(told, rows, said)
        without = [one for one in said if not one.cause]
        counts = {
            "places": len(said),
            "without": len(without),
            "grave": sum(one.cluster.worst.place.severity in SEVERITIES[2:] for one in without),
            "actions": len(actions),
            "advised": sum(bool(one.offered) for one in actions),
            "vertices": sum(one.cause == TOO_FEW_VERTICES for one in actions),
        }
        total.update(counts)
        first = f"{said[0].cluster.fault}, {said[0].cause or 'no cause'}" if said else "clean"
        print(f"| {name} | {' | '.join(map(str, counts.values()))} | {first} |", flush=True)
    print(f"| all | {' | '.join(str(count) for count in total.values())} | |")


def swollen(scene: Scene, number: int, height: float) -> tuple[Scene, Seed] | None:
    """A scene with a patch that is too tight over skin that swells by `height`, and the seed."""
    seed = propose(scene, TOO_TIGHT, number)
    if seed is None:
        return None
    made = insert(scene, Seed(TOO_TIGHT, seed.place, 0.12, TIGHT))
    body = scene.body
    foot = int(np.argmin(np.linalg.norm(body.vertices - seed.place, axis=1)))
    normals = vertex_normals(body.vertices, body.faces)
    away = np.linalg.norm(body.vertices - body.vertices[foot], axis=1) / WIDE
    share = np.exp(-(away**2)) * np.clip(normals @ normals[foot], 0.0, 1.0)
    grown = with_morph(body, SWELLING_MORPH, height * share[:, None] * normals[foot])
    return Scene(made.name, grown, made.garment), Seed(TOO_TIGHT, seed.place, 0.12, TIGHT)


def tight() -> None:
    """How often cloth that is too tight is named under swellings, a row for each height."""
    scenes = [scene for scene in demo_scenes().values() if "clogs" not in scene.name]
    print("| the skin swells by, mm | seen | too tight is named | the action cures |\n|---|---:|---:|---:|")
    for height in SWELLINGS:
        seen = named = cured = 0
        for number in range(SEEDS):
            found = swollen(scenes[number % len(scenes)], 7000 + number, height)
            if found is None:
                continue
            scene, seed = found
            weights = scene.body.weights({SWELLING_MORPH: 1.0})
            row = SweepRow(scene.name, "swollen", weights, scene.measure(weights), 0.0, False)
            told = ExplainedGarment(scene.fit)
            said = explain_garment(told, [row], key=scene.name)
            near = [
                one for one in said if shows(scene, seed, one.cluster.worst.place) and one.cluster.worst.weights.any()
            ]
            if not near:
                continue
            seen += 1
            named += near[0].cause == TOO_TIGHT
            action = next((one for one in make_actions(told, [row], said) if near[0].cluster.name in one.places), None)
            cured += action is not None and bool(action.offered) and near[0].cluster.name in action.offered[0].cured
        print(f"| {height * MM:.0f} | {seen} | {named} | {cured} |", flush=True)


def repairs(names: list[str]) -> None:
    """What a repair of clearance does besides, at the base and the ends of every morph: the worst of each."""
    print("| garment | folded, before | after | cuts through itself, cm², before | after | base moved at most, mm |")
    print("|---|---:|---:|---:|---:|---:|")
    for name, fit in worn(names or list(REPAIRED)):
        repaired = keep_clear(fit, linear_body(fit.body))
        shapes = distinct([shape_at_base(fit.body.range), *end_shapes(fit.body.range)])
        told = []
        for one in (fit, repaired.fit):
            check = GarmentOnBody(one)
            found = [check.measure(shape.weights).broken for shape in shapes]
            told.append((max(each.folded_faces for each in found), max(each.cut_area for each in found) * CM2))
        (folds, cuts), (folds_after, cuts_after) = told
        moved = repaired.base_move[0] * MM
        print(f"| {name} | {folds} | {folds_after} | {cuts:.1f} | {cuts_after:.1f} | {moved:.1f} |", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("what", choices=("places", "tight", "repairs"))
    parser.add_argument("--garments", nargs="*", default=[])
    parser.add_argument("--shapes", type=int, default=DEFAULT_SOBOL, help="size of the Sobol sample")
    asked = parser.parse_args()
    if asked.what == "places":
        places(asked.garments, asked.shapes)
    elif asked.what == "tight":
        tight()
    else:
        repairs(asked.garments)


if __name__ == "__main__":
    main()
