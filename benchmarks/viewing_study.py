"""Shapes to be looked at and graded by eye, without their figures: holes, folds and bends on the demo's clothes.

Writes sheets of numbered pictures per kind and pass, each pass in another order, and `key.csv` with what was seeded
and measured. How they were graded, and which bands follow: docs/decisions/bands.md.

It also prints how the verdicts agree with `viewing_grades.csv`; the bands were chosen on the shapes with even numbers,
so those with odd numbers tell.

Run: python benchmarks/viewing_study.py FOLDER
"""

import csv
import sys
from dataclasses import replace
from functools import cached_property, partial
from pathlib import Path

import numpy as np

from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
from dressform.faults.bent import bent, held_against, lifted_smoothly, seen_turn
from dressform.faults.own_turn import OwnTurn
from dressform.faults.pucker import measure_pucker, pucker_index, pucker_windows
from dressform.faults.results import SEVERITIES
from dressform.faults.severity import DEFAULT_BANDS
from dressform.faults.skin.show_through import ShowThroughBase, ShowThroughLook, prepare_show_through
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.mesh.geometry import vertex_areas, vertex_normals
from dressform.mesh.tree import Tree
from dressform.report.pictures.camera import from_direction
from dressform.report.pictures.faults import SKIN, Drawable
from dressform.report.pictures.picture import save_png
from dressform.report.pictures.raster import draw
from dressform.report.pictures.sheet import Tile, contact_sheet
from seeded_faults import with_morph

GARMENTS = ("guernsey", "trousers", "skirt", "coat")
KINDS = {
    "hole": (*range(24),),
    "fold": (*range(24, 48), *range(48, 60)),
    "bend": (*range(60, 90),),
    "turned fold": (*range(90, 126),),
}
"""Numbers of the shapes of each kind."""
GRADES = Path(__file__).with_name("viewing_grades.csv")
PASSES = 2
BEFORE = (0.005, 0.02, 0.03)  # bands of pucker by the 99th percentile, before this study
A_SHEET, COLUMNS = {"turned fold": 10}, {"turned fold": 2}  # else 12 and 6
AZIMUTHS = {"turned fold": (-38.0, 8.0, 52.0)}  # degrees; else one view at 12
TILE, HEIGHT = (210, 260), 0.8  # pixels; metres of the world that a picture shows
CLOTH = (0.30, 0.42, 0.55)
HOLE_RADIUS, HOLE_RISE = (0.015, 0.08), (0.001, 0.022)  # metres
FOLD_HEIGHT, FOLD_LENGTH, FOLD_WIDTH = (0.001, 0.014), (0.03, 0.20), (0.006, 0.015)  # metres
TENT_HEIGHT, TENT_RADIUS = (0.004, 0.07), (0.05, 0.20)  # metres
UNBENT = 5  # every fifth bend is none: the body changes its shape and the cloth follows
MILD = 0.6  # shapes of bends are drawn from this share of the range


def place_on(fit: Fit, chance: np.random.Generator) -> int:
    """A vertex of the cloth that looks forward."""
    normals = vertex_normals(fit.garment.vertices, fit.garment.faces)
    ahead = np.flatnonzero((normals[:, 2] > 0.8) & (np.abs(fit.garment.vertices[:, 0]) < 0.16))
    return int(chance.choice(ahead))


def with_hole(fit: Fit, chance: np.random.Generator) -> tuple[Fit, int, str]:
    """The body swells through cloth that stays."""
    body, at = fit.body, place_on(fit, chance)
    away = np.linalg.norm(body.vertices - fit.garment.vertices[at], axis=1)
    nearest = int(np.argmin(away))
    room, radius, rise = away[nearest], np.exp(chance.uniform(*np.log(HOLE_RADIUS))), chance.uniform(*HOLE_RISE)
    normals = vertex_normals(body.vertices, body.faces)
    spread = np.linalg.norm(body.vertices - body.vertices[nearest], axis=1) / radius
    delta = ((room + rise) * np.exp(-(spread**2)))[:, None] * normals[nearest]
    still = np.zeros((1, *fit.base.shape))
    return replace(fit, body=with_morph(body, "seeded", delta), deltas=np.concatenate([fit.deltas, still])), at, ""


