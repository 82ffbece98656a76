"""The About of a live page: the content of the report, and data that only a running program has."""

from dataclasses import dataclass, field, replace
from typing import Final

from dressform.body.measure import MEASURE_NAMES
from dressform.causes.results import Causes
from dressform.formats.results.check_report import CheckReport, GarmentReport, ShapeRow
from dressform.formats.results.failed import FailedGarment
from dressform.formats.results.page.about import Ability, About, CheckState
from dressform.formats.results.page.charts import GarmentCharts
from dressform.formats.results.record import plain
from dressform.jobs.check_report import body_report
from dressform.report.page.data import LIVE, PageScene, about
from dressform.report.page.garments import PageGarment
from dressform.web.fitted_garments import Variant
from dressform.web.following import page_settings
from dressform.web.session import Session

MAX_WORN = 6
"""Of more garments than these only the first is worn when the page opens: nobody wears a whole wardrobe."""
RUNNING: Final = "running"
DONE: Final = "done"
STOPPED: Final = "stopped"
FAILED: Final = "failed"
NONE: Final = "none"


@dataclass(frozen=True)
class Looked:
    """What a check has found of one garment.

    Attributes:
        rows: Every shape that it was looked at; at least one.
        revision: Which revision of it that was.
        setup_seconds: What fitting it took.
        prepare_seconds: What the check prepared once.
    """

    rows: tuple[ShapeRow, ...]
    revision: int
    setup_seconds: float
    prepare_seconds: float


@dataclass(frozen=True)
class Findings:
    """What a check of everything has found.

    Attributes:
        made: When it ended, ISO 8601.
        base: Base body that was checked.
        garments: By key of a variant.
        causes: Why, or None where that was not sought.
        charts: By key.
        pictures: A picture of each cluster as a data URI, by its id.
        failed: Garments that could not be fitted or measured.
    """

    made: str
    base: int
    garments: dict[str, Looked]
    causes: Causes | None = None
    charts: dict[str, GarmentCharts] = field(default_factory=dict)
    pictures: dict[str, str] = field(default_factory=dict)
    failed: tuple[FailedGarment, ...] = ()

    def of(self, session: Session) -> "Findings":
        """The results that are still valid; those from before an edit are left out."""
        now = {variant.key: session.revision(variant) for variant in session.variants}
        kept = {key: one for key, one in self.garments.items() if now.get(key) == one.revision}
        causes = self.causes
        if causes is not None:
            explained = {key: found for key, found in causes.of_garment.items() if key in kept}
            shared = tuple(place for place in causes.shared if all(key in kept for key, _ in place.clusters))
            causes = replace(causes, of_garment=explained, shared=shared)
        charts = {key: found for key, found in self.charts.items() if key in kept}
        return replace(self, garments=kept, causes=causes, charts=charts)


def live_about(session: Session, findings: Findings | None, check: CheckState) -> About:
    """The first data the page gets.

    Args:
        session: The run.
        findings: What was found, or None before the first check has ended.
        check: State of the check.
    """
    variants = session.variants
    findings = Findings("", session.opened.base, {}) if findings is None else findings.of(session)
    base = session.bases[findings.base]
    scene = PageScene(
        body=base.body,
        report=_report(session, findings, variants),
        garments={variant.key: _beside(session, variant, variants, findings) for variant in variants},
        bases=tuple(each.body.name for each in session.bases),
        animations=tuple((one.name, one.duration, len(one.times)) for one in session.animations(base)),
        stances=tuple((one.name, one.origin) for one in session.poses(base)),
        pictures=findings.pictures,
        bands=session.opened.bands,
    )
    skeleton = base.body.skeleton
    return about(
        scene,
        life=LIVE,
        can=_abilities(session),
        measures=MEASURE_NAMES,
        joints=() if skeleton is None else skeleton.names,
        joint_sliders=base.body.joint_sliders,
        check=check,
    )


def found_report(session: Session, findings: Findings | None) -> CheckReport:
    """What was found of garments as they are now; those that were not checked are left out."""
    kept = Findings("", session.opened.base, {}) if findings is None else findings.of(session)
    return _report(session, kept, tuple(one for one in session.variants if one.key in kept.garments))


def _report(session: Session, findings: Findings, variants: tuple[Variant, ...]) -> CheckReport:
    """The findings as a report; garments that were not checked have no rows."""
    opened, body = session.opened, session.bases[findings.base].body
    edited = {name: plain(page_settings(session.edited()[name])) for name in session.files if session.revision_of(name)}
    report = CheckReport(
        made=findings.made,
        versions=opened.versions,
        settings={**opened.settings, **({"edited": edited} if edited else {})},
        body=body_report(body, opened.sources[""]),
        garments=tuple(_garment(session, findings, variant) for variant in variants),
        seconds=float(sum(row.seconds for looked in findings.garments.values() for row in looked.rows)),
        failed=(*opened.failed, *findings.failed),
    )
    return report if findings.causes is None else report.with_causes(findings.causes)


def _garment(session: Session, findings: Findings, variant: Variant) -> GarmentReport:
    looked = findings.garments.get(variant.key, Looked((), 0, 0.0, 0.0))
    worn = session.made(findings.base, variant.key)
    garment = session.files[variant.name].garment if worn is None else worn.fit.garment
    return _Keyed(
        name=variant.name,
        source=session.opened.sources[variant.name],
        method=variant.method,
        ease=session.following(variant).ease,
        vertices=len(garment.vertices),
        triangles=len(garment.faces),
        parts=garment.part_names,
        setup_seconds=looked.setup_seconds,
        prepare_seconds=looked.prepare_seconds,
        rows=looked.rows,
        notes=garment.notes,
        variant=variant,
    )


@dataclass(frozen=True, kw_only=True)
class _Keyed(GarmentReport):
    """A garment's report under the key of the variant that it is about."""

    variant: Variant

    @property
    def key(self) -> str:
        """Key of the variant."""
        return self.variant.key


def _beside(session: Session, variant: Variant, variants: tuple[Variant, ...], findings: Findings) -> PageGarment:
    """Whether it is worn when the page opens, its charts, how it follows, and of which garment it is a variant."""
    first = next(one for one in variants if one.name == variant.name)
    names = list(dict.fromkeys(one.name for one in variants))
    worn = variant == first and (len(names) <= MAX_WORN or variant.name == names[0])
    return PageGarment(
        worn=worn,
        charts=findings.charts.get(variant.key),
        variant_of="" if variant == first else first.key,
        variant=variant.words,
        revision=session.revision(variant),
        settings=page_settings(session.following(variant)),
    )


def _abilities(session: Session) -> list[Ability]:
    opened = session.opened
    can: list[Ability] = ["edit", "fit", "measure", "tape"]
    can += ["pose"] if session.bases[opened.base].body.skeleton is not None else []
    can += ["export"] if opened.out is not None else []
    can += ["case"] if opened.cases is not None else []
    return can + (["save"] if opened.settings_file is not None else [])
