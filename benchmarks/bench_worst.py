"""Do the few corners that the closed form picks show worse shapes than ten times as many at random?

For every garment of the demo, and a real T-shirt where it is at hand: the largest exposed skin, share of cloth inside
and depth over the corners of `worst_shapes`, over ten times as many random shapes of the range, and over ten times as
many random corners of it. Random shapes are what a sampling check would look at; random corners are the stronger rival,
for whoever knows that the worst lies in a corner. Prints a Markdown table; `--out FILE` draws every shape as a dot.
"""

import argparse
import statistics
import time
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from dressform.body.body import Body
from dressform.faults.results import ShowThrough
from dressform.faults.skin.show_through import ShowThroughLook, prepare_show_through
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.garment import Garment
from dressform.mesh.tree import Tree
from dressform.sweep.worst import covered_points, worst_shapes
from scenes import demo_scenes, real_scene

TIMES = 10
RUNS = 5
SEED = 11
CM2, MM, PERCENT = 1e4, 1e3, 100.0

WIDTH, LEFT, ROW, TOP, FOOT = 1100, 210, 46, 64, 60
PAPER, INK, FAINT = (250, 250, 248), (38, 42, 48), (222, 224, 226)
DOTS = {"at random": (150, 156, 164), "random corners": (92, 128, 168), "worst corners": (196, 72, 40)}


@dataclass(frozen=True)
class Contest:
    """Show-through of one garment on three sets of shapes."""

    name: str
    milliseconds: float
    found: dict[str, list[ShowThrough]]

    def largest(self, kind: str) -> tuple[float, float, float]:
        """Largest exposed skin, cm², share inside, %, and depth, mm."""
        rows = self.found[kind]
        return (
            max((row.exposed_area for row in rows), default=0.0) * CM2,
            max((row.inside_share for row in rows), default=0.0) * PERCENT,
            max((row.depth_max for row in rows), default=0.0) * MM,
        )


def contest(name: str, body: Body, garment: Garment) -> Contest:
    """All three sets on one garment."""
    fit = make_fit(body, garment)
    took = []
    for _ in range(RUNS):
        begin = time.perf_counter()
        threats = worst_shapes(fit, covered=covered_points(fit))
        took.append((time.perf_counter() - begin) * 1e3)
    worst = np.array([threat.shape.weights for threat in threats]).reshape(-1, len(body.morph_names))
    random = np.random.default_rng(SEED).random((2, TIMES * len(worst), worst.shape[1]))
    low, widths = body.range.low, body.range.widths
    sets = {
        "at random": low + widths * random[0],
        "random corners": low + widths * np.round(random[1]),
        "worst corners": worst,
    }
    return Contest(name, statistics.median(took), {kind: look(body, fit, shapes) for kind, shapes in sets.items()})


def look(body: Body, fit: Fit, shapes: np.ndarray) -> list[ShowThrough]:
    """Show-through on each shape."""
    body_tree, cloth_tree = Tree(body.vertices, body.faces), Tree(fit.base, fit.garment.faces)
    prepared = prepare_show_through(cloth_tree, body_tree)
    return [
        ShowThroughLook(prepared, cloth_tree.refit(fit.at(weights)), body_tree.refit(body.at(weights))).result
        for weights in shapes
    ]


def draw(contests: list[Contest], path: Path) -> None:
    """Exposed skin of every shape as a dot, one row a garment; areas grow by their square root along the row."""
    height = TOP + ROW * len(contests) + FOOT
    image = Image.new("RGB", (WIDTH, height), PAPER)
    pen, small, large = ImageDraw.Draw(image), ImageFont.load_default(15), ImageFont.load_default(19)
    most = max(max(entry.largest(kind)[0] for kind in DOTS) for entry in contests) or 1.0
    scale = (WIDTH - LEFT - 40) / np.sqrt(most)
    pen.text(
        (14, 14), "Exposed skin in square centimetres: the worst corners against ten times as many shapes", INK, large
    )
    for mark in ticks(most):
        x = LEFT + scale * np.sqrt(mark)
        pen.line([(x, TOP), (x, height - FOOT)], FAINT)
        pen.text((x, height - FOOT + 6), f"{mark:g}", INK, small, anchor="ma")
    for index, entry in enumerate(contests):
        middle = TOP + ROW * (index + 0.5)
        pen.text((LEFT - 12, middle), entry.name, INK, small, anchor="rm")
        for lane, (kind, colour) in enumerate(DOTS.items()):
            y, radius = middle + 11 * (lane - 1), 5 if kind == "worst corners" else 3
            for row in entry.found[kind]:
                x = LEFT + scale * np.sqrt(row.exposed_area * CM2)
                pen.ellipse([x - radius, y - radius, x + radius, y + radius], fill=colour)
    x = 14
    for kind, colour in DOTS.items():
        pen.ellipse([x, height - 24, x + 10, height - 14], fill=colour)
        pen.text((x + 16, height - 19), kind, INK, small, anchor="lm")
        x += 160
    image.save(path)


def ticks(most: float) -> list[float]:
    """Round values up to `most`."""
    return [value for value in (0, 0.1, 1, 5, 10, 20, 50, 100, 200, 500, 1000) if value <= most]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, help="draw every shape as a dot into this PNG")
    parser.add_argument("--only", nargs="*", help="names of demo garments; all where left out")
    options = parser.parse_args()
    scenes = {name: scene for name, scene in demo_scenes().items() if not options.only or name in options.only}
    shirt = real_scene()
    if shirt is not None:
        scenes["real T-shirt"] = shirt
    contests = []
    print("Largest exposed skin cm² / cloth inside % / depth mm\n")
    print(f"| garment | corners | found in ms | worst corners | {TIMES}× at random | {TIMES}× random corners |")
    print("|---|---:|---:|---:|---:|---:|")
    for name, (body, garment) in scenes.items():
        entry = contest(name, body, garment)
        contests.append(entry)
        cells = ["{:.2f} / {:.3f} / {:.2f}".format(*entry.largest(kind)) for kind in ("worst corners", *list(DOTS)[:2])]
        count = len(entry.found["worst corners"])
        print(f"| {name} | {count} | {entry.milliseconds:.0f} | {' | '.join(cells)} |", flush=True)
    if options.out is not None:
        draw(contests, options.out)


if __name__ == "__main__":
    main()
