"""What the repairs of plates, hard parts and extremities do on the demo, as Markdown tables for docs/repairs.md.

Run: python benchmarks/bench_repairs.py
"""

import time
from collections.abc import Iterator

from dressform.body.body import Body
from dressform.demo.body import make_demo_bodies, make_faulty_body
from dressform.demo.wardrobe import make_wardrobe
from dressform.faults.crumple import crumple_index, crumple_windows, measure_crumple
from dressform.faults.plate_shift import find_plates
from dressform.fit.make import make_fit
from dressform.garment.garment import Garment
from dressform.lift.lift import WAYS
from dressform.repair.hard_parts import keep_rigid
from dressform.repair.plates import smooth_plates
from dressform.repair.whole_parts import follow_whole

PLATED = "guernsey"
BUTTONED = ("waistcoat", "man_waistcoat")
WHOLE = {
    "clogs": {"clog left": "foot_l", "clog right": "foot_r"},
    "souwester": {"crown": "head", "brim": "head"},
}


def main() -> None:
    faulty, bodies = make_faulty_body(), make_demo_bodies()
    wardrobe = make_wardrobe(bodies)
    _show("plates of the faulty body", _plates(faulty))
    _show(f"crumple of the {PLATED} at plate = 1", _smoothed(faulty, wardrobe[PLATED].garment))
    worn = {name: (bodies[made.made_on], made.garment) for name, made in wardrobe.items()}
    _show("hard parts", (row for name in BUTTONED for row in _hard(name, *worn[name])))
    _show("whole parts", (row for name, regions in WHOLE.items() for row in _whole(name, *worn[name], regions)))


def _plates(body: Body) -> Iterator[str]:
    yield "morph | plates | share | step, mm | spacing, mm | J | inside | beyond | ms"
    for name, delta in zip(body.morph_names, body.deltas):
        start = time.perf_counter()
        shift = find_plates(body.vertices, body.faces, delta)
        spent = 1e3 * (time.perf_counter() - start)
        for plate in shift.plates:
            figures = f"{1e3 * plate.step:.1f} | {1e3 * plate.spacing:.1f} | {plate.jump:.2f} | {plate.inside:.2f}"
            yield f"{name} | {len(shift.plates)} | {shift.share:.2f} | {figures} | {plate.outside:.2f} | {spent:.0f}"
        if not shift.plates:
            yield f"{name} | 0 | 0 | | | | | | {spent:.0f}"


def _smoothed(body: Body, garment: Garment) -> Iterator[str]:
    windows = crumple_windows(garment.vertices, garment.faces)
    shape = body.weights({"plate": 1.0})
    yield "way | before p95 | p99 | max | after p95 | p99 | max | ℓ, mm | J before | after | largest move, mm"
    for way in WAYS:
        fit = make_fit(body, garment, way=way)
        result = smooth_plates(fit, body, way=way)
        both = [measure_crumple(windows, crumple_index(windows, each.at(shape))) for each in (fit, result.fit)]
        figures = " | ".join(f"{value:.5f}" for each in both for value in (each.p95, each.p99, each.max))
        morph = result.morphs[0]
        jumps = f"{1e3 * morph.lengths[0]:.1f} | {morph.jump_before:.2f} | {morph.jump_after:.2f}"
        yield f"{way} | {figures} | {jumps} | {1e3 * result.cost.largest_move:.1f}"


def _hard(name: str, body: Body, garment: Garment) -> Iterator[str]:
    yield "garment | part | size error, % | seat error, mm | bend before, mm | after | scale before, % | after"
    result = keep_rigid(make_fit(body, garment), body.range)
    for part in result.parts:
        bends = f"{1e3 * part.bend_before:.2f} | {1e3 * part.bend_after:.2f}"
        errors = f"{100 * part.size_error:.1f} | {1e3 * part.seat_error:.2f}"
        scales = f"{100 * part.scale_before:.1f} | {100 * part.scale_after:.1f}"
        yield f"{name} | {part.name} | {errors} | {bends} | {scales}"


def _whole(name: str, body: Body, garment: Garment, regions: dict[str, str]) -> Iterator[str]:
    yield "garment | piece | footprint | form before, mm | after | crumple before | after | largest move, mm"
    for asked in (regions, None):
        result = follow_whole(make_fit(body, garment), body, regions=asked)
        move = f"{1e3 * result.cost.largest_move:.1f}"
        for word, parts in (("asked" if asked else "found", result.parts), ("declined", result.declined)):
            for part in parts:
                forms = f"{1e3 * part.form_before:.2f} | {1e3 * part.form_after:.2f}"
                crumples = f"{part.crumple_before:.4f} | {part.crumple_after:.4f}"
                yield f"{name}, {word} | {part.name} | {part.footprint:.2f} | {forms} | {crumples} | {move}"


def _show(title: str, rows: Iterator[str]) -> None:
    """Print a Markdown table; its head once, however often it comes."""
    head, *rest = rows
    print(f"\n### {title}\n\n| {head} |\n|{'---|' * (head.count('|') + 1)}")
    for row in rest:
        if row != head:
            print(f"| {row} |")


if __name__ == "__main__":
    main()
