"""Answers about faults: layers and figures of a shape, layers of a fit, and two garments compared."""

from time import perf_counter
from typing import Any

import numpy as np

from dressform.arrays import Weights
from dressform.faults.results import Place, ShapeFaults
from dressform.faults.severity import graded_values
from dressform.faults.words import FAULT_WORDS, reading_of
from dressform.report.page.layers import page_layers, rim_steps
from dressform.report.page.pack import write_pack
from dressform.units import MM_PER_M, MS_PER_S
from dressform.web.asks import Compare, Faults, LayerAsk, checked_name, checked_weights
from dressform.web.session import Session
from dressform.web.workers import Job
from dressform.web.worn import FIXED_LAYERS, Worn

RIGID_PATCH = "rigid_patch"
MAX_PLACES = 12
DIGITS = 7


def answer_faults(session: Session, ask: Faults) -> bytes:
    """Every fault of garments at a shape: the layers asked for, figures and places."""
    start = perf_counter()
    base = session.base(ask.base)
    weights = checked_weights(ask.weights, base.body.range)
    names = _moving_layers(session, ask.layers)
    worn = [session.ready(ask.base, key) for key in dict.fromkeys(ask.garments)]
    arrays: dict[str, np.ndarray] = {}
    found: dict[str, ShapeFaults] = {}
    for one in worn:
        key = one.variant.key
        found[key], fields = one.check.both(weights)
        if names:
            values = dict(one.layers.of_fields(fields, weights))
            if RIGID_PATCH in names:
                values[RIGID_PATCH] = rim_steps(base.rigid_patches, weights, len(base.body.vertices)) * MM_PER_M
            arrays |= {f"layer/{name}/{key}": values[name].astype(np.float32) for name in names}
    header = {
        "kind": "faults",
        "id": ask.id,
        "figures": {key: figures(faults) for key, faults in found.items()},
        "severity": {key: faults.severity for key, faults in found.items()},
        "places": {key: [_place(place) for place in faults.places[:MAX_PLACES]] for key, faults in found.items()},
        "girths": {key: _girths(faults) for key, faults in found.items()},
        "ms": _number((perf_counter() - start) * MS_PER_S),
    }
    return write_pack(header, arrays)


def answer_layer(session: Session, ask: LayerAsk, job: Job) -> bytes:
    """One layer that no shape changes."""
    name = checked_name("layer of this kind", ask.layer, FIXED_LAYERS)
    worn = session.fitted(ask.base, ask.garment, job)
    job.step(0, 0, f"Looking at {worn.variant.name}: {name}")
    values = worn.fixed(name)
    header = {"kind": "layer", "id": ask.id, "layer": name, "garment": ask.garment}
    return write_pack(header, {f"layer/{name}/{ask.garment}": values.astype(np.float32)})


def answer_compare(session: Session, ask: Compare) -> bytes:
    """Two garments at one shape: every fault of both, and how far one lies from the other."""
    weights = checked_weights(ask.weights, session.base(ask.base).body.range)
    worn = [session.ready(ask.base, key) for key in ask.garments]
    first, second = (one.check.measure(weights) for one in worn)
    ours, theirs = figures(first), figures(second)
    rows = [
        {
            "fault": fault,
            "fault_words": FAULT_WORDS[fault],
            "unit": ours[fault]["unit"],
            "first": ours[fault]["value"],
            "second": theirs[fault]["value"],
            "severities": [ours[fault]["severity"], theirs[fault]["severity"]],
        }
        for fault in ours
    ]
    header = {"kind": "compare", "id": ask.id, "rows": rows, "moved_mm": _moved(worn[0], worn[1], weights)}
    return write_pack(header, {})


def figures(faults: ShapeFaults) -> dict[str, dict[str, Any]]:
    """Per fault its one number, in the unit that people read, and how bad that is."""
    values = graded_values(faults)
    found = {}
    for fault, value in values.items():
        reading, unit = reading_of(fault, value)
        found[fault] = {"value": _number(reading), "unit": unit, "severity": faults.severities[fault]}
    return found


def _moving_layers(session: Session, names: list[str]) -> list[str]:
    known = [layer.name for layer in page_layers(bands=session.opened.bands) if layer.name not in FIXED_LAYERS]
    return [checked_name("layer of this kind", name, known) for name in dict.fromkeys(names)]


def _place(place: Place) -> dict[str, Any]:
    value, unit = reading_of(place.fault, place.value)
    return {
        "fault": place.fault,
        "fault_words": FAULT_WORDS[place.fault],
        "severity": place.severity,
        "value": _number(value),
        "unit": unit,
        "region": place.region,
        "side": place.side,
        "part": place.part,
        "height_mm": _number(place.height * MM_PER_M),
        "position": [_number(each) for each in place.position],
        "vertex": int(place.vertex),
    }


def _girths(faults: ShapeFaults) -> dict[str, dict[str, float]]:
    return {
        level: {"base_mm": _number(base * MM_PER_M), "shape_mm": _number(shape * MM_PER_M)}
        for level, (base, shape) in faults.girth_ease.items()
    }


def _moved(first: Worn, second: Worn, weights: Weights) -> dict[str, float] | None:
    """How far apart the two lie, vertex by vertex; None where their meshes differ."""
    if not np.array_equal(first.fit.garment.faces, second.fit.garment.faces):
        return None
    apart = np.linalg.norm(second.fit.at(weights) - first.fit.at(weights), axis=1)
    rms = float(np.sqrt(np.mean(apart**2))) if len(apart) else 0.0
    return {"largest": _number(float(apart.max(initial=0.0)) * MM_PER_M), "rms": _number(rms * MM_PER_M)}


def _number(value: float) -> float:
    """Seven significant digits, as float32 has them."""
    return float(f"{value:.{DIGITS}g}")
