"""What the mesh functions cost beside the same question put to libigl or SciPy.

Prints one Markdown table: medians in milliseconds, and ratios, which travel better between machines. The body is a
bumpy torus of 20,000 triangles with the girth of a limb; the queries lie 0 to 4 cm from it, as cloth does. Both sides
of a row are timed in turn, run by run, so that a busy machine slows both alike.
"""

import statistics
import time
from collections.abc import Callable

import igl
import igl.predicates
import numpy as np
from scipy.spatial import cKDTree

from dressform.mesh.geometry import vertex_normals
from dressform.mesh.inside import Winding
from dressform.mesh.intersect import crossing_pairs, near_pairs, self_crossings
from dressform.mesh.laplacian import cotangent
from dressform.mesh.nearest import closest, signed_clearance
from dressform.mesh.rays import blocked, first_hit
from dressform.mesh.tree import Tree

RUNS = 11
QUERIES = 10_000
RAYS = 100_000
SEED = 7

Task = Callable[[], object]


def bumpy_torus(around: int, across: int, *, tube: float) -> tuple[np.ndarray, np.ndarray]:
    """A torus of 30 cm ring radius with ripples, twice `around` times `across` triangles, metres."""
    u, v = np.meshgrid(np.arange(around) * 2 * np.pi / around, np.arange(across) * 2 * np.pi / across, indexing="ij")
    out = tube * (1 + 0.08 * np.sin(5 * u) * np.cos(3 * v))
    ring = 0.3 + out * np.cos(v)
    vertices = np.stack([ring * np.cos(u), ring * np.sin(u), out * np.sin(v)], axis=2).reshape(-1, 3)
    i, j = np.meshgrid(np.arange(around), np.arange(across), indexing="ij")
    a, b = i * across + j, (i + 1) % around * across + j
    c, d = (i + 1) % around * across + (j + 1) % across, i * across + (j + 1) % across
    return vertices, np.concatenate([np.stack([a, b, c], 2).reshape(-1, 3), np.stack([a, c, d], 2).reshape(-1, 3)])


def timed(task: Task) -> float:
    """Milliseconds of one run."""
    begin = time.perf_counter()
    task()
    return (time.perf_counter() - begin) * 1e3


def row(name: str, ours: Task, theirs: Task | None = None, rival: str = "") -> None:
    """Time both in turn and print their medians and the median of the ratios."""
    tasks = [ours] if theirs is None else [ours, theirs]
    for task in tasks:
        task()
    runs = [[timed(task) for task in tasks] for _ in range(RUNS)]
    medians = [statistics.median(column) for column in zip(*runs)]
    if theirs is None:
        print(f"| {name} | {medians[0]:.2f} | | | |")
        return
    ratio = statistics.median(own / other for own, other in runs)
    print(f"| {name} | {medians[0]:.2f} | {rival} | {medians[1]:.2f} | {ratio:.2f} |")


def main() -> None:
    rng = np.random.default_rng(SEED)
    vertices, faces = bumpy_torus(200, 50, tube=0.1)
    cloth, cloth_faces = bumpy_torus(140, 36, tube=0.105)
    normals = vertex_normals(vertices, faces)
    chosen = rng.integers(0, len(vertices), QUERIES)
    gated = normals[chosen]
    queries = (
        vertices[chosen] + normals[chosen] * rng.uniform(0, 0.04, (QUERIES, 1)) + rng.normal(0, 2e-3, (QUERIES, 3))
    )
    origins = vertices[rng.integers(0, len(vertices), RAYS)] + rng.normal(0, 0.05, (RAYS, 3))
    ways = rng.normal(size=(RAYS, 3))
    ways /= np.linalg.norm(ways, axis=1)[:, None]
    tree, cloth_tree, boxes, points = Tree(vertices, faces), Tree(cloth, cloth_faces), igl.AABB(), cKDTree(vertices)
    boxes.init(vertices, faces)
    start, guess = closest(tree, queries).faces, blocked(tree, origins, ways).faces
    winding = Winding(vertices, faces)
    print(f"{len(faces)} triangles, {QUERIES} queries, {RAYS} rays, {len(cloth_faces)} triangles of cloth\n")
    print("| task | ours, ms | beside | its, ms | ratio |\n|---|---|---|---|---|")
    row("build", lambda: Tree(vertices, faces), lambda: igl.AABB().init(vertices, faces), "igl.AABB.init")
    row("refit", lambda: tree.refit(vertices), lambda: igl.AABB().init(vertices, faces), "igl.AABB.init")
    nearest = lambda: boxes.squared_distance(vertices, faces, queries)  # noqa: E731 - a task like the others
    row("closest point", lambda: closest(tree, queries), nearest, "igl.AABB")
    row("closest point, vertices only", lambda: closest(tree, queries), lambda: points.query(queries), "cKDTree")
    row("closest point, known face", lambda: closest(tree, queries, start_faces=start), nearest, "igl.AABB")
    row("closest point, normal gate", lambda: closest(tree, queries, normals=gated), nearest, "igl.AABB")
    row("signed clearance", lambda: signed_clearance(tree, queries), nearest, "igl.AABB")
    ray_rival = lambda: boxes.intersect_ray_first(vertices, faces, origins, ways)  # noqa: E731
    row("first hit", lambda: first_hit(tree, origins, ways), ray_rival, "igl.AABB")
    row("blocked", lambda: blocked(tree, origins, ways), ray_rival, "igl.AABB")
    row("blocked, known face", lambda: blocked(tree, origins, ways, guess_faces=guess), ray_rival, "igl.AABB")
    exact = igl.predicates
    row(
        "crossing pairs",
        lambda: crossing_pairs(cloth_tree, tree),
        lambda: exact.find_intersections(cloth, cloth_faces, vertices, faces),
        "igl.predicates",
    )
    row(
        "self-crossings, tree and all",
        lambda: self_crossings(vertices, faces),
        lambda: exact.find_self_intersections(vertices, faces),
        "igl.predicates",
    )
    row("pairs nearer than 5 mm", lambda: near_pairs(cloth_tree, tree, 0.005))
    row(
        "inside, kept",
        lambda: winding.numbers(queries),
        lambda: igl.fast_winding_number(vertices, faces, queries),
        "igl.fast_winding_number",
    )
    row("Laplacian", lambda: cotangent(vertices, faces), lambda: igl.cotmatrix(vertices, faces), "igl.cotmatrix")
    row(
        "vertex normals",
        lambda: vertex_normals(vertices, faces),
        lambda: igl.per_vertex_normals(vertices, faces, igl.PER_VERTEX_NORMALS_WEIGHTING_TYPE_ANGLE),
        "igl.per_vertex_normals",
    )


if __name__ == "__main__":
    main()
