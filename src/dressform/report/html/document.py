"""The HTML of a report, from its template."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from markupsafe import Markup
from msgspec import structs

from dressform.faults.results import SEVERITIES
from dressform.formats.results.check_report import CheckReport
from dressform.formats.results.page.about import About
from dressform.formats.results.page.places import ActionAbout, ClusterAbout
from dressform.report.html.chart_tables import cells_of, chart_tables, telling
from dressform.report.html.parts import GarmentSection
from dressform.report.html.pictures import CLUSTER_SIZE, Key
from dressform.report.html.shared import shared_lines
from dressform.report.html.stances import StanceSection
from dressform.report.html.templates import environment
from dressform.report.html.whole import page_file, policy, report_style
from dressform.report.tables.actions import ACTIONS_SHOWN
from dressform.report.tables.check import summary_table

GLOSSARY_BESIDE = "glossary-beside-this-report"
"""Stands in the HTML for the address of the glossary, which is known when the report is written."""
PACK_TYPE = "application/x-dressform-pack"
PAGE = "page"
VIEW_WORDS = {
    "front": "front",
    "side": "side",
    "back": "back",
    "worst": "worst shape",
    "layers-below": "what is worn under it comes through",
}
LIVE_WORDS = (
    "Set any shape with the sliders; the clothes follow by their own morph targets. Colours are stored at the base, at "
    "each garment's worst shape and at that of each place above; elsewhere the nearest of these is shown, and said."
)
PRINTED_WORDS = (
    "On paper: the four gravest places of each garment and the first lines of each table. The file that this was "
    "printed from holds all of them."
)
NO_SCRIPT = "This part needs a script, which this browser does not run. Everything above and below is whole without it."
NO_NETWORK = "This file holds everything it shows; it asks no network for anything."


def document(
    told: About,
    found: CheckReport,
    parts: Mapping[str, GarmentSection],
    close: Mapping[str, str],
    sources: Mapping[str, str],
    packs: Sequence[tuple[str, str]],
    posed: Sequence[StanceSection],
) -> str:
    """The whole file.

    Args:
        told: What the page is told.
        found: The check.
        parts: The part of every garment, by its key.
        close: File of the picture from near, by cluster.
        sources: Pictures as addresses, by file.
        packs: Arrays in the file, each with its kind.
        posed: What is said at stances.
    """
    script, style = page_file("page.js"), page_file("page.css") + report_style()
    ranked = {garment.key: rank for rank, garment in enumerate(found.worst_first())}
    told = structs.replace(told, garments=tuple(sorted(told.garments, key=lambda one: ranked[one.key])))
    files = [(told.body.file, told.body.sha256), *((one.file, one.sha256) for one in told.garments)]
    return (
        environment()
        .get_template("report.html")
        .render(
            about=told,
            garments=told.garments,
            parts=parts,
            close=close,
            sources=sources,
            keys={name: keys for part in parts.values() for name, keys in part.keys.items()},
            firsts=_firsts(told, parts),
            shared=shared_lines(told.shared, {one.key: one.name for one in told.garments}),
            summary=telling(cells_of(summary_table(found))),
            places=_places(told, close),
            stances=posed,
            charts=chart_tables(told),
            files=list(dict.fromkeys(files)),
            notes=[(one.name, note) for one in told.garments for note in one.notes],
            packs=[(kind, Markup(pack)) for kind, pack in packs],
            script=Markup(script),
            style=Markup(style),
            policy=policy(style, script),
            view_words=VIEW_WORDS,
            cluster_size=CLUSTER_SIZE,
            pack_type=PACK_TYPE,
            live_words=LIVE_WORDS,
            printed_words=PRINTED_WORDS,
            garment_keys=_garment_keys,
            no_script=NO_SCRIPT,
            no_network=NO_NETWORK,
            glossary=GLOSSARY_BESIDE,
        )
    )


@dataclass(frozen=True)
class _Places:
    """A garment's actions, those before the fold and the rest, and its clusters with a picture and without."""

    name: str
    actions: list[ActionAbout]
    more: list[ActionAbout]
    near: list[ClusterAbout]
    far: list[ClusterAbout]


def _garment_keys(part: GarmentSection, keys: Mapping[str, Sequence[Key]]) -> list[Key]:
    """What the colours of a garment's first pictures mean, each scale once."""
    files = [part.clusters[part.near]] if part.near in part.clusters else []
    return list(dict.fromkeys(key for file in [*files, *part.views.values()] for key in keys.get(file, ())))


def _firsts(told: About, parts: Mapping[str, GarmentSection]) -> dict[str, ClusterAbout]:
    """The gravest place of each garment that has one, by the garment's key."""
    return {
        one.garment: one
        for one in told.clusters
        if one.garment in parts and one.name == parts[one.garment].near and one.name in parts[one.garment].clusters
    }


def _places(told: About, close: Mapping[str, str]) -> list[_Places]:
    """Every place by garment, the gravest first."""
    groups = []
    for garment in told.garments:
        mine = [one for one in told.clusters if one.garment == garment.key]
        mine.sort(key=lambda one: gravity(one.place.severity, one.name))
        if mine:
            near, far = [one for one in mine if one.id in close], [one for one in mine if one.id not in close]
            todo = [one for one in told.actions if one.garment == garment.key]
            groups.append(_Places(garment.name, todo[:ACTIONS_SHOWN], todo[ACTIONS_SHOWN:], near, far))
    return groups


def gravity(severity: str, name: str) -> tuple[int, int, str]:
    """Sort key of one garment's places: the gravest first, among equals the least number."""
    return -SEVERITIES.index(severity), len(name), name
