"""Writes settings, cases and exports for the page, only to the paths given at start."""

import base64
import binascii
import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from dressform.arrays import Weights
from dressform.body.pose import turns_of
from dressform.body.shapes import label_of
from dressform.formats.atomic import write_bytes
from dressform.formats.case_file import (
    CASE_SUFFIX,
    Case,
    CaseFault,
    CaseFile,
    CaseGarment,
    CasePose,
    CaseShape,
    CaseView,
    case_bytes,
    picture_text,
)
from dressform.formats.following_file import read_following, write_following
from dressform.formats.results.check_report import CheckReport
from dressform.formats.results.page.places import ClusterAbout
from dressform.jobs.provenance import now
from dressform.jobs.save import save
from dressform.report.html.parts import ReportGarment
from dressform.report.html.report import make_report, write_report
from dressform.web.answers import CaseAnswer, ExportAnswer, SaveAnswer, answer_pack
from dressform.web.fault_queries import figures
from dressform.web.fitted_garments import BaseShape, FittedGarment, Variant
from dressform.web.requests import CaseRequest, ExportRequest, Pose, RequestError, SaveRequest, checked_weights
from dressform.web.session import Session
from dressform.web.shapes import look_of, stance_of
from dressform.web.workers import BackgroundJob

NAME_LENGTH = 80
MAX_ALIKE = 1000


def answer_save(session: Session, request: SaveRequest) -> bytes:
    """Write how every garment follows into the settings file; garments that are not open here keep their entries."""
    path = session.opened.settings_file
    if path is None:
        raise RequestError("This page was opened without a file for settings. Start it with --settings FILE.toml.")
    kept = read_following(path) if path.exists() else {}
    written = write_following(path, {**kept, **session.edited()})
    return answer_pack(SaveAnswer(id=request.id, file=path.name, files=tuple(one.name for one in written)))


def answer_case(session: Session, request: CaseRequest, clusters: Sequence[ClusterAbout]) -> bytes:
    """Save a complaint about the garment that is pointed at, else the first that is worn.

    Args:
        session: The run.
        request: What the page sends.
        clusters: Those of the About: what is known of the place.
    """
    folder = session.opened.cases
    if folder is None:
        raise RequestError("This page was opened without a folder for cases. Start it with --cases FOLDER.")
    if not request.garments:
        raise RequestError("A case is about a garment; none is worn.")
    base = session.base(request.base)
    weights = checked_weights(request.weights, base.body.range)
    fitted = [session.ready(request.base, key) for key in dict.fromkeys(request.garments)]
    about = next((one for one in fitted if one.variant.key == request.about), fitted[0])
    stance = None if request.pose is None or about.poser is None else stance_of(session, base, request.pose)
    faults = figures(about.check.measure(weights, stance))
    known = _known_cluster(request, clusters)
    case = Case(
        garment=_case_garment(session, about),
        body=_case_file(session, base.body.name, ""),
        shape=CaseShape(label_of(base.body.range, weights), _named(base, weights)),
        made=now(),
        versions=dict(session.opened.versions),
        pose=None if request.pose is None else _case_pose(session, base, request.pose),
        view=CaseView(_point(request.view.position), _point(request.view.target), layer=request.view.layer or ""),
        place=request.place if known is None else known.place,
        cause="" if known is None else known.cause,
        owner="" if known is None else known.owner,
        faults={
            name: CaseFault(one.value, one.unit, one.severity) for name, one in faults.items() if one.value is not None
        },
        others=tuple(_case_garment(session, one) for one in fitted if one is not about),
        note=request.note,
        picture="" if request.picture is None else _picture(request.picture),
    )
    stem = f"{slug(about.variant.name)}-{datetime.now(UTC):%Y%m%d-%H%M%S}"
    path = _write_new(folder, stem, case_bytes(case))
    return answer_pack(CaseAnswer(id=request.id, file=path.name))


def answer_export(session: Session, request: ExportRequest, found: CheckReport, job: BackgroundJob) -> bytes:
    """Write a fitted garment, the report of everything that was checked, or that of one garment for its maker."""
    folder = session.opened.out
    if folder is None:
        raise RequestError("This page was opened without a folder for exports. Start it with --out FOLDER.")
    folder.mkdir(parents=True, exist_ok=True)
    notes: list[str] = []
    if request.what == "report":
        path = _export_report(session, folder, found, job, stem=found.body.name)
    elif request.what == "maker":
        name = _asked(session, request).name
        path = _export_report(session, folder, _alone(found, name), job, stem=name)
    else:
        path, notes = _export_fit(session, request, folder, job)
    return answer_pack(ExportAnswer(id=request.id, file=path.name, notes=tuple(notes)))


def slug(name: str) -> str:
    """A name that any file system takes and that names no folder."""
    return re.sub(r"[^A-Za-z0-9_]+", "-", name).strip("-")[:NAME_LENGTH] or "garment"


