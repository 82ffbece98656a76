"""Pictures of every garment of a check, written into the folder of its results."""

from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from dressform.cli.checking import Checked
from dressform.cli.console import Advance
from dressform.cli.looks import look_of
from dressform.faults.check import FaultCheck
from dressform.formats.results.check_report import GarmentReport
from dressform.report.pictures.faults import base_picture, worn_picture, worst_picture
from dressform.report.pictures.picture import save_png
from dressform.report.pictures.sheet import Tile, contact_sheet
from dressform.report.tables.check import shape_words

PICTURES = "pictures"
SHEET = "sheet.png"
KINDS = ("base", "worst")
TILE_SIZE = (170, 255)


def draw_pictures(checked: Checked, folder: Path, advance: Advance) -> dict[str, tuple[str, ...]]:
    """Base and worst shape of every garment, and a sheet of all; file names per `GarmentReport.key`.

    Garments are drawn by as many threads as the job has workers: the loops that draw hold no lock.
    """
    (folder / PICTURES).mkdir()
    garments = checked.report.worst_first()
    stems = {garment.key: f"{PICTURES}/{garment.name}-{garment.method}" for garment in garments}
    tiles = []
    with ThreadPoolExecutor(checked.job.workers) as threads:
        waiting = [threads.submit(_draw_garment, garment, checked, folder, stems[garment.key]) for garment in garments]
        try:
            for done, one in enumerate(waiting, start=1):
                tiles.append(one.result())
                advance(done, len(garments))
        except BaseException:
            threads.shutdown(cancel_futures=True)
            raise
    save_png(contact_sheet(tiles), folder / SHEET)
    return {key: tuple(f"{stem}-{kind}.png" for kind in KINDS) for key, stem in stems.items()}


def _draw_garment(garment: GarmentReport, checked: Checked, folder: Path, stem: str) -> Tile:
    body, job = checked.job.body_file.body, checked.job
    number, one = next((n, one) for n, one in enumerate(checked.fitted) if one.key == garment.key)
    # The methods of one garment come one after the other and share its colour.
    look = look_of(one.garment_file, number=number // max(len(job.methods), 1))
    name = f"{garment.name} ({garment.method})" if len(job.methods) > 1 else garment.name
    worst = garment.worst_first()[0]
    weights = worst.faults.weights
    fields = FaultCheck(body, one.fit, bands=job.bands).fields(weights)
    title = f"{name} at {shape_words(worst, body.morph_names)}: {garment.severity}"
    pictures = (base_picture(body, one.fit, look), worst_picture(body, one.fit, title, worst.faults, fields))
    for kind, picture in zip(KINDS, pictures):
        save_png(picture, folder / f"{stem}-{kind}.png")
    small = tuple(
        worn_picture(body, one.fit, look, shape, "three-quarter", TILE_SIZE) for shape in (0 * weights, weights)
    )
    return Tile(f"{name}: {garment.severity}", small)
