"""Writing a fitted garment as a file that an engine plays with no code of its own."""

import tempfile
from dataclasses import dataclass, replace
from pathlib import Path

from dressform.calls import called
from dressform.errors import ArgumentError, FileError
from dressform.fit.fit import Fit
from dressform.formats.atomic import write_bytes
from dressform.formats.gltf.document import read_document
from dressform.formats.gltf.fit_file import basis_error, load_fit
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.gltf.morphs.target_memory import target_memory
from dressform.formats.gltf.morphs.target_style import DEFAULT_STYLE, TargetStyle
from dressform.formats.gltf.optimise import ALLOWED, optimise
from dressform.formats.guards.file_names import path_text
from dressform.formats.load import body_file_of, garment_file_of
from dressform.formats.results.check_report import Source
from dressform.formats.results.receipt_read import RECEIPT_SUFFIX as RECEIPT_SUFFIX
from dressform.formats.results.receipt_read import receipt_beside as receipt_beside
from dressform.formats.sources import refuse_sources
from dressform.formats.usd.memory import usd_target_memory
from dressform.formats.usd.modules import SUFFIXES as USD_SUFFIXES
from dressform.formats.usd.write import save_usd_fit
from dressform.jobs.arguments import refuse_shaped
from dressform.jobs.provenance import source_of
from dressform.jobs.repair import Repaired
from dressform.leftovers import PLAIN, owned
from dressform.report.tables.receipt import Receipt, receipt_json

FITTED_SUFFIX = ".glb"
FITTED_SUFFIXES = (FITTED_SUFFIX, *USD_SUFFIXES)
"""Endings of the files that a fitted garment is written to."""


@dataclass(frozen=True, eq=False)
class Small:
    """A fitted garment as a small file, and what was read back from it.

    Attributes:
        origin: The fit as it was.
        fit: The fit that the file holds: what is measured and proven of it is so of the file.
        data: The file.
        notes: What should be said aloud, one sentence each.
        error: How far a vertex of it is off the origin at most at any shape of the range, metres.
    """

    origin: Fit
    fit: Fit
    data: bytes
    notes: tuple[str, ...]
    error: float


@called("save")
def save(fit: Fit | Repaired, path: Path | str, *, style: TargetStyle = DEFAULT_STYLE) -> tuple[str, ...]:
    """Write a fitted garment: its own file with the body's morphs as targets, and its joints.

    What the garment's file came with stays: materials, textures, texture coordinates, names, extras.

    Args:
        fit: A fit, or what `repair` returned; garment and body were loaded from files.
        path: The `.glb` to write; or `.usd`, `.usda`, `.usdc`, `.usdz`, which need `usd-core`.
        style: How its targets are written: sparse or dense, with normals or without, all of them or not.

    Returns:
        What should be said aloud, one sentence each.

    Raises:
        ArgumentError: garment or body were not loaded from a file.
        FileError: the name has none of these endings, it is a file that body or garment were read from, or it cannot be
            written; nothing is left half-written.

    Proof: tests/jobs/test_more_jobs.py
    """
    end = fit.fit if isinstance(fit, Repaired) else fit
    refuse_shaped("save", end)
    path = Path(path)
    if path.suffix.lower() not in FITTED_SUFFIXES:
        problem = f"does not end with {FITTED_SUFFIX}, nor with one of {', '.join(USD_SUFFIXES)}"
        raise FileError.of(path, "", problem, "Name the file to write so")
    refuse_sources([path], [end])
    return _written(end, path, style)


def _written(fit: Fit, path: Path, style: TargetStyle) -> tuple[str, ...]:
    """Write a fit by the ending of the file; what should be said aloud."""
    write = save_usd_fit if path.suffix.lower() in USD_SUFFIXES else save_fit
    return write(fit, garment_file_of(fit.garment), body_file_of(fit.body), path, style=style)


def save_with_receipt(
    repaired: Repaired,
    path: Path,
    *,
    named: Path | None = None,
    style: TargetStyle = DEFAULT_STYLE,
    small: Small | None = None,
) -> tuple[Receipt, tuple[str, ...]]:
    """Write a repaired garment, and beside it what was changed, measured and proven.

    Args:
        repaired: The garment.
        path: The `.glb` to write.
        named: What the receipt calls that file, where it will be moved.
        style: How its targets are written.
        small: The file made small that `repaired` was read back from, where it is to be written.

    Returns:
        The receipt, and what should be said aloud, one sentence each.

    Raises:
        ArgumentError, FileError: as for `save`.
    """
    beside = receipt_beside(path)
    refuse_sources([path, beside], [repaired.fit, repaired.start])
    beside.unlink(missing_ok=True)  # an old one must never stand beside a garment that it does not describe
    notes = save(repaired, path, style=style) if small is None else write_small(small, path)
    written = source_of(path)
    if named is not None:
        written = Source(path_text(named), written.sha256)
    receipt = repaired.receipt.of_file("fitted", written)
    write_bytes(beside, receipt_json(receipt).encode())
    return receipt, notes


def made_small(
    fit: Fit, *, style: TargetStyle = DEFAULT_STYLE, compress: bool = True, suffix: str = FITTED_SUFFIX
) -> Small:
    """Write a fitted garment small, and read it back as any reader would.

    Args:
        fit: The fit; garment and body were loaded from files.
        style: Which targets are written, whether with normals, whether as a basis.
        compress: Whether the file is rounded and compressed too. Beside a basis this has at most half of what
            that allows, so that no vertex is farther off than was asked.
        suffix: Ending of the file; only a `.glb` can be compressed.

    Raises:
        ArgumentError: it is to be compressed, but is no `.glb`; or as for `save`.
        FileError: as for `save`.

    Proof: tests/cli/commands/test_fit_command.py
    """
    refuse_shaped("save", fit)
    if compress and suffix.lower() != FITTED_SUFFIX:
        advice = "Name a .glb, or leave --optimize out"
        raise ArgumentError.of("made_small", "suffix", f"{FITTED_SUFFIX}, to be compressed", repr(suffix), advice)
    rounding = ALLOWED if style.basis is None else min(ALLOWED, style.basis / 2.0)
    if compress and style.basis is not None:
        style = replace(style, basis=style.basis - rounding)
    with tempfile.TemporaryDirectory(prefix=owned(PLAIN), ignore_cleanup_errors=True) as folder:
        path = Path(folder) / f"{Path(fit.garment.name).name}{suffix}"  # a wardrobe's names hold folders
        notes = _written(fit, path, style)
        if compress:
            file = optimise(path.read_bytes(), path, allowed=rounding)
            path.write_bytes(file.data)
            notes = (*notes, f"Made small: {file.words()}.")
        again = load_fit(path, fit.body, fit.following)
        error = file.error if compress else basis_error(garment_file_of(again.garment))
        again = replace(again, garment=replace(again.garment, name=fit.garment.name))
        return Small(fit, again, path.read_bytes(), notes, error)


def write_small(small: Small, path: Path) -> tuple[str, ...]:
    """Write a file that was made small; returns what should be said aloud."""
    refuse_sources([path], [small.origin])
    write_bytes(path, small.data)
    return small.notes


def targets_line(path: Path) -> str:
    """What the morph targets of a fitted file weigh, in one line."""
    is_usd = path.suffix.lower() in USD_SUFFIXES
    return (usd_target_memory(path) if is_usd else target_memory(read_document(path))).words()
