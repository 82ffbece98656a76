"""A check of small made garments, and of one as large as a report must carry, with all that a report is made of."""

from dataclasses import dataclass
from functools import cache

import numpy as np

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.body.shapes import ShapeSettings, shapes_of
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.formats.results.check_report import BodyReport, CheckReport, GarmentReport, ShapeRow, Source
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.garment.garment import Garment
from phantoms import STATURE, capsule, phantom_body, tube

LARGE_MORPHS = 12


@dataclass(frozen=True)
class Scene:
    """What a report is made of."""

    body: Body
    fits: dict[str, Fit]
    found: CheckReport


@cache
def small_scene() -> Scene:
    """A tube that follows, and one that stays where it is and lets the belly through."""
    body = phantom_body()
    loose, stiff = (Garment.of(name, *tube(clearance=0.02)) for name in ("loose tube", "stiff tube"))
    fits = {
        "loose tube smooth": make_fit(body, loose),
        "stiff tube smooth": Fit(body, stiff, DEFAULT_FOLLOWING, stiff.vertices, np.zeros((3, len(stiff.vertices), 3))),
    }
    return Scene(body, fits, check_of(body, fits, ShapeSettings(strongest=3, sobol=2)))


@cache
def large_scene() -> Scene:
    """A garment of 10,000 vertices on a body of 24,000 with 12 morphs that move every vertex."""
    vertices, faces = capsule(rings=120, sides=200)
    names = tuple(f"slider {number}" for number in range(LARGE_MORPHS))
    deltas = np.stack([_swell(vertices, number) for number in range(LARGE_MORPHS)])
    body = Body("large", vertices, faces, names, deltas, Range.unit(names))
    cloth = Garment.of("long tube", *tube(clearance=0.012, bottom=0.4, top=1.4, rings=100, sides=100))
    fits = {"long tube smooth": make_fit(body, cloth)}
    return Scene(body, fits, check_of(body, fits, ShapeSettings(strongest=0, sobol=2)))


def check_of(body: Body, fits: dict[str, Fit], settings: ShapeSettings) -> CheckReport:
    """What a check of these fits finds."""
    garments = []
    for key, fit in fits.items():
        check = GarmentOnBody(fit)
        rows = tuple(
            ShapeRow(shape.label, check.measure(shape.weights), 0.1) for shape in shapes_of(body, settings=settings)
        )
        garments.append(garment_report(key, fit, rows))
    box = body.range
    intervals = {name: (float(low), float(high)) for name, low, high in zip(box.names, box.low, box.high)}
    source = Source("/srv/keepers/body.glb", "b" * 64)
    about_body = BodyReport(body.name, source, len(body.vertices), len(body.faces), body.stature, intervals)
    return CheckReport(
        "2026-11-25T15:00:00+00:00",
        {"dressform": "0.1.0", "numpy": "2.4"},
        {
            "methods": ["smooth"],
            "shapes": 2,
            "range": "wide/body.toml",
            "mask": None,
            "bands": {"exposed": [0.2, 2.0, 20.0]},
        },
        about_body,
        tuple(garments),
        1.0,
    )


def garment_report(key: str, fit: Fit, rows: tuple[ShapeRow, ...]) -> GarmentReport:
    """A garment with its rows."""
    garment = fit.garment
    name = garment.name
    return GarmentReport(
        name,
        Source(f"/srv/keepers/cupboard/{name}.glb", "a" * 64),
        "smooth",
        "keep",
        len(garment.vertices),
        len(garment.faces),
        garment.part_names,
        0.1,
        0.1,
        rows,
        garment.notes,
    )


def _swell(vertices: np.ndarray, number: int) -> np.ndarray:
    """A smooth field that moves every vertex by up to 4 cm, outward and along."""
    height = vertices[:, 1] / STATURE
    turn = np.arctan2(vertices[:, 2], vertices[:, 0])
    strength = 0.02 * (1.2 + np.sin((1 + number) * height + number) * np.cos((number % 3) * turn + number))
    outward = np.stack([np.cos(turn), 0.3 * np.sin(2 * turn + number), np.sin(turn)], axis=1)
    return strength[:, None] * outward
