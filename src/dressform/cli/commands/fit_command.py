"""`dressform fit`: a garment with the morph targets that make it follow a body, repaired and proven."""

import time
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

from cyclopts import Parameter

from dressform.cli.arguments import BodyOption, FollowingOptions, MethodOption, ReadingOptions, stances_file
from dressform.cli.console import out, print_notes, waiting
from dressform.cli.exits import EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.outputs import GLB, JSON, WritingOptions, check_outputs
from dressform.cli.settings import SettingsOption, read_settings
from dressform.cli.target_options import TargetOptions
from dressform.garment.following import DEFAULT_MARGIN_MM
from dressform.garment.methods import method_words
from dressform.repair.names import REPAIRS
from dressform.units import MS_PER_S, counted

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import Console

    from dressform.body.stance import Stance
    from dressform.fit.fit import Fit
    from dressform.jobs.repair import Repaired


@Parameter(name="*")
@dataclass(frozen=True)
class Repairing:
    """What is repaired before the file is written."""

    repair: Annotated[bool, Parameter(help="Repair the fit, prove it and write a receipt beside it.")] = True
    repairs: Annotated[str, Parameter(help="Which repairs, separated by commas.")] = ",".join(REPAIRS)
    stances: Annotated[
        str | None,
        Parameter(
            help="Stances to repair and prove beside the modelled pose, which takes minutes: a stances TOML; or "
            "motion, everyday, strong, animations, sliders, several separated by commas. [default: none]"
        ),
    ] = None
    as_targets: Annotated[
        bool,
        Parameter(help="Where the method is no linear function of the weights, go on with its best targets."),
    ] = False
    correctives: Annotated[
        bool,
        Parameter(
            help="Give strong bends among the stances targets that joints drive; else targets at rest serve them."
        ),
    ] = True
    clips: Annotated[
        str,
        Parameter(
            help="Animations of the body's file to prove at every instant, which takes minutes: names separated by "
            "commas, all, or none."
        ),
    ] = "none"
    keep_base: Annotated[bool, Parameter(help="Keep every vertex of the base where it is, in the skin too.")] = False
    margin: Annotated[
        float | None,
        Parameter(help=f"Clearance to keep over the whole range, mm. [default: {DEFAULT_MARGIN_MM:g}]"),
    ] = None


def fit(
    garment: Annotated[Path, Parameter(help="Garment file: .glb, .gltf, .obj, .ply or .dae.")],
    /,
    *,
    body: BodyOption,
    output: Annotated[Path, Parameter(name=["--output", "-o"], help="The .glb to write.")],
    method: MethodOption = None,
    settings: SettingsOption = None,
    repairing: Repairing | None = None,
    following: FollowingOptions | None = None,
    reading: ReadingOptions | None = None,
    targets: TargetOptions | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """Write a garment with the morph targets, and the joint weights, that make it follow a body."""
    from dressform.cli.reading import read_body, read_garments
    from dressform.fit.shaped import ShapedFit
    from dressform.jobs import fit as jobs
    from dressform.jobs.save import receipt_beside, save, save_with_receipt, targets_line
    from dressform.jobs.stances import NONE, find_stances
    from dressform.report.tables.at_base import base_sentences
    from dressform.report.tables.proof import proof_line, stances_table
    from dressform.report.tables.receipt import receipt_table

    mend, style = repairing or Repairing(), (targets or TargetOptions()).style()
    receipt_file = receipt_beside(output)
    inputs = [garment, body, settings, stances_file(mend.stances)]
    check_outputs(inputs, [(output, GLB), (receipt_file, JSON)], reading=reading, writing=writing)
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
    if repaired is not None:
        where = f" at {', '.join(repaired.faulty_stances)}" if repaired.faulty_stances else ""
        seen = f"written, but still seen wrong{where}" if repaired.faulty else "nothing seen wrong"
        console.print(f"{asked.name} on {shape.name}: {seen}; {proof_line(repaired.receipt.proof)}", style="bold")
    saved_notes = save(fitted, output, style=style) if repaired is None else ()
    joints = "no joint weights" if fitted.skin is None else "joint weights"
    console.print(
        f"{asked.name} on {shape.name}: {counted(len(shape.morph_names), 'morph target')} and {joints}, "
        f"{method_words(fitted.following.method)} in {seconds * MS_PER_S:.0f} ms"
    )
    print_notes(console, shape, fitted.garment)
    if repaired is None:
        receipt_file.unlink(missing_ok=True)
        _print_saved(console, saved_notes)
    else:
        receipt, notes = save_with_receipt(repaired, output, style=style)
        _print_saved(console, notes)
        console.print()
        for sentence in base_sentences(repaired.after[0]):
            console.print(f"{asked.name}, repaired: {sentence}")
        console.print(receipt_table(receipt))
        if receipt.proof.stances:
            console.print(stances_table(receipt.proof))
        console.print()
        console.print(f"wrote {receipt_file}")
    console.print(f"wrote {output}: {targets_line(output)}")
    return EXIT_FAULTS if repaired is not None and repaired.faulty else EXIT_CLEAN


def _print_saved(console: "Console", notes: tuple[str, ...]) -> None:
    for note in notes:
        console.print(f"note: {note}")


def _repaired(fitted: "Fit", mend: Repairing, stances: "Sequence[Stance]") -> "Repaired":
    """The fit repaired as options say, proven and measured."""
    from dressform.jobs.repair import repair

    names = tuple(name.strip() for name in mend.repairs.split(","))
    with waiting("Repairing over the whole range"):
        repaired = repair(
            fitted,
            repairs=names,
            keep_base=mend.keep_base,
            stances=stances,
            correctives=mend.correctives,
            clips=mend.clips,
        )
    with waiting("Proving"):
        repaired.proof  # noqa: B018  # proven while a person is told so
    with waiting("Measuring before and after"):
        repaired.receipt  # noqa: B018
    return repaired
