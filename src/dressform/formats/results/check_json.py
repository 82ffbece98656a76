"""A check as JSON: the documented, versioned form that programs read. `results.schema.json` is its schema.

Only this file turns frozen results into the units that people read: mm, cm², per cent, ms.
"""

import json
import statistics
from importlib import resources
from typing import Any

from dressform.arrays import Weights
from dressform.causes.evidence_words import evidence_reading
from dressform.causes.results import Explanation, SharedPlace
from dressform.faults.results import Place, ShapeFaults
from dressform.faults.words import reading_of
from dressform.formats.results.check_report import BodyReport, CheckReport, GarmentReport, ShapeRow, Source
from dressform.units import CM2_PER_M2, MM_PER_M, MS_PER_S, PERCENT

SCHEMA_NAME = "dressform-results/2"
SCHEMA_FILE = "results.schema.json"
DIGITS = 7


def results_json(report: CheckReport) -> str:
    """The whole report as JSON text, keys in the order of the schema."""
    return json.dumps(results(report), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def results_schema() -> dict[str, Any]:
    """The JSON Schema that `results_json` obeys."""
    text = resources.files("dressform.formats.results").joinpath(SCHEMA_FILE).read_text(encoding="utf-8")
    schema: dict[str, Any] = json.loads(text)
    return schema


def results(report: CheckReport) -> dict[str, Any]:
    """The whole report as plain objects."""
    return {
        "schema": SCHEMA_NAME,
        "made": report.made,
        "seconds": _number(report.seconds),
        "versions": dict(report.versions),
        "settings": dict(report.settings),
        "severity": report.severity,
        "body": _body(report.body),
        "garments": [_garment(garment, report) for garment in report.worst_first()],
        "shared_places": [_shared(one) for one in report.shared],
    }


def _body(body: BodyReport) -> dict[str, Any]:
    return {
        "name": body.name,
        "source": _source(body.source),
        "vertices": body.vertices,
        "triangles": body.triangles,
        "stature_mm": _number(body.stature * MM_PER_M),
        "range": {name: [_number(low), _number(high)] for name, (low, high) in body.intervals.items()},
        "notes": list(body.notes),
    }


def _source(source: Source) -> dict[str, str]:
    return {"file": source.file, "sha256": source.sha256}


def _garment(garment: GarmentReport, report: CheckReport) -> dict[str, Any]:
    rows, morphs = garment.worst_first(), tuple(report.body.intervals)
    explained = 0.0 if report.causes is None else report.causes.seconds.get(garment.key, 0.0)
    return {
        "name": garment.name,
        "source": _source(garment.source),
        "lift": garment.method,
        "ease_policy": garment.ease,
        "vertices": garment.vertices,
        "triangles": garment.triangles,
        "parts": list(garment.parts),
        "severity": garment.severity,
        "worst_shape": rows[0].label,
        "setup_ms": _number(garment.setup_seconds * MS_PER_S),
        "prepare_ms": _number(garment.prepare_seconds * MS_PER_S),
        "shape_ms": _number(statistics.median(row.seconds for row in rows) * MS_PER_S),
        "explain_ms": _number(explained * MS_PER_S),
        "pictures": list(report.pictures.get(garment.key, ())),
        "notes": list(garment.notes),
        "clusters": [_cluster(one, morphs) for one in report.explained(garment)],
        "shapes": [_shape(row, morphs) for row in rows],
    }


def _shape(row: ShapeRow, morphs: tuple[str, ...]) -> dict[str, Any]:
    faults = row.faults
    return {
        "label": row.label,
        "weights": _weights(faults.weights, morphs),
        "severity": faults.severity,
        "severities": dict(faults.severities),
        "ms": _number(row.seconds * MS_PER_S),
        **_figures(faults),
        "places": [_place(place) for place in faults.places],
    }


def _figures(faults: ShapeFaults) -> dict[str, Any]:
    through, pucker, stretch = faults.show_through, faults.pucker, faults.stretch
    change, broken = faults.clearance_change, faults.broken
    return {
        "show_through": {
            "exposed_cm2": _number(through.exposed_area * CM2_PER_M2),
            "exposed_percent": _number(through.exposed_share * PERCENT),
            "hidden_cm2": _number(through.hidden_area * CM2_PER_M2),
            "inside_percent": _number(through.inside_share * PERCENT),
            "own_inside_percent": _number(through.own_inside_share * PERCENT),
            "depth_p95_mm": _number(through.depth_p95 * MM_PER_M),
            "depth_max_mm": _number(through.depth_max * MM_PER_M),
            "overlap_cm2": _number(through.overlap_area * CM2_PER_M2),
        },
        "pucker": {name: _number(getattr(pucker, name)) for name in ("p50", "p95", "p99", "max")},
        "stretch": {
            "l2": _number(stretch.l2),
            "linf": _number(stretch.linf),
            "log_p99": _number(stretch.log_p99),
            "relative_log_p99": _number(stretch.relative_p99),
            "green_p99": _number(stretch.green_p99),
            "dirichlet": _number(stretch.dirichlet),
        },
        "clearance_change": {
            **_percentiles((change.p5, change.p50, change.p95)),
            "regions": {region: _percentiles(values) for region, values in change.regions.items()},
        },
        "girth_ease": {
            level: {"base_mm": _number(base * MM_PER_M), "shape_mm": _number(shape * MM_PER_M)}
            for level, (base, shape) in faults.girth_ease.items()
        },
        "broken": {
            "folded_faces": broken.folded_faces,
            "crossing_pairs": broken.crossing_pairs,
            "seam_opening_mm": _number(broken.seam_opening * MM_PER_M),
            "hard_bend_mm": _number(broken.hard_bend * MM_PER_M),
            "layer_swaps": broken.layer_swaps,
        },
    }


def _percentiles(values: tuple[float, float, float]) -> dict[str, float]:
    return dict(zip(("p5_mm", "p50_mm", "p95_mm"), (_number(value * MM_PER_M) for value in values)))


def _weights(weights: Weights, morphs: tuple[str, ...]) -> dict[str, float]:
    return {name: _number(weight) for name, weight in zip(morphs, weights) if weight}


def _cluster(one: Explanation, morphs: tuple[str, ...]) -> dict[str, Any]:
    cluster = one.cluster

    def reading(value: float) -> float:
        return _number(reading_of(cluster.fault, value)[0])

    return {
        "name": cluster.name,
        **_place(cluster.worst.place),
        "vertices": [int(vertex) for vertex in cluster.vertices],
        "noticed": _number(cluster.noticed),
        "seen": [
            {
                "label": seen.label,
                "weights": _weights(seen.weights, morphs),
                "severity": seen.place.severity,
                "value": reading(seen.place.value),
            }
            for seen in cluster.sightings
        ],
        "measured": reading(one.measured),
        "shares": [
            {
                "cause": share.cause,
                "share": _number(share.share),
                "alone": reading(share.alone),
                "counterfactual": share.counterfactual,
            }
            for share in one.shares
        ],
        "cause": one.cause,
        "owner": one.owner,
        "advice": None
        if one.advice is None
        else {"where": one.advice.where, "what": one.advice.what, "repair": one.advice.repair},
        "evidence": _evidence(one),
    }


def _evidence(one: Explanation) -> dict[str, float]:
    readings = (evidence_reading(name, value) for name, value in one.evidence.items())
    return {name: _number(value) for value, _, name in readings}


def _shared(one: SharedPlace) -> dict[str, Any]:
    return {
        "fault": one.fault,
        "region": one.region,
        "side": one.side,
        "height_mm": _number(one.height * MM_PER_M),
        "clusters": [f"{garment}/{name}" for garment, name in one.clusters],
        "suspect": one.suspect,
        "sentence": one.sentence,
    }


def _place(place: Place) -> dict[str, Any]:
    value, unit = reading_of(place.fault, place.value)
    return {
        "fault": place.fault,
        "severity": place.severity,
        "region": place.region,
        "part": place.part,
        "side": place.side,
        "height_mm": _number(place.height * MM_PER_M),
        "position_m": [_number(coordinate) for coordinate in place.position],
        "vertex": place.vertex,
        "area_cm2": _number(place.area * CM2_PER_M2),
        "value": _number(value),
        "unit": unit,
    }


def _number(value: float) -> float:
    """Seven significant digits, as float32 has them."""
    return float(f"{value:.{DIGITS}g}")
