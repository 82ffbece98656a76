"""What the page writes: settings, cases and exports, only into what the program was started with."""

import base64
import binascii
import re
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np

from dressform.arrays import Weights
from dressform.body.shapes import label_of
from dressform.formats.atomic import write_bytes
from dressform.formats.case_file import (
    CASE_SUFFIX,
    Case,
    CaseFault,
    CaseFile,
    CaseGarment,
    CasePlace,
    CasePose,
    CaseShape,
    CaseView,
    case_bytes,
    picture_text,
)
from dressform.formats.following_file import read_following, write_following
from dressform.formats.results.check_report import CheckReport
from dressform.jobs.provenance import now
from dressform.jobs.save import save
from dressform.report.html.parts import Worn as ReportWorn
from dressform.report.html.report import make_report, write_report
from dressform.report.page.pack import write_pack
from dressform.web.asks import AskError, CaseAsk, Export, Pose, Save, checked_weights
from dressform.web.found import figures
from dressform.web.session import Session
from dressform.web.shapes import look_of
from dressform.web.workers import Job
from dressform.web.worn import BaseShape, Variant, Worn

NAME_LENGTH = 80
MAX_ALIKE = 1000


def answer_save(session: Session, ask: Save) -> bytes:
    """Write how every garment follows into the settings file; garments that are not open here keep their entries."""
    path = session.opened.settings_file
    if path is None:
        raise AskError("This page was opened without a file for settings. Start it with --settings FILE.toml.")
    kept = read_following(path) if path.exists() else {}
    written = write_following(path, {**kept, **session.edited()})
    return write_pack({"kind": "saved", "id": ask.id, "file": path.name, "files": [one.name for one in written]}, {})


def answer_case(session: Session, ask: CaseAsk, clusters: list[dict[str, Any]]) -> bytes:
    """Save a complaint about the garment that is pointed at, else the first that is worn.

    Args:
        session: The run.
        ask: What the page sends.
        clusters: Those of the About: what is known of the place.
    """
    folder = session.opened.cases
    if folder is None:
        raise AskError("This page was opened without a folder for cases. Start it with --cases FOLDER.")
    if not ask.garments:
        raise AskError("A case is about a garment; none is worn.")
    base = session.base(ask.base)
    weights = checked_weights(ask.weights, base.body.range)
    worn = [session.ready(ask.base, key) for key in dict.fromkeys(ask.garments)]
    about = next((one for one in worn if ask.place is not None and one.variant.key == ask.place.garment), worn[0])
    faults = figures(about.check.measure(weights))
    case = Case(
        garment=_case_garment(session, about),
        body=_case_file(session, base.body.name, ""),
        shape=CaseShape(label_of(base.body.range, weights), _named(base, weights)),
        made=now(),
        versions=dict(session.opened.versions),
        pose=None if ask.pose is None else _case_pose(session, base, ask.pose),
        view=CaseView(_point(ask.view.position), _point(ask.view.target), layer=ask.view.layer or ""),
        place=_case_place(ask, clusters),
        faults={name: CaseFault(one["value"], one["unit"], one["severity"]) for name, one in faults.items()},
        others=tuple(_case_garment(session, one) for one in worn if one is not about),
        note=ask.note,
        picture="" if ask.picture is None else _picture(ask.picture),
    )
    stem = f"{slug(about.variant.name)}-{datetime.now(UTC):%Y%m%d-%H%M%S}"
    path = _write_new(folder, stem, case_bytes(case))
    return write_pack({"kind": "case", "id": ask.id, "file": path.name}, {})


def answer_export(session: Session, ask: Export, found: CheckReport, job: Job) -> bytes:
    """Write a fitted garment, or the report of everything that was checked."""
    folder = session.opened.out
    if folder is None:
        raise AskError("This page was opened without a folder for exports. Start it with --out FOLDER.")
    folder.mkdir(parents=True, exist_ok=True)
    notes: list[str] = []
    if ask.what == "report":
        path = _export_report(session, folder, found, job)
    else:
        path, notes = _export_fit(session, ask, folder, job)
    return write_pack({"kind": "export", "id": ask.id, "file": path.name, "notes": notes}, {})


def slug(name: str) -> str:
    """A name that any file system takes and that names no folder."""
    return re.sub(r"[^A-Za-z0-9_]+", "-", name).strip("-")[:NAME_LENGTH] or "garment"


