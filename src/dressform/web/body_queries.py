"""Answers about the body: tape measures, the shape nearest to a tape, and its animations."""

from dressform.body.measure import MEASURE_NAMES
from dressform.body.shapes import label_of
from dressform.jobs.measure import find_shape, measure
from dressform.units import CM_PER_M, MM_PER_M
from dressform.web.answers import MeasureRow, MeasuresAnswer, PoseAnswer, TapeAnswer, TapeRow, answer_pack
from dressform.web.requests import (
    MeasuresRequest,
    PoseRequest,
    RequestError,
    TapeRequest,
    checked_name,
    checked_weights,
)
from dressform.web.session import Session
from dressform.web.workers import BackgroundJob

MM_DECIMALS = 2


def answer_measures(session: Session, request: MeasuresRequest) -> bytes:
    """Every tape measure of a shape."""
    base = session.base(request.base)
    weights = checked_weights(request.weights, base.body.range)
    named = dict(zip(base.body.morph_names, weights)) | (request.sliders or {})
    taken = measure(base.body, named, measurer=base.measurer).measures
    rows = tuple(
        MeasureRow(
            name=row.name,
            definition=row.iso,
            mm=_mm_or_none(row.value),
            height_mm=_mm_or_none(row.height),
            note=row.note,
        )
        for row in taken.rows
    )
    return answer_pack(MeasuresAnswer(id=request.id, rows=rows))


def answer_tape(session: Session, request: TapeRequest, job: BackgroundJob) -> bytes:
    """The reachable shape nearest to what the tape should read."""
    base = session.base(request.base)
    for name in request.targets:
        checked_name("measure", name, MEASURE_NAMES)
    targets = {name: value * CM_PER_M / MM_PER_M for name, value in request.targets.items()}
    found = find_shape(base.body, targets, measurer=base.measurer, progress=job.steps("Looking for the shape"))
    rows = tuple(
        TapeRow(
            name=row.name,
            asked_mm=_mm(row.asked),
            got_mm=_mm_or_none(row.got),
            missed_mm=_mm_or_none(row.missed),
            met=row.met,
            note=row.note,
        )
        for row in found.rows
    )
    return answer_pack(
        TapeAnswer(
            id=request.id,
            weights=tuple(float(weight) for weight in found.weights),
            label=label_of(base.body.range, found.weights),
            met=found.met,
            rows=rows,
        )
    )


def answer_pose(session: Session, request: PoseRequest) -> bytes:
    """The moments of an animation, and the names of the joints."""
    base = session.bases[session.opened.base]
    skeleton = base.body.skeleton
    joints = () if skeleton is None else skeleton.names
    if request.animation is None:
        return answer_pack(PoseAnswer(id=request.id, joints=joints))
    animations = session.animations(base)
    if request.animation >= len(animations):
        raise RequestError(f"The body has {len(animations)} animations; number {request.animation} is none of them.")
    one = animations[request.animation]
    times = tuple(float(time) for time in one.times)
    return answer_pack(PoseAnswer(id=request.id, joints=joints, name=one.name, duration_s=one.duration, times=times))


def _mm(metres: float) -> float:
    return round(metres * MM_PER_M, MM_DECIMALS)


def _mm_or_none(metres: float | None) -> float | None:
    return None if metres is None else _mm(metres)
