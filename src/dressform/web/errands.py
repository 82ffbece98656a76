"""Answers about the body: tape measures, the shape nearest to a tape, and its animations."""

from dressform.body.measure import MEASURE_NAMES
from dressform.body.shapes import label_of
from dressform.body.tape_fit import fit_tape
from dressform.report.page.pack import write_pack
from dressform.units import MM_PER_M
from dressform.web.asks import AskError, MeasuresAsk, PoseAsk, Tape, checked_name, checked_weights
from dressform.web.session import Session
from dressform.web.workers import Job

MM_DECIMALS = 2


def answer_measures(session: Session, ask: MeasuresAsk) -> bytes:
    """Every tape measure of a shape."""
    base = session.base(ask.base)
    taken = base.measurer.measure(checked_weights(ask.weights, base.body.range))
    rows = [
        {
            "name": row.name,
            "definition": row.iso,
            "mm": _mm(row.value),
            "height_mm": _mm(row.height),
            "note": row.note,
        }
        for row in taken.rows
    ]
    return write_pack({"kind": "measures", "id": ask.id, "rows": rows}, {})


def answer_tape(session: Session, ask: Tape, job: Job) -> bytes:
    """The reachable shape nearest to what the tape should read."""
    base = session.base(ask.base)
    for name in ask.targets:
        checked_name("measure", name, MEASURE_NAMES)
    targets = {name: value / MM_PER_M for name, value in ask.targets.items()}
    found = fit_tape(base.measurer, targets, progress=job.steps("Looking for the shape"))
    rows = [
        {
            "name": row.name,
            "asked_mm": _mm(row.asked),
            "got_mm": _mm(row.got),
            "missed_mm": _mm(row.missed),
            "met": row.met,
            "note": row.note,
        }
        for row in found.rows
    ]
    header = {
        "kind": "tape",
        "id": ask.id,
        "weights": [float(weight) for weight in found.weights],
        "label": label_of(base.body.range, found.weights),
        "met": found.met,
        "rows": rows,
    }
    return write_pack(header, {})


def answer_pose(session: Session, ask: PoseAsk) -> bytes:
    """The moments of an animation, and the names of the joints."""
    base = session.bases[session.opened.base]
    skeleton = base.body.skeleton
    header = {"kind": "pose", "id": ask.id, "joints": [] if skeleton is None else list(skeleton.names)}
    if ask.animation is not None:
        animations = session.animations(base)
        if ask.animation >= len(animations):
            raise AskError(f"The body has {len(animations)} animations; number {ask.animation} is none of them.")
        one = animations[ask.animation]
        header |= {"name": one.name, "duration": one.duration, "times": [float(time) for time in one.times]}
    return write_pack(header, {})


def _mm(value: float | None) -> float | None:
    return None if value is None else round(value * MM_PER_M, MM_DECIMALS)
