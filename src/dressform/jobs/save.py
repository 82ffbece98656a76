"""Writing a fitted garment as a file that an engine plays with no code of its own."""

from pathlib import Path

from dressform.errors import FileError
from dressform.fit.fit import Fit
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.load import body_file_of, garment_file_of
from dressform.jobs.arguments import refuse_other
from dressform.jobs.repair import Repaired

FITTED_SUFFIX = ".glb"


def save(fit: Fit | Repaired, path: Path | str) -> tuple[str, ...]:
    """Write a fitted garment: its own file with the body's morphs as targets, and its joints.

    What the garment's file came with stays: materials, textures, texture coordinates, names, extras.

    Args:
        fit: A fit, or what `repair` returned; garment and body were loaded from files.
        path: The `.glb` to write.

    Returns:
        What should be said aloud, one sentence each.

    Raises:
        ArgumentError: garment or body were not loaded from a file.
        FileError: the name does not end with .glb, or the file cannot be written; nothing is left half-written.

    Proof: tests/jobs/test_more_jobs.py
    """
    end = fit.fit if isinstance(fit, Repaired) else fit
    refuse_other("save", "fit", end, Fit)
    path = Path(path)
    if path.suffix.lower() != FITTED_SUFFIX:
        raise FileError.of(path, "", "does not end with .glb", "Fitted garments are written as .glb: name it so")
    return save_fit(end, garment_file_of(end.garment), body_file_of(end.body), path)
