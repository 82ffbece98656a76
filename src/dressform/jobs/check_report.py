"""What a check found, gathered into the frozen report that tables, JSON and pages are made of."""

from collections.abc import Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any

import msgspec
import numpy as np

from dressform.body.body import Body
from dressform.body.shapes import SOBOL_SEED, ShapeSettings
from dressform.causes.results import Causes
from dressform.errors import ArgumentError
from dressform.faults.severity import Bands
from dressform.fit.fit import Fit
from dressform.formats.bands_file import bands_in_reading_units
from dressform.formats.following_file import FollowingEntry
from dressform.formats.frames.units import AxisOptions
from dressform.formats.load import BodyFile, GarmentFile, ReadOptions
from dressform.formats.results.check_report import BodyReport, CheckReport, GarmentReport, ShapeRow, Source
from dressform.formats.results.check_schema import key_of
from dressform.formats.results.failed import FailedGarment, FailedStage
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.jobs.provenance import NO_FILE, content_of, source_of, versions
from dressform.sweep.results import SweepResult, SweepRow
from dressform.sweep.worst import DEFAULT_WORST


def make_check_report(
    fits: Mapping[str, Fit],
    swept: SweepResult,
    *,
    causes: Causes | None,
    shapes: ShapeSettings,
    bands: Bands,
    workers: int,
    made: str,
    seconds: float,
    setup_seconds: Mapping[str, float],
    under: Mapping[str, Sequence[str]],
    failed: tuple[FailedGarment, ...] = (),
    notes: Mapping[str, tuple[str, ...]] | None = None,
) -> CheckReport:
    """Everything that one check says. Arguments are the attributes of `CheckResult`."""
    body = next(iter(fits.values())).body
    settings = settings_report(
        {fit.garment.name: fit.following for fit in fits.values()},
        methods=tuple(dict.fromkeys(fit.following.method for fit in fits.values())),
        shapes=shapes,
        bands=bands,
        workers=workers,
        causes=causes is not None,
        options=read_options(body),
        told=told_axes(fit.garment for fit in fits.values()),
    )
    stances = list(dict.fromkeys(row.faults.stance for row in swept.rows if row.faults.stance))
    if stances:
        settings = {**settings, "stances": stances, "at_stances": shapes.sampled_at_stances}
    report = CheckReport(
        made=made,
        versions=versions(),
        settings=settings,
        body=body_report(body, body_source(body)),
        garments=tuple(
            garment_report(
                fit,
                key,
                swept,
                seconds=setup_seconds.get(key, 0.0),
                under=tuple(fits[name].garment.name for name in under.get(key, ())),
                notes=(notes or {}).get(key, ()),
            )
            for key, fit in fits.items()
        ),
        seconds=seconds,
        failed=failed,
    )
    return report if causes is None else report.with_causes(causes)


def settings_report(
    followings: Mapping[str, Following],
    *,
    methods: tuple[str, ...],
    shapes: ShapeSettings,
    bands: Bands,
    workers: int,
    causes: bool,
    options: ReadOptions,
    told: AxisOptions,
) -> Mapping[str, object]:
    """What was asked for, by the name of the option; how each garment follows as far as it is not as always."""
    return {
        "base": options.base,
        "morphs": _text(options.morphs_dir),
        "range": _text(options.range_file),
        "units": options.units,
        "up": options.up,
        "front": options.front,
        "garment_units": told.units,
        "garment_up": told.up,
        "methods": list(methods),
        "following": {name: following_object(one) for name, one in followings.items()},
        "shapes": shapes.sobol,
        "ends": shapes.ends,
        "strongest": shapes.strongest,
        "worst": DEFAULT_WORST,
        "seed": SOBOL_SEED,
        "workers": workers,
        "causes": causes,
        "bands": bands_in_reading_units(bands),
    }


def following_object(following: Following) -> dict[str, Any]:
    """How a garment follows, for a report, as a settings file has it; of a mask given by numbers only their count."""
    painted = f"{len(following.mask)} numbers" if isinstance(following.mask, np.ndarray) else None
    entry: dict[str, Any] = msgspec.to_builtins(FollowingEntry.of(following, painted))
    return entry


