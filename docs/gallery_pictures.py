"""Draw the pictures of docs/gallery.md: `python docs/gallery_pictures.py [NAME…]`.

Each shows one fault on a garment of Saltmarsh: as a wearer sees it, and with the measure as colour. Some are
built into the demo; the others are put into a sound garment here, so that the picture shows that fault and little else.
"""

import sys
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from dressform.body.body import Body
from dressform.demo.body import make_demo_bodies, make_faulty_body
from dressform.demo.wardrobe import make_wardrobe
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.graded.bent import BENT
from dressform.faults.graded.crossing import CROSSING
from dressform.faults.graded.depth import DEPTH
from dressform.faults.graded.exposed import EXPOSED
from dressform.faults.graded.in_front import IN_FRONT
from dressform.faults.graded.pucker import PUCKER
from dressform.faults.graded.stretch import STRETCH
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.following import DEFAULT_FOLLOWING, Following
from dressform.mesh.geometry import vertex_normals
from dressform.report.pictures.camera import close_up
from dressform.report.pictures.faults import Appearance, light
from dressform.report.pictures.picture import below, beside, legend, save_png
from dressform.report.pictures.raster import CLOTH, SKIN, Drawable, draw

FOLDER = Path(__file__).resolve().parent / "figures" / "gallery"
PANEL = (380, 380)
RADIUS = 0.13
"""How much round the place is shown, metres."""
PATCH = 0.07
"""How wide what is put in here is, metres."""
SEED = 0


@dataclass(frozen=True)
class Shown:
    """What a picture shows: a fit at weights, and the fault that colours it."""

    fit: Fit
    weights: dict[str, float]
    fault: str


def coarse(fault: str) -> Shown:
    """A guernsey with too few vertices at the belly."""
    bodies = make_demo_bodies()
    garment = make_wardrobe(bodies, names=("guernsey_coarse",))["guernsey_coarse"].garment
    return Shown(make_fit(bodies["woman"], garment), {"belly": 1.0, "girth": 1.0}, fault)


def tight() -> Shown:
    """A guernsey that lies in the body as modelled."""
    bodies = make_demo_bodies()
    garment = make_wardrobe(bodies, names=("guernsey_tight",))["guernsey_tight"].garment
    return Shown(make_fit(bodies["woman"], garment), {}, IN_FRONT.key)


def sound(body: Body | None = None, following: Following = DEFAULT_FOLLOWING) -> Fit:
    """A guernsey with nothing wrong, on the woman or another body of hers."""
    bodies = make_demo_bodies()
    garment = make_wardrobe(bodies, names=("guernsey",))["guernsey"].garment
    return make_fit(bodies["woman"] if body is None else body, garment, following)


def stepped() -> Shown:
    """A body's morph that moves a patch of the back as one stiff piece, followed point by point."""
    return Shown(sound(make_faulty_body(), Following(method="surface")), {"patch": 1.0}, BENT.key)


def with_move(fit: Fit, move: Callable[[np.ndarray, np.ndarray, np.ndarray], np.ndarray], fault: str) -> Shown:
    """`belly` of a sound guernsey with a further move of a patch on the chest, as an accident would leave it."""
    front = fit.base[:, 2] > np.percentile(fit.base[:, 2], 90)
    place = fit.base[front][np.argmin(np.abs(fit.base[front] - [0.07, 1.15, 0.2]).sum(axis=1))]
    away = fit.base - place
    share = np.exp(-((np.linalg.norm(away, axis=1) / PATCH) ** 2))
    deltas = np.array(fit.deltas)
    number = fit.morph_names.index("belly")
    deltas[number] += move(away, share, vertex_normals(fit.base, fit.garment.faces))
    return Shown(replace(fit, deltas=deltas), {"belly": 1.0}, fault)


def rough(away: np.ndarray, share: np.ndarray, normals: np.ndarray) -> np.ndarray:
    """Noise along the normals, 5 mm."""
    noise = np.random.default_rng(SEED).normal(size=len(away))
    return (0.005 * share * noise)[:, None] * normals


def pulled(away: np.ndarray, share: np.ndarray, normals: np.ndarray) -> np.ndarray:
    """Cloth drawn together from both sides towards the middle of the patch."""
    return share[:, None] * away * np.array([-0.85, 0.0, 0.0])


def pushed_past(away: np.ndarray, share: np.ndarray, normals: np.ndarray) -> np.ndarray:
    """Cloth pushed past its neighbours along the surface."""
    return (2.2 * share)[:, None] * away * np.array([-1.0, 0.0, 0.0])


SCENES: dict[str, Callable[[], Shown]] = {
    "skin-shows": lambda: coarse(EXPOSED.key),
    "cloth-in-body": lambda: coarse(DEPTH.key),
    "skin-in-front": tight,
    "puckered": lambda: with_move(sound(), rough, PUCKER.key),
    "stretched": lambda: with_move(sound(), pulled, STRETCH.key),
    "bent": stepped,
    "cuts-through-itself": lambda: with_move(sound(), pushed_past, CROSSING.key),
}


def picture(shown: Shown) -> np.ndarray:
    """As a wearer sees it, and with the fault as colour, from the same place."""
    fit, weights = shown.fit, shown.fit.body.weights(shown.weights)
    measured = GarmentOnBody(fit)
    fields, faults = measured.fields(weights), measured.measure(weights)
    place = next(one for one in faults.places if one.fault == shown.fault)
    position = np.array(place.position_m)
    skin = vertex_normals(fields.body, fit.body.faces)
    normal = skin[np.argmin(np.linalg.norm(fields.body - position, axis=1))]
    camera = close_up(position, RADIUS, normal=normal)
    plain = [Drawable(fields.body, fit.body.faces, SKIN), Drawable(fields.cloth, fit.garment.faces, CLOTH)]
    look = Appearance(np.tile(np.array(CLOTH), (len(fields.cloth), 1)), np.zeros(len(fields.cloth)))
    lit = light(fit.body, fit, fields, shown.fault, look=look)
    both = beside([draw(meshes, camera, PANEL, ground_shadow=False) for meshes in (plain, lit.meshes)])
    return below([both, legend(lit.scale, lit.words, lit.unit, width=both.shape[1])])


def main() -> None:
    """Draw the named pictures, or all."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    for name in sys.argv[1:] or SCENES:
        save_png(picture(SCENES[name]()), FOLDER / f"{name}.png")


if __name__ == "__main__":
    main()