def _export_fit(session: Session, request: ExportRequest, folder: Path, job: BackgroundJob) -> tuple[Path, list[str]]:
    fitted = session.fitted(request.base, _asked(session, request).key, job)
    job.step(0, 0, f"Writing {fitted.variant.name}")
    path = folder / f"{slug(fitted.variant.key)}-on-{slug(fitted.base.body.name)}.glb"
    return path, list(save(fitted.fit, path))


def _asked(session: Session, request: ExportRequest) -> Variant:
    """The garment that is to be exported."""
    if request.garment is None:
        raise RequestError("Name the garment to export.")
    return session.variant(request.garment)


def _alone(found: CheckReport, name: str) -> CheckReport:
    """What was found about one garment, for its maker; nothing where it was not checked."""
    is_checked = any(one.name == name for one in found.garments)
    return found.for_maker(name) if is_checked else replace(found, garments=())


def _export_report(session: Session, folder: Path, found: CheckReport, job: BackgroundJob, *, stem: str) -> Path:
    if not found.garments:
        raise RequestError("Nothing was checked yet. The report can be written when the check has ended.")
    names = [base.body.name for base in session.bases]
    index = names.index(found.body.name)
    base = session.bases[index]
    fitted = {garment.key: session.fitted(index, garment.key, job) for garment in found.garments}
    shown = {key: _report_garment(session, index, one) for key, one in fitted.items()}
    step = job.steps("Drawing the report")
    step(0, len(shown))
    stances = session.stances(base)
    report = make_report(base.body, found, shown, bands=session.opened.bands, progress=step, stances=stances)
    path = folder / f"{slug(stem)}-report.html"
    write_report(report, path)
    return path


def _report_garment(session: Session, base: int, fitted: FittedGarment) -> ReportGarment:
    """A garment for the report, with its repaired version beside it where that was made."""
    repaired = session.made(base, Variant(fitted.variant.name, fitted.variant.method, True, fitted.variant.opened).key)
    fit = None if repaired is None or fitted.variant.repaired else repaired.fit
    return ReportGarment(fitted.fit, look_of(session, fitted), fit, fitted.certificate)


def _case_garment(session: Session, fitted: FittedGarment) -> CaseGarment:
    source = _case_file(session, fitted.variant.name, fitted.variant.name)
    return CaseGarment.of(source, fitted.fit.following, repaired=fitted.variant.repaired)


def _case_file(session: Session, name: str, source: str) -> CaseFile:
    file = session.opened.sources[source]
    return CaseFile(name, file.file, file.sha256)


def _case_pose(session: Session, base: BaseShape, pose: Pose) -> CasePose:
    stance = stance_of(session, base, pose)
    sliders = dict(stance.sliders)
    if pose.animation is not None:
        return CasePose(animation=session.animations(base)[pose.animation].name, time_s=pose.time, sliders=sliders)
    if pose.stance is None:
        turns = {name: tuple(turn) for name, turn in (pose.turns or {}).items()}
        return CasePose(turns=turns, sliders=sliders)  # type: ignore[arg-type]  # four numbers: `requests.Quaternion`
    skeleton = base.body.skeleton
    turned = None if skeleton is None else turns_of(skeleton, stance.worlds if stance.still is None else stance.still)
    if turned is None:
        moves = f"A case keeps turns of joints and sliders; {stance.pose!r} moves or scales some."
        raise RequestError(f"{moves} Turn joints by hand instead.")
    return CasePose(turns=turned, sliders=sliders)


def _known_cluster(request: CaseRequest, clusters: Sequence[ClusterAbout]) -> ClusterAbout | None:
    """The cluster whose place is pointed at, or None."""
    place = request.place
    if place is None:
        return None
    spot = (request.about, place.fault, place.vertex)
    return next((one for one in clusters if (one.garment, one.place.fault, one.place.vertex) == spot), None)


def _named(base: BaseShape, weights: Weights) -> dict[str, float]:
    return {name: float(weight) for name, weight in zip(base.body.morph_names, weights) if weight}


def _point(values: list[float]) -> tuple[float, float, float]:
    if not np.isfinite(values).all():
        raise RequestError("A point must be finite.")
    return values[0], values[1], values[2]


def _picture(text: str) -> str:
    """The picture as a case holds it."""
    try:
        return picture_text(base64.b64decode(text, validate=True))
    except (binascii.Error, ValueError):
        raise RequestError("The picture is no PNG in base64.") from None


def _write_new(folder: Path, stem: str, data: bytes) -> Path:
    """Write a file under a name that is not taken, whole or not at all.

    One thread of one program writes here; another program that takes the same name in the same instant would lose its
    file to ours, as with any rename.
    """
    folder.mkdir(parents=True, exist_ok=True)
    names = (f"{stem}{'' if number == 1 else f'-{number}'}{CASE_SUFFIX}" for number in range(1, MAX_ALIKE))
    path = next((folder / name for name in names if not (folder / name).exists()), None)
    if path is None:
        raise RequestError("Too many cases were saved within one second.")
    write_bytes(path, data)
    return path
