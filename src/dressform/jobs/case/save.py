"""Saving a complaint about a garment at a shape, as a file that can be replayed."""

from pathlib import Path

import numpy as np
from jaxtyping import Float

from dressform.arrays import Weights
from dressform.body.range import WeightsByName
from dressform.body.shapes import label_of
from dressform.calls import called
from dressform.errors import ArgumentError, FileError
from dressform.faults.registry import FAULTS
from dressform.fit.fit import Fit
from dressform.formats.case_file import (
    CASE_SUFFIX,
    Case,
    CaseFile,
    CaseGarment,
    CaseShape,
    CaseView,
    picture_text,
    write_case,
)
from dressform.formats.guards.file_names import path_text
from dressform.formats.load import body_file_of, garment_file_of
from dressform.formats.sources import refuse_sources
from dressform.garment.methods import FILE, is_lifted
from dressform.jobs.case.files import sha256_of
from dressform.jobs.case.seeing import Seen, case_faults, picture_of, see, view_of
from dressform.jobs.provenance import now, versions
from dressform.jobs.repair import repair
from dressform.report.pictures.camera import Camera
from dressform.report.pictures.faults import look_at
from dressform.report.pictures.looks import look_of
from dressform.report.pictures.picture import png_bytes


@called("save_case")
def save_case(
    fit: Fit,
    path: Path | str,
    weights: Weights | WeightsByName | None = None,
    *,
    note: str = "",
    fault: str | None = None,
    repaired: bool = False,
) -> Case:
    """Save a complaint about a garment at a shape, with what is measured there and a picture.

    Args:
        fit: The garment on its body, both loaded from files.
        path: The case to write; its name ends with `.case.json`.
        weights: The shape, by the names of morphs or in their order; the base body if omitted.
        note: What is wrong, in your words.
        fault: Which fault it is about; the gravest if omitted.
        repaired: Whether the fit is repaired over the whole range first, here and whenever the case is replayed.

    Raises:
        ArgumentError: there is no such fault or morph, garment or body were not loaded from a file, or the method is
            somebody's code or a folder, which a case that is passed on must not name.
        FileError: the name ends otherwise, it is a file that body or garment were read from, or it cannot be written.

    Proof: tests/cli/commands/test_case_command.py
    """
    path = Path(path)
    if not path.name.endswith(CASE_SUFFIX):
        raise FileError.of(path, "", f"does not end with {CASE_SUFFIX}", f"Name it with the ending {CASE_SUFFIX}")
    refuse_sources([path], [fit])
    method = fit.following.method
    if not (is_lifted(method) or method == FILE):
        advice = "Save the fit with `save` and complain about its file, or by a method of ours"
        raise ArgumentError.of("save_case", "fit", "by a method of ours or `file`", repr(method), advice)
    if fault is not None and fault not in FAULTS:
        raise ArgumentError.of("save_case", "fault", f"one of {', '.join(FAULTS)}", repr(fault), "Use one of these")
    vector = fit.body.range.vector("save_case", {} if weights is None else weights)
    case = _case_of(see(repair(fit).fit if repaired else fit, vector), note=note, fault=fault, repaired=repaired)
    write_case(path, case)
    return case


def _case_of(seen: Seen, *, note: str, fault: str | None, repaired: bool) -> Case:
    """What is seen, as a case about its gravest place (of one fault, where one is named)."""
    places = [place for place in seen.faults.places if fault in {None, place.fault}]
    camera = view_of(seen, None) if not places else look_at(places[0], seen.body, seen.fit, seen.fields, radius=0.25)
    place = places[0] if places else None
    picture = picture_of(
        seen, camera, look_of(garment_file_of(seen.fit.garment)), fault=place.fault if place else "", ring=place
    )
    body, named = seen.body, zip(seen.body.morph_names, seen.weights)
    garment = _source(seen.fit.garment.name, garment_file_of(seen.fit.garment).path)
    return Case(
        garment=CaseGarment.of(garment, seen.fit.following, repaired=repaired),
        body=_source(body.name, body_file_of(body).path),
        shape=CaseShape(label_of(body.range, seen.weights), {name: float(weight) for name, weight in named if weight}),
        made=now(),
        versions=dict(versions()),
        view=_case_view(camera),
        place=place,
        faults=case_faults(seen.faults),
        note=note,
        picture=picture_text(png_bytes(picture)),
    )


def _source(name: str, path: Path) -> CaseFile:
    return CaseFile(name, path_text(path), sha256_of(path))


def _case_view(camera: Camera) -> CaseView:
    def point(values: Float[np.ndarray, "3"]) -> tuple[float, float, float]:
        return float(values[0]), float(values[1]), float(values[2])

    return CaseView(point(camera.eye), point(camera.target), height_m=float(camera.height))
