"""Shapes to be looked at and graded by eye, without their figures: holes and folds of many sizes on the demo's clothes.

Writes one sheet of numbered pictures per kind and pass, each pass in another order, and `key.csv` with what was seeded
and measured. How they were graded, and which bands follow: docs/decisions/bands.md.

Run: python benchmarks/viewing_study.py FOLDER
"""

import csv
import sys
from dataclasses import replace
from functools import cached_property
from pathlib import Path

import numpy as np

from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
from dressform.faults.pucker import measure_pucker, pucker_index, pucker_windows
from dressform.faults.results import Pucker
from dressform.faults.severity import DEFAULT_BANDS
from dressform.faults.skin.show_through import ShowThroughBase, ShowThroughLook, prepare_show_through
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.tree import Tree
from dressform.report.pictures.camera import from_direction
from dressform.report.pictures.faults import SKIN, Drawable
from dressform.report.pictures.picture import save_png
from dressform.report.pictures.raster import draw
from dressform.report.pictures.sheet import Tile, contact_sheet
from seeded_faults import with_morph

GARMENTS = ("guernsey", "trousers", "skirt", "coat")
EACH = 24  # shapes of each kind
PASSES = 2
TILE, HEIGHT = (210, 260), 0.8  # pixels; metres of the world that a picture shows
CLOTH = (0.30, 0.42, 0.55)
HOLE_RADIUS, HOLE_RISE = (0.015, 0.08), (0.001, 0.022)  # metres
FOLD_HEIGHT, FOLD_LENGTH, FOLD_WIDTH = (0.001, 0.014), (0.03, 0.20), (0.006, 0.015)  # metres
PATCH = 10e-4  # m²
TITLES = ("hole", "fold")


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


def picture(fit: Fit, at: int, weights: np.ndarray) -> np.ndarray:
    """What a viewer gets: a body in its clothes, lit as in a report, without colours of faults."""
    target = fit.garment.vertices[at]
    camera = from_direction(target, azimuth=12.0, elevation=6.0, height=HEIGHT)
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

    @cached_property
    def through(self) -> ShowThroughBase:
        """What it hides."""
        return prepare_show_through(self.cloth, self.body)

    def exposed(self, seeded: Fit, weights: np.ndarray) -> float:
        """Skin that shows, cm²."""
        moved = self.cloth.refit(seeded.at(weights)), self.body.refit(seeded.body.at(weights))
        return ShowThroughLook(self.through, *moved).result.exposed_area * 1e4

    def pucker_over(self, seeded: Fit, weights: np.ndarray, area: float) -> float:
        """The index that `area`, m², of the cloth reaches or exceeds."""
        index = pucker_index(self.windows, seeded.at(weights))[self.windows.tells]
        order = np.argsort(-index)
        held = np.cumsum(self.windows.areas[self.windows.tells][order])
        return float(index[order][min(int(np.searchsorted(held, area)), len(order) - 1)])

    def pucker(self, seeded: Fit, weights: np.ndarray) -> Pucker:
        """Pucker of the whole garment."""
        return measure_pucker(self.windows, pucker_index(self.windows, seeded.at(weights)))


def made(name: str, number: int, garments: dict[str, Measured]) -> tuple[dict[str, object], np.ndarray]:
    """One shape: its row in the key, and its picture."""
    kind, chance, garment = TITLES[number >= EACH], np.random.default_rng(900 + number), garments[name]
    is_hole = kind == TITLES[0]
    fit, at, words = (with_hole if is_hole else with_fold)(garment.fit, chance)
    weights = np.zeros(len(fit.body.morph_names))
    weights[-1] = 1.0
    row: dict[str, object] = {"number": number, "kind": kind, "garment": name, "seeded": words}
    if is_hole:
        area = garment.exposed(fit, weights)
        row |= {"exposed_cm2": round(area, 2), "verdict": DEFAULT_BANDS.grade("exposed", area * 1e-4)}
    else:
        found = garment.pucker(fit, weights)
        row |= {"pucker_p99": round(found.p99, 4), "pucker_max": round(found.max, 4)}
        row["pucker_10cm2"] = round(garment.pucker_over(fit, weights, PATCH), 4)
        row["verdict"] = DEFAULT_BANDS.grade("pucker", found.graded)
    return row, picture(fit, at, weights)


def main() -> None:
    folder = Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    bodies = make_demo_bodies()
    wardrobe = make_wardrobe(bodies)
    garments = {name: Measured(make_fit(bodies["woman"], wardrobe[name].garment)) for name in GARMENTS}
    shapes = [made(GARMENTS[number % len(GARMENTS)], number, garments) for number in range(2 * EACH)]
    with (folder / "key.csv").open("w", newline="", encoding="utf-8") as file:
        writer = csv.DictWriter(file, list(shapes[0][0] | shapes[-1][0]))
        writer.writeheader()
        writer.writerows(row for row, _ in shapes)
    for turn in range(PASSES):
        for kind in TITLES:
            numbers = [index for index, (row, _) in enumerate(shapes) if row["kind"] == kind]
            np.random.default_rng(turn).shuffle(numbers)
            tiles = [Tile(str(number), (shapes[number][1],)) for number in numbers]
            save_png(contact_sheet(tiles, columns=8), folder / f"{kind}_{turn + 1}.png")


if __name__ == "__main__":
    main()
