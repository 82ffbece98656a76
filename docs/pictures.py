"""Draw the picture of the README: `python docs/pictures.py`.

Keepers of Saltmarsh at shapes of their range, each garment followed by nothing but its own morph targets.
"""

from pathlib import Path

import numpy as np

from dressform.body.body import Body
from dressform.demo.body import make_demo_bodies
from dressform.demo.wardrobe import DemoGarment, make_wardrobe
from dressform.fit.make import make_fit
from dressform.report.pictures.camera import from_direction
from dressform.report.pictures.picture import beside, save_png
from dressform.report.pictures.raster import SKIN, Drawable, draw

FIGURE = Path(__file__).resolve().parent / "figures" / "saltmarsh.png"
SIZE = (350, 520)
EYE = 0.90  # metres above the ground
VIEW_HEIGHT = 2.08  # metres that the picture is high, the same for all, so that statures compare
AZIMUTH = 25.0  # degrees

KEEPERS = (
    ("woman", ("guernsey", "skirt", "clogs"), {}),
    ("woman", ("guernsey", "skirt", "clogs"), {"belly": 1.0, "hips": 0.8, "girth": 0.5, "stature": -0.5}),
    ("man", ("man_coat", "man_trousers", "man_clogs", "man_souwester"), {}),
    ("man", ("man_coat", "man_trousers", "man_clogs", "man_souwester"), {"belly": 0.9, "girth": 0.8, "age": 1.0}),
    ("woman", ("waistcoat", "trousers", "clogs", "souwester"), {"stature": 1.0, "legs": -0.4, "girth": -0.4}),
)


def keeper(body: Body, garments: list[DemoGarment], named: dict[str, float]) -> np.ndarray:
    """One keeper in all their clothes at a shape, seen a little from the side."""
    weights = body.weights(named)
    meshes = [Drawable(body.at(weights), body.faces, SKIN)]
    for made in garments:
        meshes += made.drawables(make_fit(body, made.garment).at(weights))
    ground = float(body.at(weights)[:, 1].min())
    camera = from_direction(np.array([0.0, ground + EYE, 0.0]), azimuth=AZIMUTH, elevation=4.0, height=VIEW_HEIGHT)
    return draw(meshes, camera, SIZE, background="white")


def main() -> None:
    """Draw all keepers side by side."""
    bodies = make_demo_bodies()
    wardrobe = make_wardrobe(bodies)
    pictures = [keeper(bodies[base], [wardrobe[name] for name in worn], named) for base, worn, named in KEEPERS]
    save_png(beside(pictures, gap=0), FIGURE)


if __name__ == "__main__":
    main()
