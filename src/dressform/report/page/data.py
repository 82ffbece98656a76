"""The first data the page gets: body, sliders, garments with their verdicts, clusters, layers and charts.

The same About stands in the live page and in the report. It holds names of files, never their folders.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final

import numpy as np
from msgspec import structs

from dressform.arrays import Weights
from dressform.body.body import Body
from dressform.body.shapes import SAME_WEIGHT
from dressform.body.stance import AS_MODELLED
from dressform.body.stances.sliders import JointSlider
from dressform.body.stances.turns import modelled_worlds
from dressform.faults.registry import FAULT_OF
from dressform.faults.results import SEVERITIES
from dressform.faults.severity import DEFAULT_BANDS, Bands
from dressform.faults.words import FAULT_WORDS, figure_words, reading_of
from dressform.formats.results.check_json import to_shared
from dressform.formats.results.check_report import CheckReport, GarmentReport, ShapeRow
from dressform.formats.results.failed import FailedGarment
from dressform.formats.results.page_schema import (
    Ability,
    About,
    AnimationAbout,
    BodyAbout,
    CheckAbout,
    CheckState,
    GarmentAbout,
    GarmentCharts,
    JointSliderAbout,
    Life,
    PosedShapeAbout,
    SettingsAbout,
    ShapeAbout,
    Slider,
    StanceAbout,
)
from dressform.report.page.charts import fault_values
from dressform.report.page.clusters import cluster_id, page_actions, page_clusters, to_cluster
from dressform.report.page.layers import page_layers
from dressform.report.pictures.faults import gravest_fault
from dressform.report.tables.at_base import base_sentences
from dressform.report.tables.check import row_words, shape_words
from dressform.report.tables.worn_together import garment_lines
from dressform.units import number, numbers

LIVE: Final = "live"
REPORT: Final = "report"
CAUTIONS = (
    "Body measurements are personal data: pass this page on only to those who may know them.",
    "Tape measures are computed by the definitions of ISO 8559-1 on a mesh. They are no medical and no "
    "made-to-measure statement.",
)
FILE_SETTINGS = ("morphs", "range")
"""Settings that name a file or a folder."""


@dataclass(frozen=True)
class PageGarment:
    """What the page shows of one garment in addition to its report.

    Attributes:
        colours: One "#rrggbb" per part; empty where unknown.
        worn: Whether it is worn when the page opens.
        charts: Its charts, or None where there are none.
        variant_of: Key of the garment that this is another version of; empty for none.
        variant: How it differs from other versions, or empty.
        revision: Grows with every edit.
        settings: How it follows now, or None in a report.
    """

    colours: tuple[str, ...] = ()
    worn: bool = True
    charts: GarmentCharts | None = None
    variant_of: str = ""
    variant: str = ""
    revision: int = 0
    settings: SettingsAbout | None = None


@dataclass(frozen=True)
class PageScene:
    """Everything the About is made of.

    Attributes:
        body: The body, at the base that is shown.
        report: The results so far; a garment that was not checked yet may have no row.
        garments: By `GarmentReport.key`; a garment whose key is missing has only its report.
        bases: Names of the base bodies of the body file; the body's own where empty.
        animations: Of the body file: name, duration in seconds, count of key frames.
        stances: In which garments are looked at: name, and where it comes from.
        pictures: File name or data URI of the picture of a cluster, by its id.
        bands: From which value on a fault is slight, moderate, grave.
    """

    body: Body
    report: CheckReport
    garments: Mapping[str, PageGarment] = field(default_factory=dict)
    bases: tuple[str, ...] = ()
    animations: tuple[tuple[str, float, int], ...] = ()
    stances: tuple[tuple[str, str], ...] = ()
    pictures: Mapping[str, str] = field(default_factory=dict)
    bands: Bands = DEFAULT_BANDS


def about(
    scene: PageScene,
    *,
    life: Life,
    can: Sequence[Ability] = (),
    measures: Sequence[str] = (),
    layers: Sequence[str] = (),
    joints: Sequence[str] = (),
    joint_sliders: Sequence[JointSlider] = (),
    check: CheckState = "none",
) -> About:
    """The first data the page gets.

    Args:
        scene: What it is about.
        life: `LIVE` or `REPORT`.
        can: What the page may request.
        measures: Names of tape measures that can be taken.
        layers: Names of the layers that there are values of; all where empty.
        joints: Names of the joints that can be turned.
        joint_sliders: Sliders that move joints.
        check: What the check is doing.
    """
    body, report = scene.body, scene.report
    bases = scene.bases or (body.name,)
    shapes = page_shapes(report)
    source = report.body.source
    actions = {garment.key: report.actions(garment) for garment in report.garments}
    return About(
        life=life,
        made=report.made,
        versions=dict(report.versions),
        settings=bare_settings(report.settings),
        body=BodyAbout(
            name=body.name, file=bare_name(source.file), sha256=source.sha256, stature_m=number(body.stature)
        ),
        bases=tuple(bases),
        base=bases.index(body.name) if body.name in bases else 0,
        sliders=_sliders(body),
        garments=tuple(_garment(one, scene, shapes) for one in report.garments),
        layers=tuple(one for one in page_layers(bands=scene.bands) if not layers or one.name in layers),
        shapes=tuple(
            ShapeAbout(label=one.label, weights=tuple(numbers(one.weights)), severity=dict(one.severity))
            for one in shapes
        ),
        clusters=tuple(
            to_cluster(
                one,
                body.morph_names,
                scene.pictures.get(cluster_id(one.cluster), ""),
                actions=actions.get(one.cluster.garment, ()),
            )
            for one in page_clusters(report)
        ),
        shared=tuple(to_shared(one) for one in report.shared),
        actions=page_actions(report),
        charts={key: one.charts for key, one in scene.garments.items() if one.charts is not None},
        measures=tuple(measures),
        animations=tuple(
            AnimationAbout(name=name, duration_s=duration, count=count) for name, duration, count in scene.animations
        ),
        can=tuple(can),
        cautions=CAUTIONS,
        joints=tuple(joints),
        posed=_posed(scene),
        stances=tuple(StanceAbout(name=name, origin=origin) for name, origin in scene.stances),
        joint_sliders=tuple(_joint_slider(body, one) for one in joint_sliders),
        check=CheckAbout(state=check),
        failed=tuple(map(bare_failed, report.failed)),
    )


@dataclass(frozen=True)
class PageShape:
    """One set of weights that was checked.

    Attributes:
        label: Name shown to people.
        weights: (K,).
        severity: By garment key, of the garments that were checked there.
    """

    label: str
    weights: Weights
    severity: Mapping[str, str]


def page_shapes(report: CheckReport) -> tuple[PageShape, ...]:
    """Every shape at which any garment was checked, each set of weights once, in the order of the report.

    The worst shapes of two garments share a label and differ in their weights, so equal labels are distinguished by the
    largest weights.
    """
    found: dict[bytes, PageShape] = {}
    taken: dict[str, bytes] = {}
    morphs = tuple(report.body.intervals)
    for garment in report.garments:
        for row in garment.at_rest.rows:
            key = weights_key(row.faults.weights)
            known = found.get(key)
            label = known.label if known else _free_label(row, morphs, taken)
            taken[label] = key
            severity = {**(known.severity if known else {}), garment.key: row.faults.severity}
            found[key] = PageShape(label, row.faults.weights, severity)
    return tuple(found.values())


def _joint_slider(body: Body, slider: JointSlider) -> JointSliderAbout:
    """A slider that moves joints, with the place of the first of them."""
    place = np.zeros(3)
    if body.skeleton is not None:
        moved = slider.moved(body.skeleton)
        place = modelled_worlds(body.skeleton)[moved[0] if moved else 0, :3, 3]
    x, y, z = numbers(place)
    return JointSliderAbout(name=slider.name, low=slider.low, high=slider.high, position_m=(x, y, z))


def _posed(scene: PageScene) -> tuple[PosedShapeAbout, ...]:
    """What was found at the stances that are shown, the worst of each garment first."""
    numbers_of: dict[str, int | None] = {name: number for number, (name, _) in enumerate(scene.stances)}
    numbers_of[AS_MODELLED] = None
    sliders = [one.name for one in scene.body.joint_sliders]
    morphs = scene.body.morph_names
    found = []
    for garment in scene.report.garments:
        for row in garment.worst_first() if garment.rows else ():
            if row.stance not in numbers_of:
                continue
            fault = gravest_fault(row.faults)
            value, unit = fault_values(row.faults)[fault], reading_of(fault, 0.0)[1]
            is_clean = row.faults.severity == SEVERITIES[0]
            found.append(
                PosedShapeAbout(
                    garment=garment.key,
                    stance=numbers_of[row.stance],
                    label=row_words(row, morphs),
                    weights=tuple(numbers(row.faults.weights)),
                    joints=tuple(number(row.faults.joints.get(name, 0.0)) for name in sliders),
                    severity=row.faults.severity,
                    fault=fault,
                    words="" if is_clean else f"{FAULT_WORDS[fault]} {figure_words(value, unit)}",
                )
            )
    return tuple(found)


def weights_key(weights: Weights) -> bytes:
    """A key that is equal for equal shapes, apart from rounding."""
    # Adding 0.0 turns -0.0 into 0.0, which differs from it in its bytes only.
    return (np.round(np.asarray(weights, dtype=np.float64) / SAME_WEIGHT) + 0.0).tobytes()


def shape_index(shapes: Sequence[PageShape], weights: Weights) -> int | None:
    """Which of the shapes has these weights, or None."""
    key = weights_key(weights)
    return next((index for index, shape in enumerate(shapes) if weights_key(shape.weights) == key), None)


def verdict_line(garment: GarmentReport, morphs: Sequence[str]) -> str:
    """One line: how many shapes fail, which is worst, and by what."""
    rows = garment.rows
    if not rows:
        return "not checked yet"
    looked = "the one shape looked at" if len(rows) == 1 else f"all {len(rows)} shapes looked at"
    if garment.severity == SEVERITIES[0]:
        return f"clean at {looked}"
    worst = garment.worst_first()[0]
    fault = gravest_fault(worst.faults)
    if FAULT_OF[fault].is_constant:
        return base_sentences(worst.faults)[0]
    value, unit = fault_values(worst.faults)[fault], reading_of(fault, 0.0)[1]
    count = sum(row.faults.severity == garment.severity for row in rows)
    wrong = sum(row.faults.severity in SEVERITIES[2:] for row in rows)
    also = f" (moderate or worse at {wrong})" if wrong > count else ""
    words = row_words(worst, morphs)
    weights = words if words == worst.label or "=" in worst.label else words[len(worst.label) + 2 : -1]
    weights = f"{worst.stance}, {weights}" if worst.stance else weights
    return (
        f"{garment.severity} at {count} of {len(rows)} shapes{also}; at its worst ({weights}): "
        f"{FAULT_WORDS[fault]}, {figure_words(value, unit)}"
    )


def bare_name(path: str) -> str:
    """The name of a file without its folders, whichever system wrote the path."""
    return re.split(r"[\\/]", path)[-1]


def bare_failed(one: FailedGarment) -> FailedGarment:
    """A broken garment without the folders of its file."""
    name = bare_name(one.file)
    reason = one.reason.replace(one.file, name) if one.file else one.reason
    return structs.replace(one, file=name, reason=reason)


def bare_settings(settings: Mapping[str, object]) -> dict[str, Any]:
    """Settings without folders: of those that name a file, and of every absolute path."""
    return {
        name: bare_name(value) if name in FILE_SETTINGS and isinstance(value, str) else _bare(value)
        for name, value in settings.items()
    }


def _bare(value: object) -> object:
    if isinstance(value, str):
        return bare_name(value) if re.match(r"[\\/]|[A-Za-z]:[\\/]", value) else value
    if isinstance(value, Mapping):
        return {str(key): _bare(each) for key, each in value.items()}
    if isinstance(value, Sequence):
        return [_bare(each) for each in value]
    return value


def _free_label(row: ShapeRow, morphs: Sequence[str], taken: Mapping[str, bytes]) -> str:
    """The row's label, changed if it is already taken."""
    if row.label not in taken:
        return row.label
    label = words = shape_words(row, morphs)
    count = 2
    while label in taken:
        label, count = f"{words} #{count}", count + 1
    return label


