"""Skin that shows as it is measured, beside what the referee counts on a rendering.

Garments of the demo on both bodies, each with seeded faults: cloth that *lags* (follows the morphs by a share), three
*swellings* of the body under it that it doesn't follow, and a *coarse* patch; the demo's coarse and tight guernseys as
they are. Shapes are drawn at random within the range, at full and at part weight. Prints one Markdown row a shape, and
how many shapes the two agree on: within 10 % or 1 cm² of the referee.

Run: python benchmarks/bench_referee.py [--garments coat skirt ...] [--draws 6]
"""

import argparse
import statistics
from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from dressform.body.body import Body
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
from dressform.faults.skin.show_through import ShowThroughLook, prepare_show_through
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.garment import Garment
from dressform.mesh.geometry import vertex_normals
from dressform.mesh.nearest import closest
from dressform.mesh.tree import Tree
from referee import Referee
from seeded_faults import Seed as PlacedSeed
from seeded_faults import too_few_vertices, with_morph
from seeded_scenes import Scene

GARMENTS = (
    "coat", "guernsey", "trousers", "waistcoat", "skirt", "gloves", "man_coat", "man_guernsey", "man_trousers",
    "man_waistcoat", "clogs", "man_clogs", "guernsey_coarse", "guernsey_tight",
)  # fmt: skip
FAULTY = ("guernsey_coarse", "guernsey_tight")
"""Worn as they are."""
LAG, SWELLINGS = 0.7, 3
SWELLING = (0.03, 0.07)  # radius, metres
RISE = (0.004, 0.02)  # how far a swelling stands out of the cloth at full weight, metres
COARSE, COARSE_RADIUS = 0.12, 0.13  # metres
WEIGHTS = (1.0, 0.7)
CM2 = 1e4
SHARE, FLOOR = 0.10, 1.0
"""Agreement: within this share of the referee's count, or so many cm²."""


def seeded(name: str, body: Body, garment: Garment, chance: np.random.Generator) -> Iterator[tuple[str, Fit]]:
    """Fits of one garment with a fault in each."""
    fit = make_fit(body, garment)
    if name in FAULTY:
        yield "as made", fit
        return
    yield "lags", replace(fit, deltas=LAG * fit.deltas)
    for _ in range(SWELLINGS):
        yield "swelling", _swollen(fit, chance)
    if not name.endswith(("clogs", "gloves")):
        place = garment.vertices[chance.integers(len(garment.vertices))]
        scene = too_few_vertices(Scene(name, body, garment), PlacedSeed("", place, COARSE_RADIUS, COARSE))
        yield "coarse", make_fit(body, scene.garment)


def _swollen(fit: Fit, chance: np.random.Generator) -> Fit:
    """The body swells under one place of the cloth, which stays where it is."""
    body, place = fit.body, fit.garment.vertices[chance.integers(len(fit.garment.vertices))]
    foot = closest(Tree(body.vertices, body.faces), place[None])
    room, radius = float(foot.distances[0]), chance.uniform(*SWELLING)
    normals = vertex_normals(body.vertices, body.faces)
    nearest = int(np.argmin(np.linalg.norm(body.vertices - foot.points[0], axis=1)))
    away = np.linalg.norm(body.vertices - foot.points[0], axis=1) / radius
    facing = np.clip(normals @ normals[nearest], 0.0, 1.0)
    delta = ((room + chance.uniform(*RISE)) * np.exp(-(away**2)) * facing)[:, None] * normals[nearest]
    still = np.zeros((1, *fit.base.shape))
    return replace(fit, body=with_morph(body, "swelling", delta), deltas=np.concatenate([fit.deltas, still]))


def shapes(body: Body, seed: str, chance: np.random.Generator, draws: int) -> Iterator[np.ndarray]:
    """Shapes to look at, at several weights, so many times."""
    low, high = body.range.low, body.range.high
    for weight in draws * WEIGHTS:
        drawn = np.where(chance.random(len(low)) < 0.5, high, low)
        if seed == "swelling":
            drawn = 0.3 * drawn
            drawn[-1] = 1.0
        yield weight * drawn


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--garments", nargs="*", default=GARMENTS)
    parser.add_argument("--draws", type=int, default=1, help="shapes drawn at each weight")
    asked = parser.parse_args()
    bodies = make_demo_bodies()
    wardrobe = make_wardrobe(bodies)
    ratios, agreed, count, worn = [], 0, 0, set()
    print("| garment | seeded | shape | referee, cm² | measured, cm² | ÷ | agrees |\n|---|---|---|---|---|---|---|")
    for name in asked.garments:
        made = wardrobe[name]
        chance = np.random.default_rng(100 + GARMENTS.index(name))
        for seed, fit in seeded(name, bodies[made.made_on], made.garment, chance):
            body, cloth = fit.body, fit.garment
            referee = Referee(body.vertices, body.faces, cloth.vertices, cloth.faces)
            trees = Tree(cloth.vertices, cloth.faces), Tree(body.vertices, body.faces)
            base = prepare_show_through(*trees)
            for number, weights in enumerate(shapes(body, seed, chance, asked.draws)):
                skin, worn_cloth = body.at(weights), fit.at(weights)
                look = ShowThroughLook(base, trees[0].refit(worn_cloth), trees[1].refit(skin))
                measured, seen = look.result.exposed_area * CM2, referee.count(skin, worn_cloth).through * CM2
                if seen == 0.0 and measured == 0.0:
                    continue
                good = abs(measured - seen) <= max(SHARE * seen, FLOOR)
                count, agreed, worn = count + 1, agreed + good, worn | {name}
                ratio = measured / seen if seen else float("inf")
                if seen > FLOOR:
                    ratios.append(ratio)
                word = "yes" if good else "**no**"
                print(
                    f"| {name} | {seed} | {number} | {seen:.1f} | {measured:.1f} | {ratio:.2f} | {word} |", flush=True
                )
    low, middle, high = np.percentile(ratios, [5, 50, 95])
    print(f"\n{agreed} of {count} shapes of {len(worn)} garments agree within {SHARE:.0%} or {FLOOR:g} cm².")
    spread = f"{low:.2f} to {high:.2f} (5th to 95th percentile), median {middle:.2f}"
    print(f"Measured ÷ referee, above {FLOOR:g} cm²: {spread}.")
    print(f"Mean |measured ÷ referee − 1|: {statistics.fmean(abs(ratio - 1) for ratio in ratios):.3f}.")


if __name__ == "__main__":
    main()
