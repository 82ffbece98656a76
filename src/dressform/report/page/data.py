"""The first data the page gets: body, sliders, garments with their verdicts, clusters, layers and charts.

The same About stands in the live page and in the report. It holds names of files, never their folders.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from dressform.body.body import Body
from dressform.body.stances.sliders import JointSlider
from dressform.faults.severity import DEFAULT_BANDS, Bands
from dressform.formats.results.check_json import to_shared
from dressform.formats.results.check_report import CheckReport
from dressform.formats.results.page.about import Ability, About, BodyAbout, CheckAbout, CheckState, Life, ShapeAbout
from dressform.formats.results.page.stances import AnimationAbout, StanceAbout
from dressform.report.page.bare import bare_failed, bare_name, bare_settings
from dressform.report.page.clusters import cluster_id, page_actions, page_clusters, to_cluster
from dressform.report.page.garments import PageGarment, page_garment
from dressform.report.page.layers import page_layers
from dressform.report.page.shapes import page_shapes
from dressform.report.page.sliders import page_joint_slider, page_sliders
from dressform.report.page.stances import page_posed
from dressform.units import number, numbers

LIVE: Final = "live"

REPORT: Final = "report"

CAUTIONS = (
    "Body measurements are personal data: pass this page on only to those who may know them.",
    "Tape measures are computed by the definitions of ISO 8559-1 on a mesh. They are no medical and no "
    "made-to-measure statement.",
)


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
        sliders=page_sliders(body),
        garments=tuple(
            page_garment(one, scene.garments.get(one.key, PageGarment()), shapes, body.morph_names)
            for one in report.garments
        ),
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
        posed=page_posed(report, body, [name for name, _ in scene.stances]),
        stances=tuple(StanceAbout(name=name, origin=origin) for name, origin in scene.stances),
        joint_sliders=tuple(page_joint_slider(body, one) for one in joint_sliders),
        check=CheckAbout(state=check),
        failed=tuple(map(bare_failed, report.failed)),
    )
