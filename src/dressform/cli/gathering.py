"""What a run has found, gathered into the frozen report that tables, JSON and pictures are made of."""

import hashlib
import platform
from collections.abc import Mapping
from datetime import UTC, datetime
from importlib import metadata
from pathlib import Path

from dressform.body.shapes import SOBOL_SEED, ShapeSettings
from dressform.cli.arguments import Reading
from dressform.cli.bands import bands_in_reading_units
from dressform.cli.fitting import Fitted
from dressform.cli.settings import following_object
from dressform.faults.severity import Bands
from dressform.formats.load import BodyFile
from dressform.formats.results.check_report import BodyReport, GarmentReport, ShapeRow, Source
from dressform.garment.following import Following
from dressform.sweep.results import SweepResult
from dressform.sweep.worst import DEFAULT_WORST

COMPUTED_WITH = ("dressform", "numpy", "scipy", "numba", "libigl")


def now() -> str:
    """The time, ISO 8601, with its zone."""
    return datetime.now(UTC).isoformat(timespec="seconds")


def versions() -> Mapping[str, str]:
    """Version of this program and of what it computes with."""
    return {"python": platform.python_version(), **{name: metadata.version(name) for name in COMPUTED_WITH}}


def settings_report(
    *,
    methods: tuple[str, ...],
    reading: Reading,
    followings: Mapping[str, Following],
    settings: ShapeSettings,
    workers: int,
    bands: Bands,
    causes: bool,
) -> Mapping[str, object]:
    """What was asked for, by the name of the option; how each garment follows as far as it is not as always."""
    return {
        "base": reading.base,
        "morphs": None if reading.morphs is None else str(reading.morphs),
        "range": None if reading.range_ is None else str(reading.range_),
        "units": reading.units,
        "up": reading.up,
        "methods": list(methods),
        "following": {name: following_object(one) for name, one in followings.items()},
        "shapes": settings.sobol,
        "ends": settings.ends,
        "strongest": settings.strongest,
        "worst": DEFAULT_WORST,
        "seed": SOBOL_SEED,
        "workers": workers,
        "causes": causes,
        "bands": bands_in_reading_units(bands),
    }


def body_report(body_file: BodyFile) -> BodyReport:
    """The body that garments were checked on."""
    body = body_file.body
    return BodyReport(
        name=body.name,
        source=source_of(body_file.path),
        vertices=len(body.vertices),
        triangles=len(body.faces),
        stature=body.stature,
        intervals={
            name: (float(low), float(high))
            for name, low, high in zip(body.morph_names, body.range.low, body.range.high)
        },
        notes=body.notes,
    )


def garment_report(one: Fitted, swept: SweepResult) -> GarmentReport:
    """One fitted garment with its rows."""
    garment = one.fit.garment
    return GarmentReport(
        name=garment.name,
        source=source_of(one.garment_file.path),
        method=one.fit.following.method,
        ease=one.fit.following.ease,
        vertices=len(garment.vertices),
        triangles=len(garment.faces),
        parts=garment.part_names,
        setup_seconds=one.seconds,
        prepare_seconds=swept.prepare_seconds[one.key],
        rows=tuple(ShapeRow(row.label, row.faults, row.seconds) for row in swept.of(one.key)),
        notes=garment.notes,
    )


def source_of(path: Path) -> Source:
    """A file with the hash of its content."""
    return Source(str(path), hashlib.sha256(path.read_bytes()).hexdigest())
