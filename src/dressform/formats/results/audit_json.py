"""An audit as the records of `audit_schema`, and those as JSON."""

from dressform.audit.results import Finding, MorphAudit, PairAudit, Spot
from dressform.audit.words import body_reading, body_sentences, morph_sentences, sentence
from dressform.formats.results.audit_report import AuditReport, name_of, weights_of
from dressform.formats.results.audit_schema import (
    AuditedBody,
    AuditedFinding,
    AuditedMorph,
    AuditedPair,
    AuditedPlace,
    StoredAudit,
)
from dressform.formats.results.check_report import BodyReport
from dressform.formats.results.record import json_text
from dressform.units import CM2_PER_M2, CM3_PER_M3, MM_PER_M, PERCENT, number

VERTICES_LISTED = 200
"""A place lists so many of its vertices; its count says how many there are."""

_LENGTHS = ("step", "spacing", "most", "farthest")
_AREAS = ("area",)


def audit_json(report: AuditReport) -> str:
    """The whole audit as JSON text, keys in the order of the schema."""
    return json_text(to_audit(report))


def to_audit(report: AuditReport) -> StoredAudit:
    """The whole audit, in the units that people read."""
    audit = report.audit
    return StoredAudit(
        made=report.made,
        seconds=number(report.seconds),
        versions=dict(report.versions),
        settings=dict(report.settings),
        severity=audit.severity,
        body=_body(report.body),
        base_crossing_pairs=audit.base_crossing,
        base_folded_faces=audit.base_folded,
        mirror_gap_mm=number(audit.mirror_gap * MM_PER_M),
        pairs_looked_at=audit.pairs_looked_at,
        pairs_that_overlap=audit.pairs_that_overlap,
        sentences=tuple(body_sentences(audit)),
        morphs=tuple(_morph(one, report.pictures.get(name_of(one), "")) for one in audit.morphs),
        pairs=tuple(_pair(one, report.pictures.get(name_of(one), "")) for one in audit.pairs),
    )


def _body(body: BodyReport) -> AuditedBody:
    return AuditedBody(
        name=body.name,
        file=body.source.file,
        sha256=body.source.sha256,
        vertices=body.vertices,
        triangles=body.triangles,
        stature_mm=number(body.stature * MM_PER_M),
        notes=body.notes,
    )


def _morph(one: MorphAudit, picture: str) -> AuditedMorph:
    return AuditedMorph(
        name=one.name,
        severity=one.severity,
        interval=(number(one.low), number(one.high)),
        weight=number(one.weight),
        moved_cm2=number(one.moved_area * CM2_PER_M2),
        move_max_mm=number(one.move_max * MM_PER_M),
        move_p95_mm=number(one.move_p95 * MM_PER_M),
        roughness_p99=number(one.roughness),
        folded_faces=one.folded,
        crossing_pairs=one.crossing,
        patch_percent=number(one.patch_share * PERCENT),
        sides=one.sides,
        asymmetry=number(one.asymmetry),
        partner=one.partner,
        picture=picture,
        sentences=tuple(morph_sentences(one)),
        findings=tuple(_finding(found) for found in one.findings),
    )


def _pair(one: PairAudit, picture: str) -> AuditedPair:
    return AuditedPair(
        weights={name: number(weight) for name, weight in weights_of(one).items()},
        severity=one.severity,
        overlap_cm3=number(one.overlap * CM3_PER_M3),
        picture=picture,
        findings=tuple(_finding(found) for found in one.findings),
    )


def _finding(found: Finding) -> AuditedFinding:
    value, unit = body_reading(found.fault, found.value)
    return AuditedFinding(
        fault=found.fault,
        severity=found.severity,
        value=number(value),
        unit=unit,
        weight=number(found.weight),
        partner=found.partner,
        sentence=sentence(found),
        figures=dict(_figure(name, value) for name, value in found.figures.items()),
        places=tuple(_place(spot) for spot in found.spots),
    )


def _figure(name: str, value: float) -> tuple[str, float]:
    """A figure with its unit at the end of its name."""
    if name in _LENGTHS:
        return f"{name}_mm", number(value * MM_PER_M)
    if name in _AREAS:
        return f"{name}_cm2", number(value * CM2_PER_M2)
    return name, number(value)


def _place(spot: Spot) -> AuditedPlace:
    return AuditedPlace(
        place=spot.place,
        vertex_count=len(spot.vertices),
        vertices=tuple(int(vertex) for vertex in spot.vertices[:VERTICES_LISTED]),
    )
