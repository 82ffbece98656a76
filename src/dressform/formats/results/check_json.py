"""A check as the records of `check_schema`, and those as JSON."""

import math
import statistics
from collections.abc import Mapping, Sequence

import msgspec

from dressform.arrays import Weights
from dressform.causes.action import Action, Effect
from dressform.causes.evidence_words import evidence_reading
from dressform.causes.results import Explanation, SharedPlace
from dressform.causes.results import Share as CauseShare
from dressform.faults.results import AtBase, Broken, ClearanceChange, Pucker, ShapeFaults, ShowThrough, Stretch
from dressform.faults.words import reading_of
from dressform.formats.results.check_report import BodyReport, CheckReport, GarmentReport, ShapeRow
from dressform.formats.results.check_schema import StoredBody, StoredGarment, StoredResults
from dressform.formats.results.cluster_schema import StoredCluster, StoredShare, StoredShared
from dressform.formats.results.record import json_text
from dressform.formats.results.shape_schema import (
    StoredAtBase,
    StoredBroken,
    StoredClearanceChange,
    StoredGirth,
    StoredPercentiles,
    StoredPucker,
    StoredShape,
    StoredShowThrough,
    StoredSighting,
    StoredStance,
    StoredStretch,
)
from dressform.units import CM2_PER_M2, MM_PER_M, MS_PER_S, PERCENT, number


def results_json(report: CheckReport) -> str:
    """The whole report as JSON text, keys in the order of the schema."""
    return json_text(to_results(report))


def to_results(report: CheckReport) -> StoredResults:
    """The whole report, in the units that people read."""
    return StoredResults(
        made=report.made,
        seconds=number(report.seconds),
        versions=dict(report.versions),
        settings=dict(report.settings),
        severity=report.severity,
        body=body_record(report.body),
        garments=tuple(_garment(garment, report) for garment in report.worst_first()),
        shared_places=tuple(to_shared(one) for one in report.shared),
        failed=report.failed,
    )


def to_shared(one: SharedPlace) -> StoredShared:
    """Where several garments fail."""
    return StoredShared(
        fault=one.fault,
        region=one.region,
        side=one.side,
        height_mm=_mm(one.height),
        clusters=tuple(f"{garment}/{name}" for garment, name in one.clusters),
        suspect=one.suspect,
        sentence=one.sentence,
    )


def to_shares(fault: str, shares: Sequence[CauseShare]) -> tuple[StoredShare, ...]:
    """What each cause has to do with a cluster of this fault."""
    return tuple(
        StoredShare(
            cause=one.cause,
            share=number(one.share),
            alone=number(reading_of(fault, one.alone)[0]),
            counterfactual=one.counterfactual,
        )
        for one in shares
    )


def body_record(body: BodyReport) -> StoredBody:
    """The body, in the units that people read."""
    return StoredBody(
        name=body.name,
        source=body.source,
        vertices=body.vertices,
        triangles=body.triangles,
        stature_mm=_mm(body.stature),
        range={name: (number(low), number(high)) for name, (low, high) in body.intervals.items()},
        notes=body.notes,
        joint_sliders={name: (number(low), number(high)) for name, (low, high) in body.joint_sliders.items()},
        content=body.content,
    )


def _garment(garment: GarmentReport, report: CheckReport) -> StoredGarment:
    rows, morphs = garment.at_rest.worst_first(), tuple(report.body.intervals)
    explained = 0.0 if report.causes is None else report.causes.seconds.get(garment.key, 0.0)
    return StoredGarment(
        name=garment.name,
        source=garment.source,
        method=garment.method,
        ease=garment.ease,
        vertices=garment.vertices,
        triangles=garment.triangles,
        parts=garment.parts,
        worn_over=garment.under,
        severity=garment.severity,
        at_base=to_at_base(rows[0].faults.at_base),
        worst_shape=rows[0].label,
        setup_ms=_ms(garment.setup_seconds),
        prepare_ms=_ms(garment.prepare_seconds),
        shape_ms=_ms(statistics.median(row.seconds for row in rows)),
        explain_ms=_ms(explained),
        pictures=tuple(report.pictures.get(garment.key, ())),
        notes=garment.notes,
        clusters=tuple(_cluster(one, morphs) for one in report.explained(garment)),
        actions=tuple(to_action(one) for one in report.actions(garment)),
        shapes=tuple(_shape(row, morphs) for row in rows),
        stances=_stances(garment, morphs),
        worst_stance=garment.worst_first()[0].stance,
        content=garment.content,
    )


def _stances(garment: GarmentReport, morphs: tuple[str, ...]) -> tuple[StoredStance, ...]:
    """What was found at each stance, the worst first."""
    by_name = {name: sorted(rows, key=lambda row: row.badness)[::-1] for name, rows in garment.stances.items()}
    return tuple(
        StoredStance(
            name=name,
            severity=rows[0].faults.severity,
            worst_shape=rows[0].label,
            shapes=tuple(_shape(row, morphs) for row in rows),
        )
        for name, rows in sorted(by_name.items(), key=lambda pair: pair[1][0].badness, reverse=True)
    )


def _shape(row: ShapeRow, morphs: tuple[str, ...]) -> StoredShape:
    faults: ShapeFaults = row.faults
    return StoredShape(
        label=row.label,
        weights=_weights(faults.weights, morphs),
        joints={name: number(value) for name, value in faults.joints.items()},
        severity=faults.severity,
        severities=dict(faults.severities),
        ms=_ms(row.seconds),
        show_through=_show_through(faults.show_through),
        pucker=_pucker(faults.pucker),
        stretch=_stretch(faults.stretch),
        clearance_change=_clearance_change(faults.clearance_change),
        girth_ease=to_girths(faults.girth_ease),
        broken=_broken(faults.broken),
        places=faults.places,
    )


