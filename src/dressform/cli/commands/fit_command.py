"""`dressform fit`: a garment with the morph targets that make it follow a body, repaired and proven."""

import time
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from dressform.cli.arguments import FollowingOptions, MethodOption, ReadingOptions, stances_file
from dressform.cli.console import out, print_notes, waiting
from dressform.cli.exits import EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.fit_options import Repairing
from dressform.cli.levels.options import LevelOptions
from dressform.cli.outputs import GLB, JSON, STORE, WritingOptions, check_outputs, fitted_kind
from dressform.cli.settings import SettingsOption, read_settings
from dressform.cli.target_options import TargetOptions
from dressform.cli.wardrobe.options import WardrobeOptions
from dressform.errors import ArgumentError
from dressform.garment.methods import method_words
from dressform.units import MS_PER_S, counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from dressform.body.stance import Stance
    from dressform.fit.fit import Fit
    from dressform.formats.gltf.morphs.target_style import TargetStyle
    from dressform.jobs.repair import Repaired
    from dressform.jobs.save import Small


def fit(
    garments: Annotated[
        list[Path],
        Parameter(
            name="GARMENT",
            help="Garment file: .glb, .gltf, .obj, .ply, .dae or USD; or several, folders of them, patterns, quoted.",
        ),
    ],
    /,
    *,
    body: Annotated[
        Path | None,
        Parameter(
            name="--body",
            help="Body file: .glb, .gltf, .vrm, .obj, .ply, .dae or USD; - for standard input. Needed without "
            "--body-levels.",
        ),
    ] = None,
    output: Annotated[
        Path, Parameter(name=["--output", "-o"], help="The .glb or .usd* to write; or the folder, of several.")
    ],
    method: MethodOption = None,
    workers: Annotated[
        int | None, Parameter(help="Processes that fit several garments at a time. [default: one per processor]")
    ] = None,
    settings: SettingsOption = None,
    repairing: Repairing | None = None,
    following: FollowingOptions | None = None,
    reading: ReadingOptions | None = None,
    targets: TargetOptions | None = None,
    writing: WritingOptions | None = None,
    wardrobe: WardrobeOptions | None = None,
    detail: LevelOptions | None = None,
) -> int:
    """Write a garment with the morph targets, and the joint weights, that make it follow a body."""
    from dressform.cli.levels.run import run_levels_fit
    from dressform.cli.reading import read_body, read_garments
    from dressform.cli.wardrobe.fit import run_wardrobe_fit
    from dressform.fit.shaped import ShapedFit
    from dressform.jobs import fit as jobs
    from dressform.jobs.save import receipt_beside, targets_line
    from dressform.jobs.stances import NONE, find_stances
    from dressform.jobs.wardrobe.files import is_wardrobe
    from dressform.report.tables.proof import proof_line

    mend, kept, how = repairing or Repairing(), wardrobe or WardrobeOptions(), targets or TargetOptions()
    style, levels = how.style(), detail or LevelOptions()
    skins = [*([] if body is None else [body]), *(levels.body_levels or [])]
    if not skins:
        raise ArgumentError.of("fit", "body", "given", "nothing", "Name the file of the body with --body")
    inputs = [*(path for path in garments if not path.is_dir()), *skins, settings, stances_file(mend.stances)]
    if levels.is_asked:
        check_outputs(inputs, [], [output], reading=reading, writing=writing)
        return run_levels_fit(
            garments, body, output, how=levels, method=method, settings=settings, mend=mend, following=following,
            reading=reading, targets=how,
        )  # fmt: skip
    assert body is not None
    if len(garments) > 1 or kept.is_asked or is_wardrobe(garments):
        check_outputs(inputs, [(kept.store, STORE)], [output], reading=reading, writing=writing)
        return run_wardrobe_fit(
            garments, body, output, method=method, workers=workers, settings=settings, mend=mend, following=following,
            reading=reading, wardrobe=kept, targets=how,
        )  # fmt: skip
    (garment,) = garments
    if how.optimize and fitted_kind(output) is not GLB:
        raise ArgumentError.of("fit", "optimize", "left out for USD", f"--output {output}", "Name a .glb to write")
    receipt_file = receipt_beside(output)
    check_outputs(inputs, [(output, fitted_kind(output)), (receipt_file, JSON)], reading=reading, writing=writing)
    saved = read_settings(settings, [garment])
    shape = read_body(body, reading)
    (asked,) = read_garments(
        [garment], reading, following, worn_by=shape, saved=saved, method=method, margin_mm=mend.margin
    ).whole()
    stances = find_stances(shape, mend.stances or NONE).stances
    start = time.perf_counter()
    fitted = jobs.fit(shape, asked.garment, asked.following)
    if mend.as_targets and isinstance(fitted, ShapedFit):
        fitted = fitted.linear
    seconds = time.perf_counter() - start
    console = out()
    repaired = _repaired(fitted, mend, stances) if mend.repair else None
    small = _made_small(repaired.fit if repaired else fitted, how, output) if how.is_read_back else None
    repaired = _proven(repaired, small)
    if repaired is not None:
        console.print(
            f"{asked.name} on {shape.name}: {_verdict(repaired)}; {proof_line(repaired.receipt.proof)}", style="bold"
        )
    saved_notes = _written(fitted, output, style, small) if repaired is None else ()
    joints = "no joint weights" if fitted.skin is None else "joint weights"
    console.print(
        f"{asked.name} on {shape.name}: {counted(len(shape.morph_names), 'morph target')} and {joints}, "
        f"{method_words(fitted.following.method)} in {seconds * MS_PER_S:.0f} ms"
    )
    print_notes(console, shape, fitted.garment)
    _saved(console, repaired, output, saved_notes, style, small)
    console.print(f"wrote {output}: {targets_line(output)}")
    return EXIT_FAULTS if repaired is not None and repaired.faulty else EXIT_CLEAN


