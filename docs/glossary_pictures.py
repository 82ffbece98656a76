"""Draw the pictures of the glossary: each fault at slight, moderate and grave, on the demo's garments.

Garments are worn at shapes that go from the base outward, some by methods that follow badly, until each fault has been
seen at each severity. What none of them shows has no picture, and the glossary says so.

    python docs/glossary_pictures.py [GARMENT ...]

With garments named, only what these show is drawn again.
"""

import sys
from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from msgspec import structs
from PIL import Image as PillowImage

from dressform.body.body import Body
from dressform.causes.base_places import base_places
from dressform.demo.body import make_demo_bodies, make_faulty_body
from dressform.demo.wardrobe import make_wardrobe
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.registry import FAULT_OF, FAULTS
from dressform.faults.results import SEVERITIES, Place, ShapeFaults
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.jobs.case.seeing import Seen, picture_of
from dressform.mesh.geometry import vertex_normals
from dressform.report.pictures.faults import Appearance, look_at

FOLDER = Path(__file__).resolve().parent.parent / "src/dressform/report/triage/glossary"
STEPS = (0.12, 0.25, 0.45, 0.7, 1.0)
SIZE, QUALITY, CLOSE = (320, 400), 68, 0.2
SEVERE = SEVERITIES[1:]
CLOTH_ALONE = frozenset({"pucker", "bent", "stretch", "clearance", "folded", "hard"})
"""Faults of the cloth itself, which no skin should outshine."""


@dataclass(frozen=True)
class Recipe:
    """A garment, how it follows, the shape at the end of the way, and how far it is let out first, mm."""

    body: str
    garment: str
    method: str
    shape: Mapping[str, float]
    out_mm: float = 0.0


RECIPES = (
    Recipe("woman", "guernsey_coarse", "smooth", {"belly": 1.0, "girth": 0.6, "hips": 0.5}),
    Recipe("woman", "waistcoat", "nearest", {"chest": 1.0, "girth": 0.6, "age": 1.0, "belly": 1.0}),
    Recipe("faulty", "guernsey", "surface", {"patch": 1.0}),
    Recipe("woman", "guernsey_tight", "smooth", {}),
    Recipe("woman", "guernsey_tight", "smooth", {}, 2.0),
    Recipe("woman", "guernsey_tight", "smooth", {}, 2.5),
    Recipe("woman", "guernsey_larger", "smooth", {"girth": -0.5, "belly": -0.3}),
    Recipe("woman", "waistcoat", "smooth", {"chest": 1.3, "girth": -0.6, "age": 1.2, "belly": -0.3, "shoulders": -0.5}),
    Recipe("woman", "souwester", "nearest", {"age": 1.0, "girth": 1.0, "stature": 1.0}),
    Recipe("woman", "skirt", "nearest", {"hips": 1.0, "legs": 1.0, "girth": 1.0}),
)


@dataclass(frozen=True)
class Sight:
    """A fault at one severity: where to look."""

    worn: GarmentOnBody
    faults: ShapeFaults
    place: Place
    look: Appearance


def sights(only: Collection[str]) -> Iterator[tuple[Sight, str]]:
    """Every place of every recipe, from the base outward, with the severity of its whole garment in that fault."""
    bodies = {**make_demo_bodies(), "faulty": make_faulty_body()}
    wardrobe = make_wardrobe(make_demo_bodies(), names=dict.fromkeys(recipe.garment for recipe in RECIPES))
    for recipe in (one for one in RECIPES if not only or one.garment in only):
        body, made = bodies[recipe.body], wardrobe[recipe.garment]
        garment = let_out(made.garment, recipe.out_mm)
        worn = GarmentOnBody(_fit(body, garment, recipe.method))
        parts = garment.vertex_parts()
        colours = np.array([one.tint for one in made.fabrics])[parts]
        look = Appearance(colours, np.array([one.gloss for one in made.fabrics])[parts])
        at_base = base_places(worn, bands=worn.bands)
        if at_base:
            faults = worn.measure(np.zeros(len(body.morph_names)))
            yield from ((Sight(worn, faults, place, look), place.severity) for place in at_base)
        for step in STEPS if recipe.shape else (1.0,):
            weights = body.weights({name: step * value for name, value in recipe.shape.items()})
            faults = worn.measure(weights)
            in_front = faults.severities["in_front"] in SEVERE
            for fault in FAULTS:
                if in_front and fault != "in_front":
                    continue  # nothing else would be seen beside it
                if fault in CLOTH_ALONE and faults.severities["exposed"] in SEVERE:
                    continue  # the eye goes to the skin
                mine = [place for place in faults.places if place.fault == fault]
                if mine and faults.severities[fault] in SEVERE:
                    yield Sight(worn, faults, mine[0], look), faults.severities[fault]
            if (
                faults.severities["inside"] in SEVERE and not in_front
            ):  # it has no places of its own: look where it is deepest
                deep = [place for place in faults.places if place.fault == "depth"]
                if deep:
                    yield Sight(worn, faults, replace_fault(deep[0], "inside"), look), faults.severities["inside"]


def replace_fault(place: Place, fault: str) -> Place:
    """The same place as one of another fault."""
    return structs.replace(place, fault=fault)


def let_out(garment: Garment, out_mm: float) -> Garment:
    """The garment moved along its normals."""
    if not out_mm:
        return garment
    moved = garment.vertices + out_mm / 1000.0 * vertex_normals(garment.vertices, garment.faces)
    return replace(garment, vertices=moved)


def _fit(body: Body, garment: Garment, method: str) -> Fit:
    return make_fit(body, garment, Following(method=method))


def draw(sight: Sight, fault: str, path: Path) -> None:
    """Draw one place close by, with the fault as colour."""
    worn, place = sight.worn, sight.place
    fields = worn.fields(sight.faults.weights)
    seen = Seen(worn.fit, sight.faults.weights, sight.faults, fields)
    camera = look_at(place, seen.body, seen.fit, fields, radius=CLOSE)
    shown = "depth" if FAULT_OF[fault].field is None else fault
    image = picture_of(seen, camera, sight.look, fault=shown, ring=place)
    PillowImage.fromarray(image).resize(SIZE).save(path, format="WEBP", quality=QUALITY, method=6)


def main() -> None:
    """Draw what is found, and print what is missing."""
    FOLDER.mkdir(exist_ok=True)
    drawn: set[tuple[str, str]] = set()
    for sight, severity in sights(sys.argv[1:]):
        key = (sight.place.fault, severity)
        if severity in SEVERE and key not in drawn:
            drawn.add(key)
            draw(sight, sight.place.fault, FOLDER / f"{sight.place.fault}-{severity}.webp")
            print(f"{sight.place.fault}, {severity}: {sight.worn.fit.garment.name}", flush=True)
    missing = [f"{fault} {severity}" for fault in FAULTS for severity in SEVERE if (fault, severity) not in drawn]
    print(f"Not shown by the demo: {', '.join(missing) or 'nothing'}.")


if __name__ == "__main__":
    main()