def with_fold(fit: Fit, chance: np.random.Generator) -> tuple[Fit, int, str]:
    """A ridge in the cloth, in any direction."""
    cloth, at = fit.garment, place_on(fit, chance)
    height, length, width = (np.exp(chance.uniform(*np.log(span))) for span in (FOLD_HEIGHT, FOLD_LENGTH, FOLD_WIDTH))
    turn = chance.uniform(0, np.pi)
    along = np.array([np.cos(turn), np.sin(turn), 0.0])
    away = cloth.vertices - cloth.vertices[at]
    front = vertex_normals(cloth.vertices, cloth.faces)[:, 2] > 0.2
    on = away @ along / (0.5 * length)
    across = away @ np.cross([0.0, 0.0, 1.0], along) / width
    ridge = height * np.exp(-(across**2)) * np.exp(-(on**4)) * front
    delta = ridge[:, None] * vertex_normals(cloth.vertices, cloth.faces)
    body = with_morph(fit.body, "seeded", np.zeros_like(fit.body.vertices))
    words = f"{height * 1e3:.1f} mm high, {length * 1e2:.0f} cm long"
    return replace(fit, body=body, deltas=np.concatenate([fit.deltas, delta[None]])), at, words


def with_bend(fit: Fit, chance: np.random.Generator) -> tuple[Fit, int, str]:
    """Cloth drawn out into a pyramid, a cone or along a crease; or, every so often, cloth that only follows."""
    cloth, at = fit.garment, place_on(fit, chance)
    height, radius = (np.exp(chance.uniform(*np.log(span))) for span in (TENT_HEIGHT, TENT_RADIUS))
    form = ("pyramid", "cone", "crease", "hollow", "none")[int(chance.integers(UNBENT))]
    turn = chance.uniform(0, np.pi)
    along = np.array([np.cos(turn), np.sin(turn), 0.0])
    away = cloth.vertices - cloth.vertices[at]
    normals = vertex_normals(cloth.vertices, cloth.faces)
    on, across = np.abs(away @ along), np.abs(away @ np.cross([0.0, 0.0, 1.0], along))
    reach = {"pyramid": on + across, "cone": np.hypot(on, across), "crease": across, "hollow": np.hypot(on, across)}
    tent = np.clip(1.0 - reach.get(form, np.full(len(on), np.inf)) / radius, 0.0, 1.0)
    if form == "hollow":
        tent = tent**2 * (3.0 - 2.0 * tent)
    delta = (height * tent * (normals[:, 2] > 0.2))[:, None] * normals[at]
    body = with_morph(fit.body, "seeded", np.zeros_like(fit.body.vertices))
    words = f"{form}, {height * 1e3:.0f} mm high, {radius * 1e2:.0f} cm" if form != "none" else "none"
    return replace(fit, body=body, deltas=np.concatenate([fit.deltas, delta[None]])), at, words


SEEDERS = {"hole": with_hole, "fold": with_fold, "bend": with_bend, "turned fold": with_fold}


def shape_of(kind: str, fit: Fit, chance: np.random.Generator) -> np.ndarray:
    """The seeded morph at 1; under bends the body has another shape as well."""
    weights = np.zeros(len(fit.body.morph_names))
    if kind == "bend":
        low, high = fit.body.range.low[:-1], fit.body.range.high[:-1]
        weights[:-1] = MILD * (low + (high - low) * chance.random(len(low)))
    weights[-1] = 1.0
    return weights


def picture(fit: Fit, at: int, weights: np.ndarray, azimuth: float) -> np.ndarray:
    """What a viewer gets: a body in its clothes, lit as in a report, without colours of faults."""
    target = fit.at(np.where(np.arange(len(weights)) < len(weights) - 1, weights, 0.0))[at]
    camera = from_direction(target, azimuth=azimuth, elevation=6.0, height=HEIGHT)
    body, cloth = fit.body, fit.garment
    colours = np.tile(np.array(CLOTH), (len(cloth.vertices), 1))
    meshes = [Drawable(body.at(weights), body.faces, SKIN)]
    meshes.append(Drawable(fit.at(weights), cloth.faces, colours, np.zeros(len(cloth.vertices))))
    return draw(meshes, camera, TILE)


