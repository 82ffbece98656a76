"""What a check costs: every fault of one shape, 10,000 vertices of cloth on a body of 24,000 with 60 morphs.

Prints one Markdown table: milliseconds of processor time, so that a busy machine slows it little, median of several
shapes, and the share of every step. `following`: cloth carried by its barycentric feet, hardly a fault. `failing`: the
same cloth at half strength, so that skin comes through wherever the body grows.

Run: python benchmarks/bench_faults.py
"""

import statistics
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import numpy as np

import dressform.faults.garment_on_body as garment_on_body
import dressform.faults.look as look
import dressform.faults.skin.show_through as show_through
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.fit.fit import Fit
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.garment.garment import Garment
from dressform.mesh.nearest import closest
from dressform.mesh.tree import Tree

SHAPES = 12
MORPHS = 60
SEED = 3
STATURE, WIDTH, DEPTH = 1.7, 0.17, 0.12
STEPS = {
    look: ("tree_self_crossings", "pucker_index", "skin_metrics", "folded"),
    garment_on_body: ("measure_stretch", "girth_ease", "all_places"),
    show_through: ("cloth_sides", "inside_samples", "expose_skin", "overlapping"),
}


def standing_ellipse(rings: int, sides: int, *, clearance: float, bottom: float, top: float) -> np.ndarray:
    """Rings of an upright egg-shaped trunk with ripples, (rings · sides, 3), metres."""
    share = np.linspace(bottom, top, rings)
    turn = 2 * np.pi * np.arange(sides) / sides
    swell = np.sin(np.pi * np.clip(share, 0.02, 0.98)) ** 0.35 * (1 + 0.06 * np.sin(9 * share))
    ripple = 1 + 0.03 * np.cos(4 * turn)
    x = (swell[:, None] * WIDTH + clearance) * np.sin(turn) * ripple
    z = (swell[:, None] * DEPTH + clearance) * np.cos(turn) * ripple
    return np.stack([x, np.broadcast_to(STATURE * share[:, None], x.shape), z], axis=-1).reshape(-1, 3)


def walls(rings: int, sides: int) -> np.ndarray:
    """Triangles between neighbouring rings, normals outward."""
    row, column = (index.ravel() for index in np.meshgrid(np.arange(rings - 1), np.arange(sides), indexing="ij"))
    a, b = row * sides + column, row * sides + (column + 1) % sides
    return np.concatenate([np.stack([a, b, b + sides], 1), np.stack([a, b + sides, a + sides], 1)])


def make_case() -> tuple[Body, Garment]:
    """A closed trunk of 24,002 vertices with 60 smooth bumps as morphs, and a tube of 10,000 vertices around it."""
    rings, sides = 160, 150
    vertices = standing_ellipse(rings, sides, clearance=0.0, bottom=0.0, top=1.0)
    around = np.arange(sides)
    low, high, last = len(vertices), len(vertices) + 1, (rings - 1) * sides
    caps = [
        np.stack([np.full(sides, low), (around + 1) % sides, around], 1),
        np.stack([np.full(sides, high), last + around, last + (around + 1) % sides], 1),
    ]
    vertices = np.vstack([vertices, [[0.0, -0.01, 0.0], [0.0, STATURE + 0.01, 0.0]]])
    faces = np.concatenate([walls(rings, sides), *caps])
    rng = np.random.default_rng(SEED)
    middles = vertices[rng.integers(0, len(vertices), MORPHS)]
    outward = vertices * np.array([1.0, 0.0, 1.0]) / WIDTH
    deltas = np.zeros((MORPHS, *vertices.shape))
    for morph, middle in enumerate(middles):
        swell = 0.03 * np.exp(-((vertices - middle) ** 2).sum(axis=1) / (2 * rng.uniform(0.08, 0.2) ** 2))
        deltas[morph] = swell[:, None] * outward
    names = tuple(f"bump {index}" for index in range(MORPHS))
    body = Body("trunk", vertices, faces, names, deltas, Range.unit(names))
    tube = standing_ellipse(100, 100, clearance=0.012, bottom=0.3, top=0.85)
    return body, Garment.of("tube", tube, walls(100, 100))


def follow(body: Body, garment: Garment, *, strength: float) -> Fit:
    """Cloth that moves as the skin under it, times a strength."""
    feet = closest(Tree(body.vertices, body.faces), garment.vertices)
    moved = np.ascontiguousarray(np.einsum("gc,kgcx->kgx", feet.barycentric, body.deltas[:, body.faces[feet.faces]]))
    return Fit(body, garment, DEFAULT_FOLLOWING, garment.vertices, strength * moved)


@contextmanager
def stopwatch(times: dict[str, float]) -> Iterator[None]:
    """Add up the processor time of every step in `STEPS`, milliseconds."""
    kept: list[tuple[object, str, Callable[..., object]]] = []

    def watched(name: str, task: Callable[..., object]) -> Callable[..., object]:
        def run(*args: object, **options: object) -> object:
            begin = time.thread_time()
            answer = task(*args, **options)
            times[name] = times.get(name, 0.0) + (time.thread_time() - begin) * 1e3
            return answer

        return run

    for module, names in STEPS.items():
        for name in names:
            task = getattr(module, name)
            kept.append((module, name, task))
            setattr(module, name, watched(name, task))
    try:
        yield
    finally:
        for module, name, task in kept:
            setattr(module, name, task)


def main() -> None:
    body, garment = make_case()
    print(
        f"{len(garment.vertices)} vertices of cloth, {len(body.vertices)} of body, {MORPHS} morphs, {SHAPES} shapes\n"
    )
    rng = np.random.default_rng(SEED)
    shapes = rng.uniform(0.0, 1.0, (SHAPES, MORPHS)) * (rng.uniform(size=(SHAPES, MORPHS)) < 0.2)
    columns: dict[str, dict[str, float]] = {}
    for name, strength in (("following", 1.0), ("failing", 0.5)):
        fit = follow(body, garment, strength=strength)
        GarmentOnBody(fit).measure(shapes[0])  # compiles
        begin = time.thread_time()
        faults = GarmentOnBody(fit).prepare()
        column = {"prepare, once": (time.thread_time() - begin) * 1e3}
        whole, steps = [], {}
        for shape in shapes:
            begin = time.thread_time()
            found = faults.measure(shape)
            whole.append((time.thread_time() - begin) * 1e3)
        with stopwatch(steps):
            for shape in shapes:
                faults.measure(shape)
        column["all faults of one shape"] = statistics.median(whole)
        column["… the slowest shape"] = max(whole)
        columns[name] = column | {f"… {step}": total / SHAPES for step, total in steps.items()}
        exposed = found.show_through.exposed_area * 1e4
        print(f"{name}: last shape {found.severity}, {exposed:.1f} cm² exposed, {len(found.places)} places")
    print("\n| step | following, ms | failing, ms |\n|---|---|---|")
    for step in columns["failing"]:
        print(f"| {step} | {columns['following'].get(step, 0.0):.1f} | {columns['failing'][step]:.1f} |")


if __name__ == "__main__":
    main()
