"""Pictures of every garment of a check, written into the folder of its results."""

import re
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from dressform.formats.results.check_report import GarmentReport
from dressform.jobs.check_result import CheckResult
from dressform.jobs.progress import Progress, stage
from dressform.jobs.report import looks_of
from dressform.report.html.pictures import plain_look
from dressform.report.page.clusters import page_clusters, places_on
from dressform.report.pictures.faults import PLACES_RINGED, Appearance, base_picture, worn_picture, worst_picture
from dressform.report.pictures.picture import save_png
from dressform.report.pictures.sheet import Tile, contact_sheet
from dressform.report.tables.check import shape_words

PICTURES = "pictures"
SHEET = "sheet.png"
KINDS = ("base", "worst")
TILE_SIZE = (170, 255)


def draw_pictures(result: CheckResult, folder: Path, progress: Progress | None = None) -> dict[str, tuple[str, ...]]:
    """Base and worst shape of every garment, and a sheet of all; file names per `GarmentReport.key`.

    Garments are drawn by as many threads as the check had workers: the loops that draw hold no lock.
    """
    (folder / PICTURES).mkdir()
    garments, told = result.report.worst_first(), stage(progress, "drawing")
    looks = looks_of(result)
    stems = {garment.key: f"{PICTURES}/{garment.name}-{_slug(garment.method)}" for garment in garments}
    tiles = []
    with ThreadPoolExecutor(result.workers) as threads:
        waiting = [
            threads.submit(_draw_garment, garment, result, looks[garment.name], folder, stems[garment.key])
            for garment in garments
        ]
        try:
            for done, one in enumerate(waiting, start=1):
                tiles.append(one.result())
                if told is not None:
                    told(done, len(garments))
        except BaseException:
            threads.shutdown(cancel_futures=True)
            raise
    save_png(contact_sheet(tiles), folder / SHEET)
    return {key: tuple(f"{stem}-{kind}.png" for kind in KINDS) for key, stem in stems.items()}


def _draw_garment(
    garment: GarmentReport, result: CheckResult, look: Appearance | None, folder: Path, stem: str
) -> Tile:
    fit = result.fits[garment.key]
    body, look = fit.body, look or plain_look(fit)
    name = f"{garment.name} ({garment.method})" if _is_compared(garment, result) else garment.name
    worst = garment.at_rest.worst_first()[0]
    weights = worst.faults.weights
    under = result.under_of(garment.key)
    prepared = result.wardrobe.worn(fit, under=under)
    fields = prepared.fields(weights)
    title = f"{name} at {shape_words(worst, body.morph_names)}: {garment.severity}"
    at_base = prepared.fields(0 * weights)
    mine = [one for one in page_clusters(result.report) if one.cluster.garment == garment.key]
    places = places_on(weights, mine, most=PLACES_RINGED)
    at_worst = worst_picture(body, fit, title, worst.faults, fields, places, under=under)
    pictures = (base_picture(body, fit, look, at_base), at_worst)
    for kind, picture in zip(KINDS, pictures):
        save_png(picture, folder / f"{stem}-{kind}.png")
    small = tuple(worn_picture(body, fit, look, shape, "three-quarter", TILE_SIZE) for shape in (0 * weights, weights))
    return Tile(f"{name}: {garment.severity}", small)


def _slug(method: str) -> str:
    """A method's name as part of a file's name; those of ours as they are."""
    return re.sub(r"[^A-Za-z0-9_.-]+", "-", method).strip("-.")


def _is_compared(garment: GarmentReport, result: CheckResult) -> bool:
    """Whether this garment was checked by several methods."""
    return sum(one.name == garment.name for one in result.report.garments) > 1
