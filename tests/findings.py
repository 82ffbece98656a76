"""Hand-made findings, for tests of what is said about them."""

import numpy as np

from dressform.faults.places import make_place
from dressform.faults.registry import FAULTS
from dressform.faults.results import AtBase, Broken, ClearanceChange, Place, Pucker, ShapeFaults, ShowThrough, Stretch
from dressform.formats.results.check_report import BodyReport, CheckReport, GarmentReport, ShapeRow, Source

MORPHS = ("belly", "girth", "tall")
CLEAN = dict.fromkeys(FAULTS, "clean")


def place(fault: str = "exposed", *, severity: str = "moderate", area: float = 12e-4, value: float = 12e-4) -> Place:
    return make_place(
        (0.1, 1.12, 0.2),
        7,
        region="torso",
        part="front panel",
        side="front left",
        height=1.12,
        area=area,
        fault=fault,
        severity=severity,
        value=value,
    )


def faults(
    *,
    exposed: float = 0.0,
    depth: float = 0.0,
    severity: str = "clean",
    fault: str = "exposed",
    weights: tuple[float, ...] = (1.0, 0.0, 0.25),
    places: tuple[Place, ...] = (),
    broken: Broken | None = None,
    at_base: AtBase | None = None,
) -> ShapeFaults:
    return ShapeFaults(
        np.array(weights),
        at_base or AtBase(0.0, 0.0, 0.0),
        ShowThrough(exposed, exposed / 0.5, 0.5, 0.0125, 0.0015, depth / 2, depth, 0.0),
        Pucker(0.0004, 0.0021, 0.0037, 0.009, 1.0, 0.0061),
        Stretch(1.02, 1.3, 0.18, 0.11, 0.2, 4.1),
        ClearanceChange(-0.0014, 0.0001, 0.0006, {"torso": (-0.001, 0.0, 0.002)}),
        {"waist": (0.12, 0.11)},
        broken or Broken(0, 0, 0.0, 0.0, 0),
        places,
        {**CLEAN, fault: severity},
    )


def garment_report(
    name: str = "guernsey", *, method: str = "smooth", rows: tuple[ShapeRow, ...] | None = None
) -> GarmentReport:
    found = rows or (
        ShapeRow("base", faults(weights=(0.0, 0.0, 0.0)), 0.05),
        ShapeRow("belly=1", faults(exposed=12e-4, depth=0.004, severity="moderate", places=(place(),)), 0.06),
        ShapeRow("girth=1", faults(exposed=3e-4, depth=0.002, severity="slight"), 0.07),
    )
    return GarmentReport(
        name,
        Source(f"{name}.glb", "0" * 64),
        method,
        "keep",
        960,
        1840,
        ("front panel",),
        0.021,
        0.13,
        found,
        ("A note.",),
    )


def check_report(*garments: GarmentReport) -> CheckReport:
    body = BodyReport(
        "woman",
        Source("body.glb", "f" * 64),
        14000,
        27996,
        1.66,
        {"belly": (0.0, 1.0), "girth": (-0.5, 1.5), "tall": (0.0, 1.0)},
        ("Two shells.",),
    )
    return CheckReport(
        "2026-11-25T15:00:00+00:00",
        {"dressform": "0.1.0"},
        {"shapes": 64, "methods": ["smooth"]},
        body,
        garments or (garment_report(),),
        12.5,
        {"guernsey smooth": ("guernsey-base.png",)},
    )
