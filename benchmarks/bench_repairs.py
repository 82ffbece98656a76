"""What the repairs of rigid patches, hard parts and extremities do on the demo, as Markdown tables for docs/repairs.md.

Run: python benchmarks/bench_repairs.py
"""

import time
from collections.abc import Iterator

from dressform.body.body import Body
from dressform.demo.body import make_demo_bodies, make_faulty_body
from dressform.demo.wardrobe import make_wardrobe
from dressform.faults.pucker import measure_pucker, pucker_index, pucker_windows
from dressform.faults.rim_step import find_rigid_patches
from dressform.fit.make import make_fit
from dressform.garment.following import METHODS, Following
from dressform.garment.garment import Garment
from dressform.repair.blend_rims import blend_rims
from dressform.repair.whole.hard_parts import keep_rigid
from dressform.repair.whole.whole_parts import follow_whole

PATCHED = "guernsey"
BUTTONED = ("waistcoat", "man_waistcoat")
WHOLE = {
    "clogs": {"clog left": "foot_l", "clog right": "foot_r"},
    "souwester": {"crown": "head", "brim": "head"},
}


def main() -> None:
    faulty, bodies = make_faulty_body(), make_demo_bodies()
    wardrobe = make_wardrobe(bodies)
    _show("rigid patches of the faulty body", _rigid_patches(faulty))
    _show(f"pucker of the {PATCHED} at patch = 1", _smoothed(faulty, wardrobe[PATCHED].garment))
    worn = {name: (bodies[made.made_on], made.garment) for name, made in wardrobe.items()}
    _show("hard parts", (row for name in BUTTONED for row in _hard(name, *worn[name])))
    _show("whole parts", (row for name, regions in WHOLE.items() for row in _whole(name, *worn[name], regions)))


def _rigid_patches(body: Body) -> Iterator[str]:
    yield "morph | rigid patches | share | step, mm | spacing, mm | J | inside | beyond | ms"
    for name, delta in zip(body.morph_names, body.deltas):
        start = time.perf_counter()
        shift = find_rigid_patches(body.vertices, body.faces, delta)
        spent = 1e3 * (time.perf_counter() - start)
        for one in shift.rigid_patches:
            sizes = f"{1e3 * one.step:.1f} | {1e3 * one.spacing:.1f}"
            figures = f"{sizes} | {one.jump:.2f} | {one.inside:.2f} | {one.outside:.2f}"
            yield f"{name} | {len(shift.rigid_patches)} | {shift.share:.2f} | {figures} | {spent:.0f}"
        if not shift.rigid_patches:
            yield f"{name} | 0 | 0 | | | | | | {spent:.0f}"


def _smoothed(body: Body, garment: Garment) -> Iterator[str]:
    windows = pucker_windows(garment.vertices, garment.faces)
    shape = body.weights({"patch": 1.0})
    yield "way | before p95 | p99 | max | after p95 | p99 | max | ℓ, mm | J before | after | largest move, mm"
    for method in METHODS:
        fit = make_fit(body, garment, Following(method=method))
        result = blend_rims(fit, method=method)
        both = [measure_pucker(windows, pucker_index(windows, each.at(shape))) for each in (fit, result.fit)]
        figures = " | ".join(f"{value:.5f}" for each in both for value in (each.p95, each.p99, each.max))
        morph = result.morphs[0]
        jumps = f"{1e3 * morph.lengths[0]:.1f} | {morph.jump_before:.2f} | {morph.jump_after:.2f}"
        yield f"{method} | {figures} | {jumps} | {1e3 * result.cost.largest_move:.1f}"


def _hard(name: str, body: Body, garment: Garment) -> Iterator[str]:
    yield "garment | part | size error, % | seat error, mm | bend before, mm | after | scale before, % | after"
    result = keep_rigid(make_fit(body, garment))
    for part in result.parts:
        bends = f"{1e3 * part.bend_before:.2f} | {1e3 * part.bend_after:.2f}"
        errors = f"{100 * part.size_error:.1f} | {1e3 * part.seat_error:.2f}"
        scales = f"{100 * part.scale_before:.1f} | {100 * part.scale_after:.1f}"
        yield f"{name} | {part.name} | {errors} | {bends} | {scales}"


def _whole(name: str, body: Body, garment: Garment, regions: dict[str, str]) -> Iterator[str]:
    yield "garment | piece | footprint | form before, mm | after | pucker before | after | largest move, mm"
    for asked in (regions, None):
        result = follow_whole(make_fit(body, garment), regions=asked)
        move = f"{1e3 * result.cost.largest_move:.1f}"
        for word, parts in (("asked" if asked else "found", result.parts), ("declined", result.declined)):
            for part in parts:
                forms = f"{1e3 * part.form_before:.2f} | {1e3 * part.form_after:.2f}"
                puckers = f"{part.pucker_before:.4f} | {part.pucker_after:.4f}"
                yield f"{name}, {word} | {part.name} | {part.footprint:.2f} | {forms} | {puckers} | {move}"


def _show(title: str, rows: Iterator[str]) -> None:
    """Print a Markdown table; its head once, however often it comes."""
    head, *rest = rows
    print(f"\n### {title}\n\n| {head} |\n|{'---|' * (head.count('|') + 1)}")
    for row in rest:
        if row != head:
            print(f"| {row} |")


if __name__ == "__main__":
    main()