class Measured:
    """A clean garment, prepared once: what is seeded changes neither its base nor its body's."""

    def __init__(self, fit: Fit) -> None:
        self.fit = fit
        self.cloth = Tree(fit.garment.vertices, fit.garment.faces)
        self.body = Tree(fit.body.vertices, fit.body.faces)
        self.windows = pucker_windows(fit.garment.vertices, fit.garment.faces)
        self.areas = vertex_areas(fit.garment.vertices, fit.garment.faces)
        self.own_turn = OwnTurn(fit.garment.vertices, fit.garment.faces, np.arange(len(fit.garment.vertices)))

    @cached_property
    def through(self) -> ShowThroughBase:
        """What it hides."""
        return prepare_show_through(self.cloth, self.body)

    def exposed(self, seeded: Fit, weights: np.ndarray) -> float:
        """Skin that shows, cm²."""
        moved = self.cloth.refit(seeded.at(weights)), self.body.refit(seeded.body.at(weights))
        return ShowThroughLook(self.through, *moved).result.exposed_area * 1e4

    def row(self, kind: str, seeded: Fit, weights: np.ndarray) -> dict[str, object]:
        """What is measured of one shape, for the key."""
        if kind == "hole":
            area = self.exposed(seeded, weights)
            return {"exposed_cm2": round(area, 2), "verdict": DEFAULT_BANDS.grade("exposed", area * 1e-4)}
        cloth, lift = seeded.at(weights), held_against(seeded, lifted_smoothly(seeded, self.body), self.body)
        found = measure_pucker(self.windows, pucker_index(self.windows, cloth))
        faces, own = seeded.garment.faces, np.arange(len(cloth))
        turn = np.zeros(len(cloth)) if lift is None else bent(lift, cloth, faces, own, weights)
        values = {"pucker": found.graded, "bent": seen_turn(turn, self.areas, partial(self.own_turn.departure, cloth))}
        verdict = max((DEFAULT_BANDS.grade(*value) for value in values.items()), key=SEVERITIES.index)
        before = sum(found.p99 >= bound for bound in BEFORE)
        return {
            "pucker_p99": round(found.p99, 4),
            "pucker_5cm2": round(values["pucker"], 4),
            "bent_degrees": round(float(np.degrees(values["bent"])), 1),
            "verdict": verdict,
            "verdict_before": SEVERITIES[before],
        }


def clean_garments() -> dict[str, Measured]:
    """What is seeded into."""
    bodies = make_demo_bodies()
    wardrobe = make_wardrobe(bodies)
    return {name: Measured(make_fit(bodies["woman"], wardrobe[name].garment)) for name in GARMENTS}


def seeded(number: int, garments: dict[str, Measured]) -> tuple[str, str, Fit, int, str, np.ndarray]:
    """One shape: its kind, garment, fit, the vertex that is looked at, what was seeded, and the weights."""
    kind = next(name for name, numbers in KINDS.items() if number in numbers)
    name, chance = GARMENTS[number % len(GARMENTS)], np.random.default_rng(900 + number)
    fit, at, words = SEEDERS[kind](garments[name].fit, chance)
    return kind, name, fit, at, words, shape_of(kind, fit, chance)


def made(number: int, garments: dict[str, Measured]) -> tuple[dict[str, object], tuple[np.ndarray, ...]]:
    """One shape: its row in the key, and its pictures."""
    kind, name, fit, at, words, weights = seeded(number, garments)
    row: dict[str, object] = {"number": number, "kind": kind, "garment": name, "seeded": words}
    return row | garments[name].row(kind, fit, weights), tuple(
        picture(fit, at, weights, azimuth) for azimuth in AZIMUTHS.get(kind, (12.0,))
    )


def print_agreement(rows: list[dict[str, object]]) -> None:
    """How often verdicts are those of the second pass, and at most one grade off, as a Markdown table."""
    with GRADES.open(encoding="utf-8") as file:
        grades = {int(row["number"]): row for row in csv.DictReader(file)}
    same = sum(row["first"] == row["second"] for row in grades.values())
    print(f"The passes agree on {same} of {len(grades)}.\n")
    print("| shapes | passes agree | verdict before | verdict | at most one grade off |\n|---|---|---|---|---|")
    for kind in KINDS:
        for half, words in ((0, "even, bands chosen on them"), (1, "odd")):
            chosen = [row for row in rows if row["kind"] == kind and int(str(row["number"])) % 2 == half]
            seen = [grades[int(str(row["number"]))] for row in chosen]
            passes = sum(one["first"] == one["second"] for one in seen)
            before = sum(row.get("verdict_before", row["verdict"]) == one["second"] for row, one in zip(chosen, seen))
            off = [
                abs(SEVERITIES.index(str(row["verdict"])) - SEVERITIES.index(one["second"]))
                for row, one in zip(chosen, seen)
            ]
            near = off.count(0) + off.count(1)
            print(f"| {kind}s, {words} | {passes} of {len(chosen)} | {before} | {off.count(0)} | {near} |")


def main() -> None:
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    garments = clean_garments()
    shapes = [made(number, garments) for numbers in KINDS.values() for number in numbers]
    with (folder / "key.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list({key: None for row, _ in shapes for key in row}))
        writer.writeheader()
        writer.writerows(row for row, _ in shapes)
    print_agreement([row for row, _ in shapes])
    for turn in range(PASSES):
        for kind, numbers in KINDS.items():
            order = np.random.default_rng(turn).permutation(numbers)
            count, columns = A_SHEET.get(kind, 12), COLUMNS.get(kind, 6)
            for sheet, start in enumerate(range(0, len(order), count)):
                tiles = [Tile(str(number), shapes[number][1]) for number in order[start : start + count]]
                save_png(contact_sheet(tiles, columns=columns), folder / f"{kind}_{turn + 1}_{sheet + 1}.png")


if __name__ == "__main__":
    main()
