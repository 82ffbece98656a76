"""The report: one HTML file that can be mailed and opened offline, and its pictures as PNGs."""

import base64
import hashlib
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from urllib.parse import quote

from markupsafe import Markup
from msgspec import structs

from dressform.body.body import Body
from dressform.body.stance import Stance
from dressform.causes.results import Explanation
from dressform.errors import MatchError
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.results import SEVERITIES
from dressform.faults.severity import DEFAULT_BANDS, Bands
from dressform.faults.wardrobe import Wardrobe, plain_wardrobe
from dressform.formats.out_folder import whole_folder
from dressform.formats.results.check_report import CheckReport
from dressform.formats.results.page.about import About
from dressform.formats.results.page.places import ActionAbout, ClusterAbout
from dressform.report.html.chart_tables import cells_of, chart_tables, telling
from dressform.report.html.packs import body_pack, inlined
from dressform.report.html.parts import Bench, GarmentSection, ReportGarment, make_part, slug
from dressform.report.html.pictures import CLUSTER_SIZE, Key, webp
from dressform.report.html.shared import shared_lines
from dressform.report.html.stances import StanceSection, stance_section
from dressform.report.html.templates import environment
from dressform.report.page.clusters import cluster_id, page_clusters
from dressform.report.page.data import REPORT, PageScene, about
from dressform.report.page.garments import PageGarment
from dressform.report.page.layers import body_rigid_patches, page_layers
from dressform.report.page.pack import about_pack
from dressform.report.page.shapes import page_shapes
from dressform.report.pictures.picture import save_png
from dressform.report.pictures.raster import Image
from dressform.report.tables.actions import ACTIONS_SHOWN
from dressform.report.tables.check import summary_table
from dressform.report.triage.glossary import GLOSSARY, glossary_page

Progress = Callable[[int, int], None]
"""Called with the number of garments that are done and the number of all."""

PICTURES = "-pictures"
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


@dataclass(frozen=True)
class Report:
    """A report, ready to be written.

    Attributes:
        html: The one file.
        pictures: The same pictures, by the name of a PNG beside it.
    """

    html: str
    pictures: Mapping[str, Image]


def make_report(
    body: Body,
    found: CheckReport,
    worn: Mapping[str, ReportGarment],
    *,
    bands: Bands = DEFAULT_BANDS,
    workers: int = 1,
    progress: Progress | None = None,
    wardrobe: Wardrobe[GarmentOnBody] | None = None,
    stances: Sequence[Stance] = (),
) -> Report:
    """The report of a check.

    Args:
        body: The body that the garments were checked on.
        found: What the check found, causes included where they were sought.
        worn: The garments, by `GarmentReport.key`.
        bands: The bands of the check.
        workers: Garments that are drawn and measured at the same time.
        progress: Called after each garment.
        wardrobe: Garments that are already prepared, with the same bands.
        stances: The stances of the check.

    Raises:
        MatchError: a garment of the check is not among `worn`.
    """
    missing = [garment.key for garment in found.garments if garment.key not in worn]
    if missing:
        raise MatchError(
            f"make_report: `worn` must hold every garment of the check, got none for {missing[0]!r}. "
            "Give its fit as well."
        )
    wardrobe = wardrobe or plain_wardrobe(bands=bands)
    bench = Bench(body, page_shapes(found), body_rigid_patches(body), page_layers(bands=bands), wardrobe)
    causes = page_clusters(found)
    parts = _make_parts(bench, found, worn, causes, workers, progress)
    images = {name: image for part in parts.values() for name, image in part.pictures.items()}
    posed = _posed(found, worn, wardrobe, stances)
    images |= {name: image for section in posed for name, image in section.images.items()}
    sources = {name: _data_uri(webp(image)) for name, image in images.items()}
    close = {
        cluster_id(one.cluster): parts[one.cluster.garment].clusters[one.cluster.name]
        for one in causes
        if one.cluster.name in parts[one.cluster.garment].clusters
    }
    first = found.worst_first()[0].key  # the others are put on by hand: they may be versions of one garment
    beside = {key: PageGarment(part.colours, key == first, part.charts) for key, part in parts.items()}
    pictured = {cluster: sources[name] for cluster, name in close.items()}
    scene = PageScene(body, found, garments=beside, pictures=pictured, bands=bands)
    told = about(scene, life=REPORT, layers=sorted({name for part in parts.values() for name in part.layers}))
    packs = [("about", inlined(about_pack(told))), ("body", inlined(body_pack(body)))]
    packs += [pack for part in parts.values() for pack in part.packs]
    return Report(_document(told, found, parts, close, sources, packs, posed), images)