def _export_fit(session: Session, ask: Export, folder: Path, job: Job) -> tuple[Path, list[str]]:
    if ask.garment is None:
        raise AskError("Name the garment to export.")
    worn = session.fitted(ask.base, ask.garment, job)
    job.step(0, 0, f"Writing {worn.variant.name}")
    path = folder / f"{slug(worn.variant.key)}-on-{slug(worn.base.body.name)}.glb"
    return path, list(save(worn.fit, path))


def _export_report(session: Session, folder: Path, found: CheckReport, job: Job) -> Path:
    if not found.garments:
        raise AskError("Nothing was checked yet. The report can be written when the check has ended.")
    names = [base.body.name for base in session.bases]
    index = names.index(found.body.name)
    base = session.bases[index]
    worn = {garment.key: session.fitted(index, garment.key, job) for garment in found.garments}
    shown = {key: _report_worn(session, index, one) for key, one in worn.items()}
    step = job.steps("Drawing the report")
    step(0, len(shown))
    report = make_report(base.body, found, shown, bands=session.opened.bands, progress=step)
    path = folder / f"{slug(found.body.name)}-report.html"
    write_report(report, path)
    return path


def _report_worn(session: Session, base: int, worn: Worn) -> ReportWorn:
    """A garment for the report, with its repaired version beside it where that was made."""
    repaired = session.made(base, Variant(worn.variant.name, worn.variant.method, True, worn.variant.opened).key)
    fit = None if repaired is None or worn.variant.repaired else repaired.fit
    return ReportWorn(worn.fit, look_of(session, worn), fit, worn.certificate)


def _case_garment(session: Session, worn: Worn) -> CaseGarment:
    source = _case_file(session, worn.variant.name, worn.variant.name)
    return CaseGarment.of(source, worn.fit.following, repaired=worn.variant.repaired)


def _case_file(session: Session, name: str, source: str) -> CaseFile:
    file = session.opened.sources[source]
    return CaseFile(name, file.file, file.sha256)


def _case_pose(session: Session, base: BaseShape, pose: Pose) -> CasePose:
    if pose.animation is None:
        turns = {name: tuple(turn) for name, turn in (pose.turns or {}).items()}
        return CasePose(turns=turns)  # type: ignore[arg-type]  # four numbers each: `asks.Quaternion`
    animations = session.animations(base)
    if pose.animation >= len(animations):
        raise AskError(f"The body has {len(animations)} animations; number {pose.animation} is none of them.")
    return CasePose(animation=animations[pose.animation].name, time_s=pose.time)


def _case_place(ask: CaseAsk, clusters: list[dict[str, Any]]) -> CasePlace | None:
    """The place with what the check knows of it."""
    place = ask.place
    if place is None:
        return None
    same = ("garment", "fault", "vertex")
    known: Mapping[str, Any] = next(
        (one for one in clusters if all(one[name] == getattr(place, name) for name in same)), {}
    )
    return CasePlace(
        position_m=_point(place.position),
        fault=place.fault,
        region=place.region,
        side=place.side,
        part=place.part,
        height_mm=place.height_mm,
        vertex=place.vertex,
        **{name: known[name] for name in ("value", "unit", "severity", "cause", "owner") if name in known},
    )


def _named(base: BaseShape, weights: Weights) -> dict[str, float]:
    return {name: float(weight) for name, weight in zip(base.body.morph_names, weights) if weight}


def _point(values: list[float]) -> tuple[float, float, float]:
    if not np.isfinite(values).all():
        raise AskError("A point must be finite.")
    return values[0], values[1], values[2]


def _picture(text: str) -> str:
    """The picture as a case holds it."""
    try:
        return picture_text(base64.b64decode(text, validate=True))
    except (binascii.Error, ValueError):
        raise AskError("The picture is no PNG in base64.") from None


def _write_new(folder: Path, stem: str, data: bytes) -> Path:
    """Write a file under a name that is not taken, whole or not at all.

    One thread of one program writes here; another program that takes the same name in the same instant would lose its
    file to ours, as with any rename.
    """
    folder.mkdir(parents=True, exist_ok=True)
    names = (f"{stem}{'' if number == 1 else f'-{number}'}{CASE_SUFFIX}" for number in range(1, MAX_ALIKE))
    path = next((folder / name for name in names if not (folder / name).exists()), None)
    if path is None:
        raise AskError("Too many cases were saved within one second.")
    write_bytes(path, data)
    return path
