"""The report: one HTML file that can be mailed and opened without a network, and its pictures as PNGs."""

import base64
import hashlib
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from typing import Any

from dressform.body.body import Body
from dressform.causes.results import Explanation
from dressform.errors import MatchError
from dressform.faults.check import DEFAULT_BANDS
from dressform.faults.severity import Bands
from dressform.formats.out_folder import whole_folder
from dressform.formats.results.check_report import CheckReport
from dressform.report.html.packs import about_pack, body_pack, inlined
from dressform.report.html.parts import Bench, Part, Worn, make_part
from dressform.report.html.pictures import webp
from dressform.report.html.sections import (
    cautions_of,
    charts_of,
    grounds_of,
    head_of_report,
    places_of,
    table_of,
    verdict_of,
)
from dressform.report.html.tags import Html, joined, tag
from dressform.report.page.clusters import cluster_id, page_clusters
from dressform.report.page.data import REPORT, PageGarment, PageScene, about, page_shapes
from dressform.report.page.layers import body_rigid_patches, page_layers
from dressform.report.pictures.picture import save_png
from dressform.report.pictures.raster import Image
from dressform.report.tables.check import summary_table

Progress = Callable[[int, int], None]
"""Called with the number of garments that are done and the number of all."""

PICTURES = "-pictures"
PACK_TYPE = "application/x-dressform-pack"
PAGE = "page"
LIVE_WORDS = (
    "Set any shape with the sliders; the clothes follow by their own morph targets. Colours are stored at the base, at "
    "each garment's worst shape and at that of each place above; elsewhere the nearest of these is shown, and said."
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
    worn: Mapping[str, Worn],
    *,
    bands: Bands = DEFAULT_BANDS,
    workers: int = 1,
    progress: Progress | None = None,
) -> Report:
    """The report of a check.

    Args:
        body: The body that the garments were checked on.
        found: What the check found, causes included where they were sought.
        worn: The garments, by `GarmentReport.key`.
        bands: The bands of the check.
        workers: Garments that are drawn and measured at the same time.
        progress: Told after each garment.

    Raises:
        MatchError: a garment of the check is not among `worn`.
    """
    missing = [garment.key for garment in found.garments if garment.key not in worn]
    if missing:
        raise MatchError(
            f"make_report: `worn` must hold every garment of the check, got none for {missing[0]!r}. "
            "Give its fit as well."
        )
    bench = Bench(body, page_shapes(found), body_rigid_patches(body), page_layers(bands=bands), bands)
    causes = page_clusters(found)
    parts = _make_parts(bench, found, worn, causes, workers, progress)
    images = {name: image for part in parts.values() for name, image in part.pictures.items()}
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
    return Report(_document(told, _static(told, found, parts, close, sources, bands), packs), images)


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
        (partial / path.name).write_text(report.html, encoding="utf-8")
    return folder


def _make_parts(
    bench: Bench,
    found: CheckReport,
    worn: Mapping[str, Worn],
    causes: Sequence[Explanation],
    workers: int,
    progress: Progress | None,
) -> dict[str, Part]:
    """The part of every garment; the loops that draw and measure hold no lock, so threads share them."""
    parts = {}
    with ThreadPoolExecutor(workers) as threads:
        waiting = {
            garment.key: threads.submit(
                make_part,
                bench,
                number,
                garment,
                worn[garment.key],
                sorted((one for one in causes if one.cluster.garment == garment.key), key=_noticed),
            )
            for number, garment in enumerate(found.garments, start=1)
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


def _noticed(one: Explanation) -> tuple[int, str]:
    """Sorts clusters of one garment by their numbers: what a wearer notices most comes first."""
    return len(one.cluster.name), one.cluster.name


def _static(
    told: Mapping[str, Any],
    found: CheckReport,
    parts: Mapping[str, Part],
    close: Mapping[str, str],
    sources: Mapping[str, str],
    bands: Bands,
) -> tuple[Html, Html]:
    """What stands before the live part, and what after it."""
    keys = {name: key for part in parts.values() for name, key in part.keys.items()}
    ranked = {garment.key: rank for rank, garment in enumerate(found.worst_first())}
    garments = sorted(told["garments"], key=lambda garment: ranked[garment["key"]])
    before = [
        head_of_report(told),
        *(
            verdict_of(garment, parts[garment["key"]].views, sources, keys, parts[garment["key"]].size)
            for garment in garments
        ),
        table_of(summary_table(found)),
        _section("Where it fails, why, and what to do", places_of(told, close, sources, keys)),
        _section("Over the range", charts_of(told, bands)),
        _section("Turn it", tag("p", LIVE_WORDS), tag("noscript", tag("p", NO_SCRIPT)), class_="live"),
    ]
    after = [
        _section("What this rests on", tag("div", grounds_of(told), class_="grounds")),
        _section("To be kept in mind", cautions_of(told), class_="cautions"),
        tag("p", f"Made by dressform {told['versions'].get('dressform', '')}. {NO_NETWORK}", class_="after"),
    ]
    return joined(before), joined(after)


def _section(title: str, *content: Html, class_: str | None = None) -> Html:
    return tag("section", tag("h2", title), *content, class_=class_)


def _document(told: Mapping[str, Any], static: tuple[Html, Html], packs: Sequence[tuple[str, str]]) -> str:
    """The whole file."""
    script, style = _page_file("page.js"), _page_file("page.css") + _own_style()
    count, name = len(told["garments"]), told["body"]["name"]
    head = [
        tag("meta", charset="utf-8"),
        tag("meta", http_equiv="Content-Security-Policy", content=_policy(script, style)),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("meta", name="referrer", content="no-referrer"),
        tag("title", f"{count} garment{'' if count == 1 else 's'} on {name}"),
        tag("style", Html(style)),
    ]
    before, after = static
    body = [
        tag(
            "main",
            tag("div", before, class_="report"),
            tag("div", id="dressform", data_life=REPORT),
            tag("div", after, class_="report"),
        ),
        *(tag("script", Html(pack), type=PACK_TYPE, data_kind=kind) for kind, pack in packs),
        tag("script", Html(script)),
    ]
    page = tag("html", tag("head", *head), tag("body", *body), lang="en")
    return f"<!doctype html>\n{page}\n"


def _policy(script: str, style: str) -> str:
    """Nothing is loaded from anywhere, and only the script and style that stand in this file are taken."""
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
