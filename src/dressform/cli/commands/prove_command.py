"""`dressform prove`: the certificate of a fitted garment, derived from the two files alone."""

from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.cli.arguments import BodyOption, ReadingOptions, stances_file
from dressform.cli.exits import EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.outputs import JSON, WritingOptions, check_outputs, write_file


def prove(
    fitted: Annotated[Path, Parameter(help="A garment written by `dressform fit`.")],
    /,
    *,
    body: BodyOption,
    margin: Annotated[float, Parameter(help="Gap to prove, mm; 0 proves that nothing touches but tucked rims.")] = 0.0,
    receipt: Annotated[
        Path | None,
        Parameter(
            help="Prove at stances and animations of this receipt too. [default: FITTED.receipt.json, where it lists "
            "some]"
        ),
    ] = None,
    clips: Annotated[
        str | None,
        Parameter(
            help="Prove at every instant of these animations of the body's file, which takes minutes: names separated "
            "by commas, all, or none. [default: those of the receipt]"
        ),
    ] = None,
    stances: Annotated[
        str | None,
        Parameter(
            help="Prove at these stances instead of the receipt's: a stances TOML; or motion, everyday, strong, "
            "animations, sliders, several separated by commas; or none."
        ),
    ] = None,
    joint_sliders: Annotated[
        bool,
        Parameter(
            help="Prove at every value of the sliders that move joints, in the modelled pose, where the body's range "
            "TOML declares some. It takes minutes."
        ),
    ] = True,
    json_: Annotated[Path | None, Parameter(name="--json", help="Also write the certificate to this file.")] = None,
    reading: ReadingOptions | None = None,
    writing: WritingOptions | None = None,
) -> int:
    """Prove, pair by pair of triangles, that a fitted garment keeps clear of its body at every shape of the range."""
    from dressform.cli.console import out, print_notes
    from dressform.cli.reading import read_body
    from dressform.formats.results.stance_records import read_clips, read_stances
    from dressform.jobs import prove as jobs
    from dressform.jobs.load import load_fit
    from dressform.jobs.save import receipt_beside
    from dressform.jobs.stances import find_stances
    from dressform.report.tables.proof import proof_json, proof_line, proof_table, stances_table
    from dressform.report.tables.proof_moving import clips_table, sliders_table

    check_outputs([fitted, body, receipt, stances_file(stances)], [(json_, JSON)], reading=reading, writing=writing)
    shape = read_body(body, reading)
    fit = load_fit(fitted, shape)
    told = read_stances(receipt, receipt_beside(fitted), shape) if stances is None else ()
    asked = told if stances is None else find_stances(shape, stances).stances
    listed = ",".join(read_clips(receipt, receipt_beside(fitted))) or jobs.NO_CLIPS
    report = jobs.prove(
        fit, margin_mm=margin, stances=asked, clips=listed if clips is None else clips, sliders=joint_sliders
    )
    write_file(json_, proof_json(report))
    console = out()
    console.print(proof_line(report))
    console.print()
    print_notes(console, shape, fit.garment)
    console.print(proof_table(report))
    if report.stances:
        console.print(stances_table(report))
    if report.clips:
        console.print(clips_table(report.clips))
    if report.sliders is not None:
        console.print(sliders_table(report.sliders))
    return EXIT_CLEAN if report.complete else EXIT_FAULTS
