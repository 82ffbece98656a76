"""`dressform fit`: a garment with the morph targets that make it follow a body, repaired and proven."""

from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.cli.arguments import BodyOption, FollowingOptions, MethodOption, Reading
from dressform.cli.console import out, waiting
from dressform.cli.fitting import Fitted, fit_garment
from dressform.cli.gathering import source_of, versions
from dressform.cli.prove_command import proven
from dressform.cli.reading import read_body, read_garments
from dressform.cli.settings import SettingsOption, following_object, read_settings
from dressform.errors import FileError
from dressform.faults.check import FaultCheck
from dressform.formats.atomic import write_bytes
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.gltf.refined_file import refine_file
from dressform.formats.load import BodyFile
from dressform.garment.following import DEFAULT_MARGIN_MM
from dressform.mesh.tree import Tree
from dressform.proof.linear_mesh import linear_body
from dressform.repair.chain import REPAIRS, repair_fit
from dressform.report.tables.receipt import Receipt, receipt_json, receipt_table
from dressform.sweep.run import REPAIR_SHAPES, choose_shapes
from dressform.units import MS_PER_S

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
    reading: Reading | None = None,
) -> int:
    """Write a garment with the morph targets, and the joint weights, that make it follow a body."""
    if output.suffix.lower() != FITTED_SUFFIX:
        raise FileError.of(output, "", "is no .glb", "Name the file to write with the ending .glb")
    mend, how = repairing or Repairing(), reading or Reading()
    saved = read_settings(settings, [garment])
    body_file = read_body(body, how)
    shape = body_file.body
    (asked,) = read_garments(
        [garment], how, following, worn_by=shape, saved=saved, method=method, margin_mm=mend.margin
    )
    garment_file, tree = asked.file, Tree(shape.vertices, shape.faces)
    fitted = fit_garment(shape, asked, tree=tree)
    console = out()
    joints = "no joint weights" if fitted.fit.skin is None else "joint weights"
    console.print(
        f"{garment_file.garment.name} on {shape.name}: {len(shape.morph_names)} morph targets and {joints}, "
        f"lifted by {fitted.fit.following.method} in {fitted.seconds * MS_PER_S:.0f} ms"
    )
    end, receipt, target = fitted.fit, None, garment_file
    if mend.repair:
        receipt = _repaired(fitted, body_file, mend, tree)
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


def _repaired(fitted: Fitted, body_file: BodyFile, mend: Repairing, tree: Tree) -> Receipt:
    """The repaired fit in its receipt, which lacks the hash of the file that is still to be written."""
    body, obstacle = body_file.body, linear_body(body_file.body)
    names = tuple(name.strip() for name in mend.repairs.split(","))
    shapes = choose_shapes({"": fitted.fit}, settings=REPAIR_SHAPES)[""]
    with waiting("Repairing over the whole range"):
        repaired = repair_fit(fitted.fit, repairs=names, shapes=shapes, obstacle=obstacle, tree=tree)
    with waiting("Proving"):
        proof = proven(repaired.fit, obstacle)
    with waiting("Measuring before and after"):
        before, after = (
            tuple(check.measure(shape.weights) for shape in shapes)
            for check in (FaultCheck(body, fitted.fit), FaultCheck(body, repaired.fit))
        )
    following = fitted.fit.following
    settings = {
        "method": following.method,
        "ease": following.ease,
        "rotation_share": following.effective_rotation_share,
        "repairs": list(names),
        "margin_mm": following.margin_mm,
        "following": following_object(following),
    }
    files = {"body": source_of(body_file.path), "garment": source_of(fitted.garment_file.path)}
    labels = tuple(shape.label for shape in shapes)
    return Receipt(versions(), settings, files, labels, before, after, repaired, proof)
