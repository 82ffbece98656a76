"""Writing levels of detail: a file and a receipt for each, one record and one report for all."""

from dataclasses import dataclass
from pathlib import Path

from dressform.calls import called
from dressform.formats.gltf.morphs.target_style import DEFAULT_STYLE, TargetStyle
from dressform.formats.guards.file_names import path_text
from dressform.formats.load import GarmentFile
from dressform.formats.out_folder import whole_folder
from dressform.formats.results.check_report import Source
from dressform.formats.results.levels_schema import StoredLevels
from dressform.formats.results.record import json_text
from dressform.formats.sources import refuse_sources
from dressform.jobs.levels.fitted import FittedLevel, FittedLevels
from dressform.jobs.provenance import source_of
from dressform.jobs.save import FITTED_SUFFIX, receipt_beside, save_with_receipt
from dressform.report.levels.page import levels_page
from dressform.report.levels.pictures import level_picture
from dressform.report.pictures.faults import Appearance
from dressform.report.pictures.looks import look_of
from dressform.report.pictures.raster import Image

RECORD, PAGE = "levels.json", "levels.html"


@dataclass(frozen=True)
class SavedLevels:
    """What was written of levels.

    Attributes:
        record: The record of all levels, as it stands in `levels.json`.
        files: The file of each level, from fine to coarse.
        notes: What should be said aloud, one sentence each, with the name of its level.
    """

    record: StoredLevels
    files: tuple[Path, ...]
    notes: tuple[str, ...]


@called("save_levels")
def save_levels(levels: FittedLevels, folder: Path | str, *, style: TargetStyle = DEFAULT_STYLE) -> SavedLevels:
    """Write levels of detail into a folder: each its file and receipt; for all of them `levels.json` and `levels.html`.

    Args:
        levels: What `fit_levels` returned.
        folder: Where to; files of the same names are replaced, all or none.
        style: How targets are written.

    Raises:
        ArgumentError: garments or body were not loaded from files.
        FileError: a file is one that was read, or cannot be written; nothing is left half-written.

    Proof: tests/jobs/levels/test_fit_levels.py
    """
    folder = Path(folder)
    names = {level.name: folder / f"{level.name}{FITTED_SUFFIX}" for level in levels.levels}
    fits = [fit for level in levels.levels for fit in (level.repaired.start, level.repaired.fit)]
    refuse_sources([*names.values(), *map(receipt_beside, names.values()), folder / RECORD, folder / PAGE], fits)
    notes: list[str] = []
    with whole_folder(folder) as partial:
        written = []
        for level in levels.levels:
            path = partial / names[level.name].name
            _, said = save_with_receipt(level.shipped, path, named=names[level.name], style=style, small=level.small)
            notes += [f"{level.name}: {note}" for note in (*level.notes, *said)]
            written.append(Source(path_text(Path(names[level.name].name)), source_of(path).sha256))
        record = levels.record(written)
        (partial / RECORD).write_text(json_text(record), encoding="utf-8")
        (partial / PAGE).write_text(levels_page(record, level_pictures(levels)), encoding="utf-8")
    return SavedLevels(record, tuple(names.values()), tuple(notes))


def level_pictures(levels: FittedLevels) -> dict[str, Image]:
    """The picture of each level beside the finer one, by name."""
    pairs = [(level, level.finer, level.apart) for level in levels.levels]
    return {
        level.name: level_picture(finer.repaired.fit, level.repaired.fit, apart.widest, (_look(finer), _look(level)))
        for level, finer, apart in pairs
        if finer is not None and apart is not None
    }


def _look(level: FittedLevel) -> Appearance | None:
    source = level.repaired.fit.garment.source
    return look_of(source) if isinstance(source, GarmentFile) else None
