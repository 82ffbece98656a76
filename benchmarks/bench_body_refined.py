"""The same surfaces with each triangle of the body in four: what of the figures of a shape stays, and what does not.

A figure of a surface should not depend on how it is cut into triangles; a lift does, since its feet and normals
are those of other vertices. Both are printed: the same cloth measured on both bodies, and cloth that is lifted anew
from the finer one. Prints a Markdown table.
"""

import sys
from pathlib import Path

import numpy as np

from dressform.body.body import Body
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.mesh.sides import Sides

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "tests"))
from phantoms import phantom_body, phantom_tube

SHAPES = ({"belly": 1.0}, {"girth": 1.0})
CM2, MM = 1e4, 1e3


def in_four(body: Body) -> Body:
    """The body with the middle of every edge a vertex; the surface is the same at every shape."""
    sides = Sides(body.faces, len(body.vertices))
    middle = len(body.vertices) + sides.of_faces
    low, high = sides.edges.T
    (a, b, c), (ab, bc, ca) = body.faces.T, middle.T
    faces = np.concatenate([np.stack(one, axis=1) for one in ((a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca))])
    points = np.concatenate([body.vertices, 0.5 * (body.vertices[low] + body.vertices[high])])
    deltas = np.concatenate([body.deltas, 0.5 * (body.deltas[:, low] + body.deltas[:, high])], axis=1)
    return Body(body.name, points, faces, body.morph_names, deltas, body.range)


def main() -> None:
    """Print the table."""
    body, garment = phantom_body(rings=30, sides=32), phantom_tube(clearance=0.004)
    finer, fit = in_four(body), make_fit(body, garment)
    print("| cloth | body | shape | skin shows, cm² | depth max, mm | depth |")
    print("|---|---|---|---|---|---|")
    for cloth, skin, worn in (
        ("lifted from the body as it is", "as it is", fit),
        ("the same", "in four", Fit(finer, fit.garment, fit.following, fit.base, fit.deltas)),
        ("lifted from the finer body", "in four", make_fit(finer, garment)),
    ):
        measured = GarmentOnBody(worn)
        for named in SHAPES:
            found = measured.measure(worn.body.weights(named))
            seen, label = found.show_through, " ".join(f"{name}={weight:g}" for name, weight in named.items())
            print(
                f"| {cloth} | {skin} | {label} | {seen.exposed_area * CM2:.2f} | {seen.depth_max * MM:.2f} "
                f"| {found.severities['depth']} |"
            )


if __name__ == "__main__":
    main()