def _saved(
    console: "Console",
    repaired: "Repaired | None",
    output: Path,
    saved_notes: tuple[str, ...],
    style: "TargetStyle",
    small: "Small | None",
) -> None:
    """Write a repaired garment with its receipt; of one that is not repaired an old receipt goes."""
    from dressform.jobs.save import receipt_beside, save_with_receipt
    from dressform.report.tables.at_base import base_sentences
    from dressform.report.tables.proof import stances_table
    from dressform.report.tables.receipt import receipt_table

    receipt_file = receipt_beside(output)
    if repaired is None:
        receipt_file.unlink(missing_ok=True)
        _print_saved(console, saved_notes)
    else:
        receipt, notes = save_with_receipt(repaired, output, style=style, small=small)
        _print_saved(console, notes)
        console.print()
        for sentence in base_sentences(repaired.after[0]):
            console.print(f"{repaired.fit.garment.name}, repaired: {sentence}")
        console.print(receipt_table(receipt))
        if receipt.proof.stances:
            console.print(stances_table(receipt.proof))
        console.print()
        console.print(f"wrote {receipt_file}")


def _print_saved(console: "Console", notes: tuple[str, ...]) -> None:
    for note in notes:
        console.print(f"note: {note}")


def _verdict(repaired: "Repaired") -> str:
    """The verdict in the words of a check, and whether what should be covered still shows."""
    from dressform.report.tables.check import severity_words

    found = severity_words((*repaired.after, *repaired.after_at_stances))
    where = f" at {', '.join(repaired.faulty_stances)}" if repaired.faulty_stances else ""
    return f"written, but something still shows through{where}: {found}" if repaired.faulty else found


def _repaired(fitted: "Fit", mend: Repairing, stances: "Sequence[Stance]") -> "Repaired":
    """The fit repaired as options say."""
    from dressform.jobs.repair import repair

    names = tuple(name.strip() for name in mend.repairs.split(","))
    with waiting("Repairing over the whole range"):
        return repair(
            fitted,
            repairs=names,
            keep_base=mend.keep_base,
            stances=stances,
            correctives=mend.correctives,
            clips=mend.clips,
        )


def _made_small(fit: "Fit", how: TargetOptions, output: Path) -> "Small":
    from dressform.jobs.save import made_small

    with waiting("Making the file small"):
        return made_small(fit, style=how.style(), compress=how.optimize, suffix=output.suffix)


def _written(fit: "Fit", output: Path, style: "TargetStyle", small: "Small | None") -> tuple[str, ...]:
    """Write a fit that is not repaired; what should be said aloud."""
    from dressform.jobs.save import save, write_small

    return save(fit, output, style=style) if small is None else write_small(small, output)


def _proven(repaired: "Repaired | None", small: "Small | None") -> "Repaired | None":
    """What was repaired, or is left of it in the small file, proven and measured while a person is told so."""
    if repaired is None:
        return None
    repaired = repaired if small is None else replace(repaired, fit=small.fit)
    with waiting("Proving"):
        repaired.proof  # noqa: B018
    with waiting("Measuring before and after"):
        repaired.receipt  # noqa: B018
    return repaired
