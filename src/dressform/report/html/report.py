"""The report: one HTML file that can be mailed and opened offline, and its pictures as PNGs."""

import base64
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

from dressform.body.body import Body
from dressform.body.stance import Stance
from dressform.causes.results import Explanation
from dressform.errors import MatchError
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.severity import DEFAULT_BANDS, Bands
from dressform.faults.wardrobe import Wardrobe, plain_wardrobe
from dressform.formats.out_folder import whole_folder
from dressform.formats.results.check_report import CheckReport
from dressform.report.html.document import GLOSSARY_BESIDE, document, gravity
from dressform.report.html.packs import body_pack, inlined
from dressform.report.html.parts import Bench, GarmentSection, ReportGarment, make_part, slug
from dressform.report.html.pictures import webp
from dressform.report.html.stances import StanceSection, stance_section
from dressform.report.page.clusters import cluster_id, page_clusters
from dressform.report.page.data import REPORT, PageScene, about
from dressform.report.page.garments import PageGarment
from dressform.report.page.layers import body_rigid_patches, page_layers
from dressform.report.page.pack import about_pack
from dressform.report.page.shapes import page_shapes
from dressform.report.pictures.picture import save_png
from dressform.report.pictures.raster import Image
from dressform.report.triage.glossary import GLOSSARY, glossary_page

Progress = Callable[[int, int], None]
"""Called with the number of garments that are done and the number of all."""

PICTURES = "-pictures"


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
    return Report(document(told, found, parts, close, sources, packs, posed), images)


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
                    key=lambda one: gravity(one.cluster.worst.place.severity, one.cluster.name),
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


def _data_uri(picture: bytes) -> str:
    return f"data:image/webp;base64,{base64.b64encode(picture).decode('ascii')}"
