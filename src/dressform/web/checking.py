"""The check in the background: faults over the range, their causes, and charts, each reported when it is ready."""

import base64
import time
from collections.abc import Iterator, Sequence
from dataclasses import replace

from dressform.arrays import Weights
from dressform.body.shapes import ShapeSettings, shape_at_base
from dressform.body.stance import Stance
from dressform.causes.results import Causes
from dressform.faults.results import ShapeFaults
from dressform.formats.results.check_report import ShapeRow
from dressform.formats.results.page.charts import GarmentCharts
from dressform.jobs.check import check
from dressform.jobs.check_result import CheckResult
from dressform.jobs.explain.explain import explain
from dressform.jobs.progress import Progress
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.nearest import signed_clearance
from dressform.mesh.tree import Tree
from dressform.report.html.pictures import cluster_view, plain_look, posed_cluster_view, webp
from dressform.report.page.charts import Clearances, Spread, garment_charts, missing_slider_shapes
from dressform.report.page.clusters import cluster_id
from dressform.units import MM_PER_M
from dressform.web.about import Findings, Looked
from dressform.web.fitted_garments import FittedGarment
from dressform.web.session import Session
from dressform.web.shapes import look_of
from dressform.web.workers import BackgroundJob

MAX_PICTURES = 24
AT_STANCES = ShapeSettings(ends=False, strongest=0, sobol=0)
"""Shapes that are looked at in every stance, beside the worst corners: the base alone."""
PAUSE = 0.05
STAGES = {"measuring": "Looking at every shape", "finding causes": "Looking for causes"}
"""What a page is told of the stages of a job."""
QUIET_AFTER = 0.3
"""Seconds since the last shape that a page asked for, after which the background goes on: sliders come first."""


def check_all(session: Session, base_index: int, settings: ShapeSettings, job: BackgroundJob) -> Iterator[Findings]:
    """Check every garment over the range; yields the results so far whenever there are more.

    First the faults of every garment as it follows, then their causes, then charts, then faults at stances, then the
    faults of repaired variants.

    Raises:
        Cancelled: the job was called off.
    """
    plain = [session.fitted(base_index, one.key, job) for one in session.variants if not one.repaired]
    result = _checked(session, plain, settings, job)
    plain = _sound(plain, result)
    found = Findings(result.made, base_index, _looked_at(plain, result), failed=result.failed)
    yield found
    result = explain(result, progress=_giving_way(session, job))
    found = replace(found, causes=result.causes)
    yield found
    found = replace(found, pictures=_pictures(session, plain, found.causes, job))
    yield found
    charts: dict[str, GarmentCharts] = {}
    for number, one in enumerate(plain):
        job.step(number, len(plain), f"Charting {one.variant.name}")
        charts[one.variant.key] = _charts(session, one, found.garments[one.variant.key].rows, job)
    found = replace(found, charts=charts)
    yield found
    posed = [one for one in plain if one.poser is not None]
    if posed and session.stances(session.base(base_index)):
        at_stances = _looked_at(posed, _checked(session, posed, AT_STANCES, job, session.stances(posed[0].base)))
        for key, there in at_stances.items():
            known = found.garments[key]
            rows = (*known.rows, *(row for row in there.rows if row.stance))
            found = replace(found, garments={**found.garments, key: replace(known, rows=rows)})
        yield found
    repaired = [session.fitted(base_index, one.key, job) for one in session.variants if one.repaired]
    if repaired:
        again = _checked(session, repaired, settings, job)
        looked = _looked_at(_sound(repaired, again), again)
        failed = (*found.failed, *again.failed)
        yield replace(found, made=again.made, garments={**found.garments, **looked}, failed=failed)


def _sound(fitted: list[FittedGarment], result: CheckResult) -> list[FittedGarment]:
    """Those that could be measured."""
    return [one for one in fitted if one.variant.key in result.fits]


def _checked(
    session: Session,
    fitted: list[FittedGarment],
    settings: ShapeSettings,
    job: BackgroundJob,
    stances: Sequence[Stance] = (),
) -> CheckResult:
    """Every fault of garments on the shapes that are worth looking at, in this thread."""
    job.step(0, 0, "Choosing shapes")
    fits = {one.variant.key: one.fit for one in fitted}
    step = _giving_way(session, job)
    return check(
        fits,
        shapes=settings,
        stances=stances,
        bands=session.opened.bands,
        causes=False,
        wardrobe=session.wardrobe(fitted[0].base),
        progress=step,
    )


def _giving_way(session: Session, job: BackgroundJob) -> Progress:
    """Progress that waits while a slider is moved."""

    def step(done: int, of: int, words: str) -> None:
        told = STAGES.get(words, words)
        job.step(done, of, told)
        while session.is_busy(QUIET_AFTER):
            time.sleep(PAUSE)
            job.step(done, of, told)

    return step


def _pictures(
    session: Session, fitted: list[FittedGarment], causes: Causes | None, job: BackgroundJob
) -> dict[str, str]:
    """A close-up of the clusters that are noticed most, as data URIs by the cluster's id."""
    by_key = {one.variant.key: one for one in fitted}
    explained = [one for found in (causes.of_garment if causes else {}).values() for one in found]
    shown = sorted(explained, key=lambda one: -one.cluster.noticed)[:MAX_PICTURES]
    step = _giving_way(session, job)
    pictures = {}
    for number, one in enumerate(shown):
        step(number, len(shown), "Drawing places")
        on = by_key[one.cluster.garment]
        look = look_of(session, on) or plain_look(on.fit)
        if one.cluster.worst.stance is None:
            fields = on.check.fields(one.cluster.worst.weights)
            image, _ = cluster_view(on.base.body, on.fit, look, one, fields, bands=on.check.bands)
        else:
            image, _ = posed_cluster_view(on.check, look, one)
        pictures[cluster_id(one.cluster)] = f"data:image/webp;base64,{base64.b64encode(webp(image)).decode('ascii')}"
    return pictures


def _charts(session: Session, fitted: FittedGarment, rows: tuple[ShapeRow, ...], job: BackgroundJob) -> GarmentCharts:
    """The charts of one garment, with the shapes along each slider that were not measured yet."""
    box = fitted.base.body.range
    found: list[ShapeFaults] = [row.faults for row in rows]
    step = _giving_way(session, job)
    missing = missing_slider_shapes(box, [one.weights for one in found])
    for number, shape in enumerate(missing):
        step(number, len(missing), f"Charting {fitted.variant.name}")
        found.append(fitted.check.measure(shape.weights))
    worst = max(rows, key=lambda row: row.badness).faults
    clearances = Clearances(base=_spread(fitted, shape_at_base(box).weights), worst=_spread(fitted, worst.weights))
    return garment_charts(box, found, worst=worst, clearances=clearances)


def _spread(fitted: FittedGarment, weights: Weights) -> Spread:
    body, garment = fitted.base.body, fitted.fit.garment
    clearance = signed_clearance(Tree(body.at(weights), body.faces), fitted.fit.at(weights))[0]
    return Spread(clearance * MM_PER_M, vertex_areas(garment.vertices, garment.faces))


def _looked_at(fitted: list[FittedGarment], result: CheckResult) -> dict[str, Looked]:
    """The results of each garment, by its key."""
    swept = result.swept
    return {
        one.variant.key: Looked(
            tuple(ShapeRow(row.label, row.faults, row.seconds) for row in swept.of(one.variant.key)),
            one.revision,
            one.seconds,
            swept.prepare_seconds[one.variant.key],
        )
        for one in fitted
    }
