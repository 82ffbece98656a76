"""What do the repairs of the cloth itself do on the demo wardrobe, and what do they cost?

Refinement: every garment at the ends of every morph and the worst corners; exposed skin before and after, of all these
shapes together. Re-basing: the guernsey cut for a larger shape, beside the same pattern cut for the base. Ease: the
guernsey let out and taken in at the bust. Layers (`--outfit NAME`, minutes): every layer of an outfit, with the share
of near pairs that is certified against the skin and each layer under it. Prints Markdown tables.
"""

import argparse
import time

import numpy as np

from dressform.body.body import Body
from dressform.body.shapes import Shape, end_shapes
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import OUTFITS, DemoGarment, make_wardrobe
from dressform.faults.ease import girth_ease, make_tapes
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.garment import Garment
from dressform.lift.feet import find_feet
from dressform.mesh.tree import Tree
from dressform.repair.ease import set_ease
from dressform.repair.layers import repair_outfit
from dressform.repair.rebase import rebase
from dressform.repair.refine import refine
from dressform.sweep.worst import worst_shapes

CM, CM2, MM, PERCENT = 1e2, 1e4, 1e3, 100.0
REFINED = ("guernsey_coarse", "guernsey", "coat", "trousers", "skirt", "waistcoat", "gloves", "souwester")
BUST = 0.04


def looked_at(body: Body, fit: Fit) -> list[Shape]:
    """Ends of every morph and the worst corners."""
    return [*end_shapes(body.range), *(threat.shape for threat in worst_shapes(fit))]


def seen(body: Body, fit: Fit, shapes: list[Shape]) -> tuple[float, float]:
    """Exposed skin on the worst of the shapes, cm², and the largest pucker p95."""
    check = GarmentOnBody(fit)
    found = [check.measure(shape.weights) for shape in shapes]
    return (
        max(faults.show_through.exposed_area for faults in found) * CM2,
        max(faults.pucker.p95 for faults in found),
    )


def refinement(bodies: dict[str, Body], wardrobe: dict[str, DemoGarment], names: list[str]) -> None:
    """One row per garment."""
    print("| garment | vertices | fail | largest index | added | removed | left | added per fault |", end="")
    print(" exposed before | after | pucker p95 before | after | s |")
    print("|---|---:|---:|---:|---:|---:|---:|---:|---:|---:|---:|---:|---:|")
    for name in names:
        body, garment = bodies[wardrobe[name].made_on], wardrobe[name].garment
        fit = make_fit(body, garment)
        shapes = looked_at(body, fit)
        begin = time.perf_counter()
        made = refine(fit, shapes=shapes)
        took = time.perf_counter() - begin
        (bare, rough), (bare_after, rough_after) = seen(body, fit, shapes), seen(body, made.fit, shapes)
        print(
            f"| {name} | {len(garment.vertices)} | {made.before.failing.sum()} | {made.before.index.max():.2f} "
            f"| {made.added} | {made.removed} | {made.left} | {made.added_per_fault:.1f} | {bare:.1f} "
            f"| {bare_after:.1f} | {rough:.4f} | {rough_after:.4f} | {took:.1f} |",
            flush=True,
        )


def eases(body: Body, garment: Garment) -> dict[str, float]:
    """Ease at every level at the base, cm."""
    feet = find_feet(Tree(body.vertices, body.faces), garment.vertices, garment.faces)
    tapes = make_tapes(body, garment.vertices, garment.faces, feet.faces)
    return {name: base * CM for name, (base, _) in girth_ease(tapes, body.vertices, garment.vertices).items()}


def rebasing(bodies: dict[str, Body], wardrobe: dict[str, DemoGarment]) -> None:
    """The larger guernsey as it came, carried to the base, and the pattern cut for the base."""
    made = wardrobe["guernsey_larger"]
    body = bodies[made.made_on]
    begin = time.perf_counter()
    result = rebase(body, made.garment, body.weights(dict(made.made_at)))
    took = time.perf_counter() - begin
    rows = {
        "as it came": eases(body, made.garment),
        "re-based": eases(body, result.garment),
        "cut for the base": eases(body, wardrobe["guernsey"].garment),
    }
    print(f"\n| ease, cm | {' | '.join(rows['re-based'])} |\n|---|{'---:|' * len(rows['re-based'])}")
    for label, row in rows.items():
        print(f"| {label} | {' | '.join(f'{value:.1f}' for value in row.values())} |")
    change = np.percentile(np.abs(result.clearance_change), (50, 95, 100)) * MM
    print(
        f"\nCarried by {result.rms_move * MM:.1f} mm (largest {result.largest_move * MM:.1f}); back again within "
        f"{result.back_rms * MM:.2f} mm (largest {result.back_largest * MM:.2f}); clearance changed by "
        f"{change[0]:.2f} / {change[1]:.2f} / {change[2]:.2f} mm (median, p95, most); {took:.1f} s."
    )


def easing(bodies: dict[str, Body], wardrobe: dict[str, DemoGarment]) -> None:
    """The guernsey let out and taken in at the bust."""
    made = wardrobe["guernsey"]
    body = bodies[made.made_on]
    fit = make_fit(body, made.garment)
    print("\n| asked at the bust | level | ease before, cm | after, cm | missed, mm | largest move, mm |", end="")
    print(" least clearance before, mm | after, mm |")
    print("|---|---|---:|---:|---:|---:|---:|---:|")
    for gain in (BUST, -BUST):
        result = set_ease(fit, change={"bust": gain})
        for level in reversed(result.levels):
            print(
                f"| {gain * CM:+.0f} cm | {level.name} | {level.ease_before * CM:.2f} | {level.ease_after * CM:.2f} "
                f"| {level.missed * MM:.4f} | {result.largest_move * MM:.1f} | {result.clearance_before * MM:.1f} "
                f"| {result.clearance_after * MM:.1f} |"
            )


def layering(bodies: dict[str, Body], wardrobe: dict[str, DemoGarment], outfit: str) -> None:
    """One row per layer."""
    names = OUTFITS[outfit]
    body = bodies[wardrobe[names[0]].made_on]
    fits = [make_fit(body, wardrobe[name].garment) for name in names]
    begin = time.perf_counter()
    layers = repair_outfit(fits)
    took = time.perf_counter() - begin
    print(
        f"\n{outfit}: {took:.0f} s\n\n| layer | short before | conflicts | certified, % | by layer under it, % |",
        end="",
    )
    print(" largest move, mm | pucker ratio |\n|---|---:|---:|---:|---|---:|---:|")
    for name, layer in zip(names, layers):
        shares = ", ".join(f"{layer.share(under) * PERCENT:.2f}" for under in range(layer.number))
        print(
            f"| {name} | {layer.clearance.short_before} | {len(layer.conflict_layers)} "
            f"| {layer.certificate.share * PERCENT:.2f} | {shares} | {layer.cost.largest_move * MM:.1f} "
            f"| {layer.cost.pucker_ratio:.2f} |"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", nargs="*", default=list(REFINED), help="names of demo garments to refine")
    parser.add_argument("--outfit", nargs="*", default=[], choices=list(OUTFITS), help="outfits to repair")
    options = parser.parse_args()
    bodies = make_demo_bodies()
    wardrobe = make_wardrobe(bodies)
    refinement(bodies, wardrobe, options.only)
    rebasing(bodies, wardrobe)
    easing(bodies, wardrobe)
    for outfit in options.outfit:
        layering(bodies, wardrobe, outfit)


if __name__ == "__main__":
    main()
