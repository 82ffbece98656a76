"""The About of a live page: what the report says, and what only a running program knows."""

from dataclasses import dataclass, field, replace
from typing import Any

from dressform.body.measure import MEASURE_NAMES
from dressform.causes.results import Causes
from dressform.report.check_report import BodyReport, CheckReport, GarmentReport, ShapeRow
from dressform.report.page_data import LIVE, PageGarment, PageScene, about
from dressform.web.session import Session
from dressform.web.worn import Variant

RUNNING, DONE, STOPPED, FAILED, NONE = "running", "done", "stopped", "failed", "none"


@dataclass(frozen=True)
class Findings:
    """What a check of everything has found.

    Attributes:
        made: When it ended, ISO 8601.
        base: Base shape that was checked.
        rows: By key of a variant, every shape that it was looked at.
        revisions: By key, the revision that was checked: what was found of an earlier one is not told.
        causes: Why, or None where that was not sought.
        charts: By key, see `report.page_charts`.
        pictures: A picture of each cluster as a data URI, by its id.
    """

    made: str
    base: int
    rows: dict[str, tuple[ShapeRow, ...]]
    revisions: dict[str, int]
    causes: Causes | None = None
    charts: dict[str, dict[str, Any]] = field(default_factory=dict)
    pictures: dict[str, str] = field(default_factory=dict)

    def of(self, session: Session) -> "Findings":
        """What still holds: garments that were edited since are left out."""
        now = {variant.key: session.revision(variant) for variant in session.variants}
        kept = {key for key, revision in self.revisions.items() if now.get(key) == revision}
        causes = self.causes
        if causes is not None:
            explained = {key: found for key, found in causes.of_garment.items() if key in kept}
            shared = tuple(place for place in causes.shared if kept.issuperset(key for key, _ in place.clusters))
            causes = replace(causes, of_garment=explained, shared=shared)
        rows = {key: found for key, found in self.rows.items() if key in kept}
        charts = {key: found for key, found in self.charts.items() if key in kept}
        return replace(self, rows=rows, causes=causes, charts=charts)


def live_about(session: Session, findings: Findings | None, check: dict[str, Any]) -> dict[str, Any]:
    """Everything that the page is told first.

    Args:
        session: The run.
        findings: What was found, or None before the first check has ended.
        check: State of the check.
    """
    findings = None if findings is None else findings.of(session)
    base = session.bases[session.opened.base if findings is None else findings.base]
    scene = PageScene(
        body=base.body,
        report=_report(session, findings, base_index=session.bases.index(base)),
        garments={variant.key: _beside(session, variant, findings) for variant in session.variants},
        bases=tuple(each.body.name for each in session.bases),
        animations=tuple((one.name, one.duration, len(one.times)) for one in session.animations(base)),
        pictures={} if findings is None else findings.pictures,
        bands=session.opened.bands,
    )
    skeleton = base.body.skeleton
    told = about(scene, life=LIVE, can=_abilities(session), measures=MEASURE_NAMES)
    told["garments"] = [
        {**garment, **_live(session, variant)} for garment, variant in zip(told["garments"], session.variants)
    ]
    return {**told, "joints": [] if skeleton is None else list(skeleton.names), "check": check}


def found_report(session: Session, findings: Findings | None) -> CheckReport:
    """What was found of garments as they are now; those that were not checked are left out."""
    if findings is not None:
        findings = findings.of(session)
    base = session.opened.base if findings is None else findings.base
    report = _report(session, findings, base_index=base)
    return replace(report, garments=tuple(one for one in report.garments if one.rows))


def _report(session: Session, findings: Findings | None, *, base_index: int) -> CheckReport:
    """The findings as a report; garments that were not checked have no rows."""
    opened, body = session.opened, session.bases[base_index].body
    garments = []
    for variant in session.variants:
        worn = session.made(base_index, variant.key)
        garment = session.files[variant.name].garment if worn is None else worn.fit.garment
        garments.append(
            _Keyed(
                name=variant.name,
                source=opened.sources[variant.name],
                way=variant.way,
                ease=session.following(variant).ease,
                vertices=len(garment.vertices),
                triangles=len(garment.faces),
                parts=garment.part_names,
                setup_seconds=0.0,
                prepare_seconds=0.0,
                rows=() if findings is None else findings.rows.get(variant.key, ()),
                notes=garment.notes,
                variant=variant,
            )
        )
    return CheckReport(
        made="" if findings is None else findings.made,
        versions=opened.versions,
        settings=opened.settings,
        body=BodyReport(
            name=body.name,
            source=opened.sources[""],
            vertices=len(body.vertices),
            triangles=len(body.faces),
            stature=body.stature,
            intervals={
                name: (float(low), float(high))
                for name, low, high in zip(body.morph_names, body.range.low, body.range.high)
            },
            notes=body.notes,
        ),
        garments=tuple(garments),
        seconds=0.0,
        causes=None if findings is None else findings.causes,
    )


@dataclass(frozen=True, kw_only=True)
class _Keyed(GarmentReport):
    """A garment's report under the key of the variant that it is about."""

    variant: Variant

    @property
    def key(self) -> str:
        """Key of the variant."""
        return self.variant.key


def _beside(session: Session, variant: Variant, findings: Findings | None) -> PageGarment:
    first = next(one for one in session.variants if one.name == variant.name)
    charts = {} if findings is None else findings.charts.get(variant.key, {})
    return PageGarment(worn=variant == first, charts=charts, variant_of="" if variant == first else first.key)


def _live(session: Session, variant: Variant) -> dict[str, Any]:
    return {
        "revision": session.revision(variant),
        "settings": session.following(variant).told(),
        "variant": variant.words,
    }


def _abilities(session: Session) -> list[str]:
    opened = session.opened
    can = ["edit", "fit", "measure", "tape"]
    can += ["pose"] if session.bases[opened.base].body.skeleton is not None else []
    can += ["export"] if opened.out is not None else []
    can += ["case"] if opened.cases is not None else []
    return can + (["save"] if opened.settings_file is not None else [])