def write_report(report: Report, path: Path) -> Path:
    """Write the HTML to `path`, and its pictures into a folder beside it, whose path is returned.

    Raises:
        FileError: the file system refuses; nothing is left half-written.
    """
    folder = path.with_name(f"{path.stem}{PICTURES}")
    with whole_folder(path.parent) as partial:
        (partial / folder.name).mkdir()
        for name, image in report.pictures.items():
            save_png(image, partial / folder.name / name)
        (partial / folder.name / GLOSSARY).write_text(glossary_page(), encoding="utf-8")
        html = report.html.replace(GLOSSARY_BESIDE, quote(f"{folder.name}/{GLOSSARY}"))
        (partial / path.name).write_text(html, encoding="utf-8")
    return folder


def _make_parts(
    bench: Bench,
    found: CheckReport,
    worn: Mapping[str, ReportGarment],
    causes: Sequence[Explanation],
    workers: int,
    progress: Progress | None,
) -> dict[str, GarmentSection]:
    """The part of every garment; the loops that draw and measure hold no lock, so threads share them."""
    parts = {}
    with ThreadPoolExecutor(workers) as threads:
        waiting = {
            garment.key: threads.submit(
                make_part,
                bench,
                number,
                garment.at_rest,
                worn[garment.key],
                sorted(
                    (one for one in causes if one.cluster.garment == garment.key),
                    key=lambda one: _gravity(one.cluster.worst.place.severity, one.cluster.name),
                ),
            )
            for number, garment in enumerate(found.worst_first(), start=1)
        }
        try:
            for done, (key, one) in enumerate(waiting.items(), start=1):
                parts[key] = one.result()
                if progress is not None:
                    progress(done, len(waiting))
        except BaseException:
            threads.shutdown(cancel_futures=True)
            raise
    return parts


def _posed(
    found: CheckReport, worn: Mapping[str, ReportGarment], wardrobe: Wardrobe[GarmentOnBody], stances: Sequence[Stance]
) -> list[StanceSection]:
    """What is said of each garment that was looked at at stances."""
    by_name = {stance.pose: stance for stance in stances}
    return [
        stance_section(
            garment,
            wardrobe.worn(worn[garment.key].fit),
            worn[garment.key].look,
            by_name,
            stem=f"{number:02d}-{slug(garment.name)}",
        )
        for number, garment in enumerate(found.worst_first(), start=1)
        if garment.stances
    ]


def _gravity(severity: str, name: str) -> tuple[int, int, str]:
    """Sort key of one garment's places: the gravest first, among equals the least number."""
    return -SEVERITIES.index(severity), len(name), name


def _document(
    told: About,
    found: CheckReport,
    parts: Mapping[str, GarmentSection],
    close: Mapping[str, str],
    sources: Mapping[str, str],
    packs: Sequence[tuple[str, str]],
    posed: Sequence[StanceSection],
) -> str:
    """The whole file."""
    script, style = _page_file("page.js"), _page_file("page.css") + _own_style()
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
            policy=_policy(script, style),
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
        mine.sort(key=lambda one: _gravity(one.place.severity, one.name))
        if mine:
            near, far = [one for one in mine if one.id in close], [one for one in mine if one.id not in close]
            todo = [one for one in told.actions if one.garment == garment.key]
            groups.append(_Places(garment.name, todo[:ACTIONS_SHOWN], todo[ACTIONS_SHOWN:], near, far))
    return groups


def _policy(script: str, style: str) -> str:
    """The content security policy: nothing is loaded, and only the script and style in this file are used."""
    return "; ".join(
        [
            "default-src 'none'",
            f"script-src {_digest(script)}",
            f"style-src {_digest(style)}",
            "img-src data: blob:",
            "base-uri 'none'",
            "form-action 'none'",
        ]
    )


def _digest(content: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(content.encode()).digest()).decode()}'"


def _page_file(name: str) -> str:
    """A built file of the page."""
    return files("dressform.report").joinpath(PAGE, name).read_text(encoding="utf-8")


def _own_style() -> str:
    """The style of the static part."""
    return files("dressform.report.html").joinpath("report.css").read_text(encoding="utf-8")


def _data_uri(picture: bytes) -> str:
    return f"data:image/webp;base64,{base64.b64encode(picture).decode('ascii')}"
