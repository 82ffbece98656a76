"""`dressform prove`: the certificate of a fitted garment, derived from the two files alone."""

import time
from pathlib import Path
from typing import Annotated

from cyclopts import Parameter

from dressform.cli.arguments import BodyOption, Reading
from dressform.cli.console import out
from dressform.cli.exits import EXIT_CLEAN, EXIT_FAULTS
from dressform.cli.reading import read_body
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.formats.atomic import write_bytes
from dressform.formats.gltf.fit_file import load_fit
from dressform.formats.out_folder import refuse_unwritable
from dressform.proof.certificate import certify
from dressform.proof.linear_mesh import LinearMesh, linear_body, linear_cloth
from dressform.report.tables.proof import ProofReport, proof_json, proof_table
from dressform.units import MM_PER_M


def prove(
    fitted: Annotated[Path, Parameter(help="A garment written by `dressform fit`.")],
    /,
    *,
    body: BodyOption,
    margin: Annotated[float, Parameter(help="Gap to prove, mm; 0 proves that cloth and body never touch.")] = 0.0,
    json_: Annotated[Path | None, Parameter(name="--json", help="Also write the certificate to this file.")] = None,
    reading: Reading | None = None,
) -> int:
    """Prove, pair by pair of triangles, that a fitted garment keeps clear of its body at every shape of the range."""
    if json_ is not None:
        refuse_unwritable(json_, is_folder=False)
    if not margin >= 0:
        raise ArgumentError.of("prove", "margin", "0 or more mm", f"{margin:g}", "Give a gap in millimetres")
    shape = read_body(body, reading or Reading()).body
    report = proven(load_fit(fitted, shape), linear_body(shape), margin=margin / MM_PER_M)
    if json_ is not None:
        write_bytes(json_, proof_json(report).encode())
    out().print(proof_table(report))
    return EXIT_CLEAN if report.certificate.share == 1.0 else EXIT_FAULTS


def proven(fit: Fit, obstacle: LinearMesh, *, margin: float = 0.0) -> ProofReport:
    """The certificate of a fit, with the time it took."""
    start, body = time.perf_counter(), fit.body
    certificate = certify(linear_cloth(fit), obstacle, body.range, margin=margin)
    intervals = {
        name: (float(low), float(high)) for name, low, high in zip(body.morph_names, body.range.low, body.range.high)
    }
    return ProofReport(fit.garment.name, body.name, intervals, certificate, time.perf_counter() - start)