def following_again(settings: Mapping[str, object], name: str) -> Following:
    """How a garment follows, from the settings of a report, where `following_object` put it.

    Raises:
        ArgumentError: a mask was given by numbers, which a report does not hold.
    """
    entries = msgspec.convert(settings.get("following", {}), dict[str, FollowingEntry])
    stored = entries.get(name, FollowingEntry())
    if stored.painted:
        rule, advice = "of strengths that were not painted", "Check again with the paint as a mask of the file"
        raise ArgumentError.of("explain", "results", rule, f"paint on {name}", advice)
    return stored.following(None)


def body_report(body: Body, source: Source) -> BodyReport:
    """The body that garments were checked on."""
    return BodyReport(
        name=body.name,
        source=source,
        vertices=len(body.vertices),
        triangles=len(body.faces),
        stature=body.stature,
        intervals=intervals_of(body),
        notes=body.notes,
        joint_sliders={one.name: (one.low, one.high) for one in body.joint_sliders},
        content=content_of(body.vertices, body.faces, body.deltas, body.range.low, body.range.high),
    )


def intervals_of(body: Body) -> dict[str, tuple[float, float]]:
    """Lowest and highest weight of each morph."""
    ends = zip(body.morph_names, body.range.low, body.range.high)
    return {name: (float(low), float(high)) for name, low, high in ends}


def garment_report(
    fit: Fit,
    key: str,
    swept: SweepResult,
    *,
    seconds: float,
    under: tuple[str, ...] = (),
    notes: tuple[str, ...] = (),
) -> GarmentReport:
    """One fitted garment with its rows."""
    garment, following = fit.garment, fit.following
    return GarmentReport(
        name=garment.name,
        source=garment_source(garment),
        method=following.method,
        ease=following.ease,
        vertices=len(garment.vertices),
        triangles=len(garment.faces),
        parts=garment.part_names,
        setup_seconds=seconds,
        prepare_seconds=swept.prepare_seconds[key],
        rows=tuple(ShapeRow(row.label, row.faults, row.seconds) for row in swept.of(key)),
        notes=(*garment.notes, *notes, *_coarse_notes(swept.of(key))),
        under=under,
        content=content_of(garment.vertices, garment.faces),
        given_key="" if key == key_of(garment.name, following.method) else key,
    )


def failed_garment(fit: Fit, stage: FailedStage, reason: str) -> FailedGarment:
    """A fitted garment with which no more could be done."""
    file = garment_source(fit.garment).file
    return FailedGarment(name=fit.garment.name, file=file, method=fit.following.method, stage=stage, reason=reason)


def _coarse_notes(rows: Sequence[SweepRow]) -> tuple[str, ...]:
    """A note where the cloth has too few vertices for a pucker index."""
    if any(row.faults.pucker.is_told for row in rows):
        return ()
    told = min(row.faults.pucker.told_share for row in rows)
    return (
        f"Its pucker can't be told: a window of 3 cm holds too few vertices on {100 * (1 - told):.0f} % of the cloth.",
    )


def read_options(body: Body) -> ReadOptions:
    """How the file of a body was read."""
    return body.source.options if isinstance(body.source, BodyFile) else ReadOptions()


def told_axes(garments: Iterable[Garment]) -> AxisOptions:
    """What the user said of the units and axes of garments that were read together."""
    files = (garment.source for garment in garments)
    return next((file.told for file in files if isinstance(file, GarmentFile)), AxisOptions())


def _text(path: Path | None) -> str | None:
    return None if path is None else str(path)


def body_source(body: Body) -> Source:
    """The file of a body with its hash."""
    return source_of(body.source.path) if isinstance(body.source, BodyFile) else NO_FILE


def garment_source(garment: Garment) -> Source:
    """The file of a garment with its hash."""
    return source_of(garment.source.path) if isinstance(garment.source, GarmentFile) else NO_FILE
