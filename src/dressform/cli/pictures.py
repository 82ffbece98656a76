"""Pictures of every garment of a check, written into the folder of its results."""

from collections.abc import Sequence
from pathlib import Path

from dressform.cli.checking import Checked
from dressform.cli.console import Advance
from dressform.cli.looks import look_of
from dressform.faults.check import FaultCheck
from dressform.report.check_report import GarmentReport
from dressform.report.fault_pictures import base_picture, worn_picture, worst_picture
from dressform.report.picture import save_png
from dressform.report.sheet import Tile, contact_sheet

PICTURES = "pictures"
SHEET = "sheet.png"
TILE_SIZE = (170, 255)


def draw_pictures(checked: Checked, folder: Path, advance: Advance) -> dict[str, tuple[str, ...]]:
    """Base and worst shape of every garment, and a sheet of all; file names per `GarmentReport.key`."""
    (folder / PICTURES).mkdir()
    drawn: dict[str, tuple[str, ...]] = {}
    tiles = []
    garments = checked.report.worst_first()
    for done, garment in enumerate(garments):
        number = checked.report.garments.index(garment)
        stem = f"{garment.name}-{garment.way}"
        drawn[garment.key] = tuple(f"{PICTURES}/{stem}-{kind}.png" for kind in ("base", "worst"))
        tiles.append(_draw_garment(garment, checked, number, [folder / name for name in drawn[garment.key]]))
        advance(done + 1, len(garments))
    save_png(contact_sheet(tiles), folder / SHEET)
    return drawn


def _draw_garment(garment: GarmentReport, checked: Checked, number: int, paths: Sequence[Path]) -> Tile:
    body, one = checked.job.body_file.body, checked.fitted[number]
    # Garments come with all their ways one after the other; the ways of one garment share its colour.
    look = look_of(one.garment_file, number=number // len(checked.job.ways))
    name = f"{garment.name} ({garment.way})" if len(checked.job.ways) > 1 else garment.name
    worst = garment.worst_first()[0]
    weights = worst.faults.weights
    fields = FaultCheck(body, one.fit, bands=checked.job.bands).fields(weights)
    save_png(base_picture(body, one.fit, look), paths[0])
    save_png(
        worst_picture(body, one.fit, f"{name} at {worst.label}: {garment.severity}", worst.faults, fields), paths[1]
    )
    small = tuple(
        worn_picture(body, one.fit, look, shape, "three-quarter", TILE_SIZE) for shape in (0 * weights, weights)
    )
    return Tile(f"{name}: {garment.severity}", small)