def _sliders(body: Body) -> tuple[Slider, ...]:
    sliders = []
    for name, low, high, delta in zip(body.morph_names, body.range.low, body.range.high, body.deltas):
        moved = (delta**2).sum(axis=1)
        middle = moved @ body.vertices / moved.sum() if moved.any() else body.vertices.mean(axis=0)
        x, y, z = numbers(middle)
        sliders.append(Slider(name=name, low=float(low), high=float(high), position_m=(x, y, z)))
    return tuple(sliders)


def _garment(one: GarmentReport, scene: PageScene, shapes: Sequence[PageShape]) -> GarmentAbout:
    beside = scene.garments.get(one.key, PageGarment())
    return GarmentAbout(
        key=one.key,
        name=one.name,
        file=bare_name(one.source.file),
        sha256=one.source.sha256,
        vertices=one.vertices,
        triangles=one.triangles,
        parts=one.parts,
        severity=one.severity if one.rows else "",
        verdict=verdict_line(one, scene.body.morph_names),
        worst=shape_index(shapes, one.at_rest.worst_first()[0].faults.weights) if one.rows else None,
        method=one.method,
        ease=one.ease,
        colours=beside.colours,
        worn=beside.worn,
        notes=_notes(one, scene.body.morph_names),
        variant_of=beside.variant_of,
        variant=beside.variant,
        revision=beside.revision,
        settings=beside.settings,
    )


def _notes(one: GarmentReport, morphs: Sequence[str]) -> tuple[str, ...]:
    """What is wrong before anything moves, what layers do, and what was untidy in the file."""
    if not one.rows:
        return one.notes
    return (*base_sentences(one.rows[0].faults), *map(str.strip, garment_lines(one, morphs)), *one.notes)
