"""How calm and how true each way to lift is, on real bodies: the table of docs/decisions/lift.md.

Per garment and method, means over the shapes: pucker index ×1e-4 (median/p95/p99, windows of 3 cm) and change of the
clearance in mm (p5/p95; without the rigid patch and the ripple, which no cloth should follow). Then what must
not matter: a mirrored garment (mm rms under the belly), a garment cut into four times the triangles (mm rms).

`squared` is the form that this lift grew out of: (Q + W)⁻¹ W S with Q = K M⁻¹ K, W = M/ℓ⁴, ℓ = ½ edge + ½ clearance.

Run: python benchmarks/bench_lift_quality.py [--other] (shapes that nothing was chosen on)
"""

import sys
from collections.abc import Callable

import numpy as np
from scipy.sparse import diags_array

from dressform.body.body import Body
from dressform.faults.pucker import pucker_index, pucker_windows
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.lift.lift import make_lift
from dressform.lift.smooth import LONGEST
from dressform.mesh.factor import Factor
from dressform.mesh.geometry import vertex_areas, vertex_edge_length
from dressform.mesh.laplacian import cotangent
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.tree import Tree
from lift_scenes import Shapes, chosen_shapes, other_shapes, real_lift_scene

NOT_FOLLOWED = ("patch", "ripple")
FLIP = np.array([-1.0, 1.0, 1.0])

Operator = Callable[[np.ndarray], np.ndarray]


def squared(body: Body, garment: Garment, tree: Tree) -> Operator:
    """The bi-Laplacian with the data term M/ℓ⁴ and no turn."""
    rows = make_lift(body, garment, Following(method="surface"), tree=tree)
    stiffness, areas = cotangent(garment.vertices, garment.faces), vertex_areas(garment.vertices, garment.faces)
    areas = np.maximum(areas, 0.02 * np.median(areas))
    edge = vertex_edge_length(garment.vertices, garment.faces)
    edge = Factor(0.02**2 * stiffness + diags_array(areas)).solve((areas * edge)[:, None])[:, 0]
    lengths = np.minimum(0.5 * edge + 0.5 * np.abs(rows.feet.clearance), LONGEST)
    weights = areas / lengths**4
    factor = Factor(stiffness @ diags_array(1 / areas) @ stiffness + diags_array(weights))
    return lambda delta: factor.solve(weights[:, None] * rows.apply(delta))


def methods(body: Body, garment: Garment, tree: Tree) -> dict[str, Operator]:
    """Every row of the table: how a displacement field is carried to the garment."""

    def lifted(**policies: object) -> Operator:
        lift = make_lift(body, garment, Following(**policies), tree=tree)  # type: ignore[arg-type]
        return lambda delta: lift.displacements(delta[None])[0]

    return {
        "nearest": lifted(method="nearest"),
        "nearest-three": lifted(method="nearest-three"),
        "surface": lifted(method="surface"),
        "squared": squared(body, garment, tree),
        "smooth, never turned": lifted(rotation_share=0.0),
        "smooth": lifted(),
        "smooth, fully turned": lifted(rotation_share=1.0),
        "smooth, ease scaled": lifted(ease="scale"),
    }


def row(body: Body, garment: Garment, shapes: Shapes, carry: Operator, tree: Tree) -> str:
    """Pucker and change of one method on one garment."""
    windows = pucker_windows(garment.vertices, garment.faces)
    before = signed_clearance(tree, garment.vertices)[0]
    pucker, change = [], []
    for name, delta in shapes.items():
        moved = garment.vertices + carry(delta)
        pucker.append(np.percentile(pucker_index(windows, moved), [50, 95, 99]))
        if name not in NOT_FOLLOWED:
            after = signed_clearance(tree.refit(body.vertices + delta), moved)[0]
            change.append([*np.percentile(after - before, [5, 95]), np.sqrt(np.mean((after - before) ** 2))])
    median, p95, p99 = np.mean(pucker, axis=0) * 1e4
    low, high, rms = np.mean(change, axis=0) * 1e3
    return f"{median:.1f}/{p95:.1f}/{p99:.1f} | {low:+.2f}/{high:+.2f} | {rms:.2f}"


def mirrored(body: Body, garment: Garment, delta: np.ndarray, tree: Tree) -> float:
    """Difference between a garment and its mirror image, mm rms."""
    other = Garment.of("mirrored", garment.vertices * FLIP, garment.faces[:, ::-1])
    one, two = (make_lift(body, cloth, tree=tree).displacements(delta[None])[0] for cloth in (garment, other))
    return float(np.sqrt(((one - two * FLIP) ** 2).sum(axis=1).mean())) * 1e3


def subdivided(body: Body, garment: Garment, delta: np.ndarray, tree: Tree) -> float:
    """Difference at the garment's own vertices when each triangle is cut into four, mm rms."""
    faces, count = garment.faces, len(garment.vertices)
    pairs = np.sort(np.stack([faces, np.roll(faces, -1, axis=1)], axis=-1).reshape(-1, 2), axis=1)
    unique, inverse = np.unique(pairs, axis=0, return_inverse=True)
    middles = count + inverse.reshape(-1, 3)
    finer = np.concatenate([garment.vertices, garment.vertices[unique].mean(axis=1)])
    corners = [np.stack([faces[:, k], middles[:, k], middles[:, k - 1]], axis=1) for k in range(3)]
    fine = Garment.of("finer", finer, np.concatenate([*corners, middles]))
    one, two = (make_lift(body, cloth, tree=tree).displacements(delta[None])[0] for cloth in (garment, fine))
    return float(np.sqrt(((one - two[:count]) ** 2).sum(axis=1).mean())) * 1e3


def main() -> None:
    """Print the tables."""
    scene = real_lift_scene()
    if scene is None:
        sys.exit("The real meshes are missing: set DRESSFORM_DATA to the folder that holds them.")
    body, cut = scene
    chosen = chosen_shapes(body)
    shapes = other_shapes(body) if "--other" in sys.argv else chosen
    tree = Tree(body.vertices, body.faces)
    print(f"Shapes: {', '.join(shapes)}\n")
    print("| garment | method | pucker | change | change rms |\n|---|---|---|---|---|")
    for name, garment in cut.items():
        for method, carry in methods(body, garment, tree).items():
            print(f"| {name} | {method} | {row(body, garment, shapes, carry, tree)} |", flush=True)
    print(
        "\n| garment | vertices | mirrored, belly | four times the triangles, belly | the same, female |"
        "\n|---|---|---|---|---|"
    )
    for name, garment in cut.items():
        figures = (
            mirrored(body, garment, chosen["belly"], tree),
            subdivided(body, garment, chosen["belly"], tree),
            subdivided(body, garment, chosen["female"], tree),
        )
        print(
            f"| {name} | {len(garment.vertices)} | " + " | ".join(f"{figure:.3f}" for figure in figures) + " |",
            flush=True,
        )


if __name__ == "__main__":
    main()
