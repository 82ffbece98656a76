"""The same surfaces written otherwise: body or cloth with each triangle in four, or in another order.

A verdict belongs to the surfaces, not to how they are cut into triangles. One fit of each garment is measured on each
body and each cloth, so nothing is followed anew; the real T-shirt where `DRESSFORM_DATA` names its folder. Prints one
Markdown row a garment and way: how many graded figures of how many stay within 2 %, those that change their grade, and
those that change by more.

Run: python benchmarks/bench_same_surface.py
"""

from collections.abc import Callable, Iterator
from dataclasses import replace

import numpy as np

from bench_body_refined import in_four
from dressform.body.body import Body
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import make_wardrobe
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.results import ShapeFaults
from dressform.faults.severity import graded_values
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.following import Following
from dressform.mesh.sides import Sides
from scenes import real_scene

WORN = (
    ("guernsey_coarse", "smooth"), ("guernsey_tight", "smooth"), ("waistcoat", "smooth"), ("gloves", "smooth"),
    ("skirt", "nearest"), ("guernsey", "surface"),
)  # fmt: skip
SAME = 0.02
FLOOR = 0.1  # of the value from which a fault is slight: less is not told to anyone


def body_reordered(fit: Fit) -> Fit:
    """Vertices and triangles of the body in another order."""
    chance, body = np.random.default_rng(1), fit.body
    rows = chance.permutation(len(body.vertices))
    faces = np.argsort(rows)[body.faces][chance.permutation(len(body.faces))]
    regions = {name: mask[rows] for name, mask in body.regions.items()}
    moved = replace(
        body, vertices=body.vertices[rows], faces=faces, deltas=body.deltas[:, rows], regions=regions, skin=None
    )
    return replace(fit, body=moved, skin=None)


def body_in_four(fit: Fit) -> Fit:
    """Each triangle of the body as four."""
    return replace(fit, body=in_four(fit.body), skin=None)


def cloth_in_four(fit: Fit) -> Fit:
    """Each triangle of the cloth as four."""
    garment = fit.garment
    sides = Sides(garment.faces, len(garment.vertices))
    middle = len(garment.vertices) + sides.of_faces
    low, high = sides.edges.T
    (a, b, c), (ab, bc, ca) = garment.faces.T, middle.T
    faces = np.concatenate([np.stack(one, axis=1) for one in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))])

    def finer(points: np.ndarray) -> np.ndarray:
        return np.concatenate([points, 0.5 * (points[low] + points[high])])

    cut = replace(
        garment, vertices=finer(garment.vertices), faces=faces, face_parts=np.tile(garment.face_parts, 4),
        strength=finer(garment.strength), source=None,
    )  # fmt: skip
    deltas = np.stack([finer(one) for one in fit.deltas])
    return replace(fit, garment=cut, base=finer(fit.base), deltas=deltas, skin=None)


def cloth_reordered(fit: Fit) -> Fit:
    """Vertices and triangles of the cloth in another order."""
    chance, garment = np.random.default_rng(2), fit.garment
    rows, order = chance.permutation(len(fit.base)), chance.permutation(len(garment.faces))
    cut = replace(
        garment, vertices=garment.vertices[rows], faces=np.argsort(rows)[garment.faces][order],
        face_parts=garment.face_parts[order], strength=garment.strength[rows], source=None,
    )  # fmt: skip
    return replace(fit, garment=cut, base=fit.base[rows], deltas=fit.deltas[:, rows], skin=None)


WAYS: dict[str, Callable[[Fit], Fit]] = {
    "body reordered": body_reordered,
    "body in four": body_in_four,
    "cloth reordered": cloth_reordered,
    "cloth in four": cloth_in_four,
}


def shapes(body: Body) -> list[np.ndarray]:
    """The base, a heavy shape and one at random."""
    chance, low, high = np.random.default_rng(3), body.range.low, body.range.high
    heavy = np.where(np.isin(body.morph_names, ("stature", "girth", "belly", "male")), high, 0.0)
    return [np.zeros(len(low)), heavy, low + (high - low) * chance.random(len(low))]


def worn() -> Iterator[tuple[str, Fit]]:
    """Each garment as it is followed."""
    bodies = make_demo_bodies()
    wardrobe = make_wardrobe(bodies)
    for name, method in WORN:
        fit = make_fit(replace(bodies["woman"], skin=None), wardrobe[name].garment, Following(method=method))
        yield f"{name}, {method}", fit
    real = real_scene()
    if real is not None:
        yield "real T-shirt, smooth", make_fit(*real)


def compared(before: list[ShapeFaults], after: list[ShapeFaults], bands: GarmentOnBody) -> tuple[int, int, str, str]:
    """Figures within `SAME`, of how many, those that change their grade, and those that only change."""
    same, count, graded, others = 0, 0, [], []
    for one, other in zip(before, after):
        values, now = graded_values(one), graded_values(other)
        for fault, value in values.items():
            count += 1
            apart = abs(now[fault] - value)
            told = f"{fault} {value:.3g} → {now[fault]:.3g}"
            if one.severities[fault] != other.severities[fault]:
                graded.append(f"{told} ({one.severities[fault]} → {other.severities[fault]})")
            elif apart > max(SAME * abs(value), FLOOR * bands.bands[fault][0]):
                others.append(told)
            else:
                same += 1
    return same, count, "; ".join(graded) or "–", "; ".join(others) or "–"


def main() -> None:
    """Print the table."""
    print("| garment | written | within 2 % | grade changes | changes by more |\n|---|---|---|---|---|")
    for name, fit in worn():
        plain = GarmentOnBody(fit)
        chosen = shapes(fit.body)
        before = [plain.measure(weights) for weights in chosen]
        for way, write in WAYS.items():
            other = GarmentOnBody(write(fit))
            same, count, graded, others = compared(before, [other.measure(weights) for weights in chosen], plain)
            print(f"| {name} | {way} | {same} of {count} | {graded} | {others} |", flush=True)


if __name__ == "__main__":
    main()