def to_at_base(found: AtBase) -> StoredAtBase:
    """What is wrong before anything moves."""
    return StoredAtBase(
        skin_cm2=number(found.skin_area * CM2_PER_M2),
        inside_percent=number(found.inside_share * PERCENT),
        tucked_cm2=number(found.tucked_area * CM2_PER_M2),
        tucked_at=found.tucked_at,
    )


def _show_through(found: ShowThrough) -> StoredShowThrough:
    return StoredShowThrough(
        exposed_cm2=number(found.exposed_area * CM2_PER_M2),
        exposed_percent=number(min(found.exposed_share, 1.0) * PERCENT),
        hidden_cm2=number(found.hidden_area * CM2_PER_M2),
        inside_percent=number(found.inside_share * PERCENT),
        own_inside_percent=number(found.own_inside_share * PERCENT),
        depth_p95_mm=_mm(found.depth_p95),
        depth_max_mm=_mm(found.depth_max),
        overlap_cm2=number(found.overlap_area * CM2_PER_M2),
        contact_cm2=number(found.contact_area * CM2_PER_M2),
    )


def _pucker(found: Pucker) -> StoredPucker:
    told = number(found.told_share * PERCENT)
    if not found.is_told:
        return StoredPucker(p50=None, p95=None, p99=None, max=None, patch=None, told_percent=told)
    p50, p95, p99 = number(found.p50), number(found.p95), number(found.p99)
    most, patch = number(found.max), number(found.patch)
    return StoredPucker(p50=p50, p95=p95, p99=p99, max=most, patch=patch, told_percent=told)


def _stretch(found: Stretch) -> StoredStretch:
    return StoredStretch(
        l2=number(found.l2),
        linf=number(found.linf),
        log_p99=number(found.log_p99),
        relative_log_p99=number(found.relative_p99),
        green_p99=number(found.green_p99),
        dirichlet=number(found.dirichlet),
    )


def to_girths(girths: Mapping[str, tuple[float, float]]) -> dict[str, StoredGirth]:
    """Ease at the base and on the shape, by tape level."""
    return {level: StoredGirth(base_mm=_mm(base), shape_mm=_mm(shape)) for level, (base, shape) in girths.items()}


def _clearance_change(found: ClearanceChange) -> StoredClearanceChange:
    return StoredClearanceChange(
        p5_mm=_mm(found.p5),
        p50_mm=_mm(found.p50),
        p95_mm=_mm(found.p95),
        regions={
            region: StoredPercentiles(p5_mm=_mm(low), p50_mm=_mm(middle), p95_mm=_mm(high))
            for region, (low, middle, high) in found.regions.items()
        },
    )


def _broken(found: Broken) -> StoredBroken:
    return StoredBroken(
        folded_faces=found.folded_faces,
        crossing_pairs=found.crossing_pairs,
        seam_opening_mm=_mm(found.seam_opening),
        hard_bend_mm=_mm(found.hard_bend),
        layer_swaps=found.layer_swaps,
        cut_cm2=number(found.cut_area * CM2_PER_M2),
        cut_depth_mm=_mm(found.cut_depth),
        folded_cm2=number(found.folded_area * CM2_PER_M2),
        swapped_cm2=number(found.swapped_area * CM2_PER_M2),
        pierced_cm2=number(found.pierced_area * CM2_PER_M2),
        bent_degrees=number(math.degrees(found.bent)),
    )


def _weights(weights: Weights, morphs: tuple[str, ...]) -> dict[str, float]:
    return {name: number(weight) for name, weight in zip(morphs, weights) if weight}


def _cluster(one: Explanation, morphs: tuple[str, ...]) -> StoredCluster:
    cluster = one.cluster
    return StoredCluster(
        name=cluster.name,
        place=cluster.worst.place,
        vertices=tuple(int(vertex) for vertex in cluster.vertices),
        noticed=number(cluster.noticed),
        seen=tuple(
            StoredSighting(
                label=seen.label,
                weights=_weights(seen.weights, morphs),
                severity=seen.place.severity,
                value=seen.place.value,
                stance="" if seen.stance is None else seen.stance.name,
            )
            for seen in cluster.sightings
        ),
        measured=number(reading_of(cluster.fault, one.measured)[0]),
        shares=to_shares(cluster.fault, one.shares),
        cause=one.cause,
        owner=one.owner,
        advice=one.advice,
        evidence=_evidence(one),
    )


def to_action(action: Action) -> Action:
    """An action with numbers as JSON has them."""

    def plain(effects: tuple[Effect, ...]) -> tuple[Effect, ...]:
        return tuple(Effect(one.fault, number(one.before), number(one.after), one.unit) for one in effects)

    tried = tuple(
        msgspec.structs.replace(one, left=plain(one.left), spoilt=plain(one.spoilt), share=number(one.share))
        for one in action.tried
    )
    return msgspec.structs.replace(action, noticed=number(action.noticed), tried=tried)


def _evidence(one: Explanation) -> dict[str, float]:
    readings = (evidence_reading(name, value) for name, value in one.evidence.items())
    return {name: number(value) for value, _, name in readings}


def _mm(metres: float) -> float:
    return number(metres * MM_PER_M)


def _ms(seconds: float) -> float:
    return number(seconds * MS_PER_S)
