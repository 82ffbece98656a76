"""`dressform fit`: a garment with the morph targets that make it follow a body, repaired and proven."""

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.cli.arguments import METHOD_WORDS, BodyOption, Following, Reading
from dressform.cli.console import out, waiting
from dressform.cli.fitting import Fitted, fit_garment
from dressform.cli.gathering import source_of, versions
from dressform.cli.prove_command import proven
from dressform.cli.reading import read_body, read_garments
from dressform.cli.settings import SettingsOption, read_settings, settled
from dressform.errors import ArgumentError, FileError
from dressform.faults.check import FaultCheck
from dressform.formats.atomic import write_bytes
from dressform.formats.following_file import FollowingSettings
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.gltf.refined_file import refine_file
from dressform.formats.load import BodyFile
from dressform.lift.lift import DEFAULT_METHOD
from dressform.mesh.tree import Tree
from dressform.proof.linear_mesh import linear_body
from dressform.repair.chain import REPAIRS, repair_fit
from dressform.repair.clearance import DEFAULT_MARGIN
from dressform.report.tables.receipt import Receipt, receipt_json, receipt_table
from dressform.sweep.run import REPAIR_SHAPES, choose_shapes
from dressform.units import MM_PER_M, MS_PER_S

FITTED_SUFFIX = ".glb"
RECEIPT_SUFFIX = ".receipt.json"


@Parameter(name="*")
@dataclass(frozen=True)
class Repairing:
    """What is repaired before the file is written."""

    repair: Annotated[bool, Parameter(help="Repair the fit, prove it and write a receipt beside it.")] = True
    repairs: Annotated[str, Parameter(help="Which repairs, separated by commas.")] = ",".join(REPAIRS)
    margin: Annotated[
        float | None,
        Parameter(help=f"Clearance to keep over the whole range, mm. [default: {DEFAULT_MARGIN * MM_PER_M:g}]"),
    ] = None


def fit(
    garment: Annotated[Path, Parameter(help="Garment file: .glb, .gltf, .obj, .ply or .dae.")],
    /,
    *,
    body: BodyOption,
    output: Annotated[Path, Parameter(name=["--output", "-o"], help="The .glb to write.")],
    lift: Annotated[str | None, Parameter(help=f"Method: {METHOD_WORDS}. [default: {DEFAULT_METHOD}]")] = None,
    settings: SettingsOption = None,
    repairing: Repairing | None = None,
    following: Following | None = None,
    reading: Reading | None = None,
) -> int:
    """Write a garment with the morph targets, and the joint weights, that make it follow a body."""
    if output.suffix.lower() != FITTED_SUFFIX:
        raise FileError.of(output, "", "is no .glb", "Name the file to write with the ending .glb")
    mend, how, follow = repairing or Repairing(), reading or Reading(), following or Following()
    saved = read_settings(settings, [garment])
    mine = settled(follow, saved, garment.stem)
    margin = _margin(mend, mine)
    body_file = read_body(body, how)
    shape = body_file.body
    garment_file = read_garments([garment], how, follow, worn_by=shape, saved=saved)[0]
    tree = Tree(shape.vertices, shape.faces)
    fitted = fit_garment(body_file, garment_file, lift or mine.lift or DEFAULT_METHOD, follow, tree=tree, saved=saved)
    console = out()
    joints = "no joint weights" if fitted.fit.skin is None else "joint weights"
    console.print(
        f"{garment_file.garment.name} on {shape.name}: {len(shape.morph_names)} morph targets and {joints}, "
        f"lifted by {fitted.method} in {fitted.seconds * MS_PER_S:.0f} ms"
    )
    end, receipt, target = fitted.fit, None, garment_file
    if mend.repair:
        receipt = _repaired(fitted, body_file, mend, margin, mine.hard, tree)
        end, refined = receipt.repaired.fit, receipt.repaired.refined
        if refined is not None and len(end.base) > len(fitted.fit.base):
            target = refine_file(garment_file, refined.split)
    notes = save_fit(end, target, body_file, output)
    for note in (*shape.notes, *garment_file.garment.notes, *notes):
        console.print(f"note: {note}")
    if receipt is not None:
        path = output.with_name(output.stem + RECEIPT_SUFFIX)
        receipt = receipt.of_file("fitted", source_of(output))
        write_bytes(path, receipt_json(receipt).encode())
        console.print()
        console.print(receipt_table(receipt))
        console.print()
        console.print(f"wrote {path}")
    console.print(f"wrote {output}")
    return 0


def _margin(mend: Repairing, mine: FollowingSettings) -> float:
    """The clearance that the option asks for, else the settings, metres."""
    if mend.margin is None:
        return DEFAULT_MARGIN if mine.margin is None else mine.margin
    if not (math.isfinite(mend.margin) and mend.margin > 0):
        raise ArgumentError.of("fit", "margin", "positive mm", f"{mend.margin:g}", "Give for instance 2")
    return mend.margin / MM_PER_M


def _repaired(
    fitted: Fitted, body_file: BodyFile, mend: Repairing, margin: float, hard: tuple[str, ...], tree: Tree
) -> Receipt:
    """The repaired fit in its receipt, which lacks the hash of the file that is still to be written."""
    body, obstacle = body_file.body, linear_body(body_file.body)
    names = tuple(name.strip() for name in mend.repairs.split(","))
    shapes = choose_shapes(body, {"": fitted.fit}, settings=REPAIR_SHAPES)[""]
    with waiting("Repairing over the whole range"):
        repaired = repair_fit(
            fitted.fit, body, obstacle, repairs=names, shapes=shapes, margin=margin,
            method=fitted.method, ease=fitted.ease, rotation_share=fitted.rotation_share, hard_parts=hard, tree=tree,
        )  # fmt: skip
    with waiting("Proving"):
        proof = proven(repaired.fit, body, obstacle)
    with waiting("Measuring before and after"):
        before, after = (
            tuple(check.measure(shape.weights) for shape in shapes)
            for check in (FaultCheck(body, fitted.fit), FaultCheck(body, repaired.fit))
        )
    settings = {
        "lift": fitted.method,
        "ease": fitted.ease,
        "rotation_share": fitted.rotation_share,
        "repairs": list(names),
        "margin_mm": margin * MM_PER_M,
    }
    files = {"body": source_of(body_file.path), "garment": source_of(fitted.garment_file.path)}
    labels = tuple(shape.label for shape in shapes)
    return Receipt(versions(), settings, files, labels, before, after, repaired, proof)
