"""Answers about faults: layers and figures of a shape, layers of a fit, and two garments compared."""

from time import perf_counter

import numpy as np

from dressform.arrays import Weights
from dressform.faults.graded.pucker import PUCKER
from dressform.faults.results import ShapeFaults
from dressform.faults.severity import graded_values
from dressform.faults.words import FAULT_WORDS, reading_of
from dressform.formats.results.check_json import to_girths
from dressform.report.page.layers import page_layers, rim_steps
from dressform.units import MM_PER_M, MS_PER_S, number
from dressform.web.answers import (
    CompareAnswer,
    ComparedFault,
    FaultsAnswer,
    FigureAnswer,
    LayerAnswer,
    Moved,
    answer_pack,
)
from dressform.web.fitted_garments import FIXED_LAYERS, FittedGarment
from dressform.web.layers import layers_below
from dressform.web.requests import CompareRequest, FaultsRequest, LayerRequest, checked_name, checked_weights
from dressform.web.session import Session
from dressform.web.shapes import stance_of
from dressform.web.workers import BackgroundJob

RIGID_PATCH = "rigid_patch"
MAX_PLACES = 12


def answer_faults(session: Session, request: FaultsRequest) -> bytes:
    """Every fault of garments at a shape: the layers asked for, figures and places.

    A garment without joint weights does not follow the pose, so its faults are those of the modelled one.
    """
    start = perf_counter()
    base = session.base(request.base)
    weights = checked_weights(request.weights, base.body.range)
    names = _moving_layers(session, request.layers)
    stance = None if request.pose is None else stance_of(session, base, request.pose)
    fitted = [session.ready(request.base, key) for key in dict.fromkeys(request.garments)]
    arrays: dict[str, np.ndarray] = {}
    found: dict[str, ShapeFaults] = {}
    below = layers_below(fitted)
    for one in fitted:
        key = one.variant.key
        found[key], fields = one.worn_over(below[key]).both(weights, stance if one.poser is not None else None)
        if names:
            values = dict(one.layers.of_fields(fields, weights))
            if RIGID_PATCH in names:
                values[RIGID_PATCH] = rim_steps(base.rigid_patches, weights, len(base.body.vertices)) * MM_PER_M
            arrays |= {f"layer/{name}/{key}": values[name].astype(np.float32) for name in names}
    answer = FaultsAnswer(
        id=request.id,
        figures={key: figures(faults) for key, faults in found.items()},
        severity={key: faults.severity for key, faults in found.items()},
        places={key: faults.places[:MAX_PLACES] for key, faults in found.items()},
        girths={key: to_girths(faults.girth_ease) for key, faults in found.items()},
        ms=number((perf_counter() - start) * MS_PER_S),
    )
    return answer_pack(answer, arrays)


def answer_layer(session: Session, request: LayerRequest, job: BackgroundJob) -> bytes:
    """One layer that no shape changes."""
    name = checked_name("layer of this kind", request.layer, FIXED_LAYERS)
    fitted = session.fitted(request.base, request.garment, job)
    job.step(0, 0, f"Looking at {fitted.variant.name}: {name}")
    values = fitted.fixed(name)
    answer = LayerAnswer(id=request.id, layer=name, garment=request.garment)
    return answer_pack(answer, {f"layer/{name}/{request.garment}": values.astype(np.float32)})


def answer_compare(session: Session, request: CompareRequest) -> bytes:
    """Two garments at one shape: every fault of both, and how far one lies from the other."""
    weights = checked_weights(request.weights, session.base(request.base).body.range)
    fitted = [session.ready(request.base, key) for key in request.garments]
    first, second = (one.check.measure(weights) for one in fitted)
    ours, theirs = figures(first), figures(second)
    rows = tuple(
        ComparedFault(
            fault=fault,
            fault_words=FAULT_WORDS[fault],
            unit=ours[fault].unit,
            first=ours[fault].value,
            second=theirs[fault].value,
            severities=(ours[fault].severity, theirs[fault].severity),
        )
        for fault in ours
    )
    moved = _moved(fitted[0], fitted[1], weights)
    return answer_pack(CompareAnswer(id=request.id, rows=rows, moved_mm=moved))


def figures(faults: ShapeFaults) -> dict[str, FigureAnswer]:
    """Per fault its one number, in the unit that people read, and how bad that is."""
    values = graded_values(faults)
    found = {}
    for fault, value in values.items():
        reading, unit = reading_of(fault, value)
        is_told = fault != PUCKER.key or faults.pucker.is_told
        found[fault] = FigureAnswer(number(reading) if is_told else None, unit, faults.severities[fault])
    return found


def _moving_layers(session: Session, names: list[str]) -> list[str]:
    known = [layer.name for layer in page_layers(bands=session.opened.bands) if layer.name not in FIXED_LAYERS]
    return [checked_name("layer of this kind", name, known) for name in dict.fromkeys(names)]


def _moved(first: FittedGarment, second: FittedGarment, weights: Weights) -> Moved | None:
    """How far apart the two lie, vertex by vertex; None where their meshes differ."""
    if not np.array_equal(first.fit.garment.faces, second.fit.garment.faces):
        return None
    apart = np.linalg.norm(second.fit.at(weights) - first.fit.at(weights), axis=1)
    rms = float(np.sqrt(np.mean(apart**2))) if len(apart) else 0.0
    return Moved(largest=number(float(apart.max(initial=0.0)) * MM_PER_M), rms=number(rms * MM_PER_M))
