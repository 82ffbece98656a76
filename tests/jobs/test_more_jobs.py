"""Auditing, inferring, measuring, outfits and cases from the front door, which refuses files that cannot be meant."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import dressform as df
from dressform.body.shape_settings import ShapeSettings
from dressform.errors import ArgumentError, FileError
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.load import load_garment
from people import person_mesh, skirt
from phantoms import phantom_body, phantom_tube


def test_the_tape_reads_what_the_measures_say_and_finds_the_shape_again() -> None:
    body = phantom_body()
    taken = df.measure(body, {"tall": 0.5})
    assert taken.measures.named("stature").value == pytest.approx(float(np.ptp(body.at(taken.weights)[:, 1])))
    found = df.measure(body, find={"stature": taken.cm["stature"]})
    assert found.found is not None
    assert found.found.met
    assert found.cm["stature"] == pytest.approx(taken.cm["stature"], abs=0.5)
    assert "nearest reachable shape" in str(found)


def test_weights_outside_the_range_are_measured_with_a_note_first_and_absurd_ones_refused() -> None:
    lines = str(df.measure(phantom_body(), {"belly": 1.5})).splitlines()
    assert lines[1] == "note: belly=1.5 lies outside the range [0, 1] that a wearer may reach."
    with pytest.raises(ArgumentError, match="measure: `weights` must be between -10 and 11 for belly"):
        df.measure(phantom_body(), {"belly": 99})
    with pytest.raises(ArgumentError, match="measure: `find` must be given without weights, got both"):
        df.measure(phantom_body(), {"belly": 1}, find={"stature": 170})


def test_an_audit_prints_its_table_and_finds_a_torn_morph() -> None:
    body = phantom_body()
    deltas = body.deltas.copy()
    deltas[0, : len(body.vertices) // 2, 0] += 0.2  # half of the body steps aside in one piece
    torn, clean = df.audit(replace(body, deltas=deltas)), df.audit(body)
    assert torn.faulty
    assert body.morph_names[0] in str(torn)
    assert clean.report.audit.severity != torn.report.audit.severity
    with pytest.raises(ArgumentError, match="`pairs` must be 0 or more"):
        df.audit(body, pairs=-1)


def test_garments_of_an_outfit_keep_apart_and_those_of_two_bodies_are_refused() -> None:
    body = phantom_body()
    inner = df.fit(body, phantom_tube(clearance=0.012))
    outer = df.fit(body, replace(phantom_tube(clearance=0.022), name="outer"))
    worn = df.outfit([inner, outer], name="ashore")
    assert [one.garment.name for one in worn.fits] == ["tube", "outer"]
    assert worn.complete
    assert "ashore on phantom, from the skin outward" in str(worn)
    with pytest.raises(ArgumentError, match="outfit: `fits` must be one fit or more, of one body, got none"):
        df.outfit([])
    with pytest.raises(ArgumentError, match="of one body, got phantom, phantom"):
        df.outfit([inner, df.fit(phantom_body(), phantom_tube())])


def test_a_garment_on_the_base_body_is_fine(tmp_path: Path) -> None:
    found = df.infer_shape(phantom_body(), phantom_tube())
    assert not found.faulty
    assert str(found).startswith("tube: fine.")


def _files(folder: Path) -> tuple[Path, Path]:
    save_body([phantom_body()], folder / "body.glb")
    save_garment(phantom_tube(clearance=0.012, sides=9), folder / "tube.glb")
    return folder / "body.glb", folder / "tube.glb"


def test_a_complaint_is_saved_and_replayed(tmp_path: Path) -> None:
    body_path, tube_path = _files(tmp_path)
    body = df.load_body(body_path)
    made = df.fit(body, df.load_garment(tube_path, beside=body))
    case = df.save_case(made, tmp_path / "gapes.case.json", {"belly": 1}, note="Gapes.")
    again = df.replay_case(tmp_path / "gapes.case.json")
    assert again.wrong
    assert again.case.note == case.note == "Gapes."
    assert str(again).splitlines()[0] == "Still wrong."
    with pytest.raises(FileError, match=r"does not end with \.case\.json"):
        df.save_case(made, tmp_path / "gapes.json")


def still_body(vertices: np.ndarray, faces: np.ndarray) -> df.Body:
    return df.Body("keeper", vertices, faces, (), np.zeros((0, len(vertices), 3)), df.Range.unit(()))


def test_files_that_cannot_be_meant_are_refused_by_every_load_and_fit(tmp_path: Path) -> None:
    vertices, faces = person_mesh()
    aside = vertices + np.array([1.0, 0.0, 0.0])
    pair = still_body(np.concatenate([vertices, aside]), np.concatenate([faces, faces + len(vertices)]))
    save_body([pair], tmp_path / "2.glb")
    with pytest.raises(FileError, match="holds 2 bodies that were read as one"):
        df.load_body(tmp_path / "2.glb")
    save_body([still_body(vertices, faces)], tmp_path / "still.glb")
    still = df.load_body(tmp_path / "still.glb")
    assert "The body has no morphs: it has one shape, and nothing for a garment to follow." in still.notes
    save_garment(df.Garment.of("skirt", *skirt()), tmp_path / "skirt.glb")
    for job in (df.fit, df.infer_shape):
        with pytest.raises(FileError, match="body: has no morphs, so there is nothing for a garment to follow"):
            job(still, df.load_garment(tmp_path / "skirt.glb"))
    save_garment(df.Garment.of("keeper", vertices, faces), tmp_path / "keeper.glb")
    with pytest.raises(FileError, match="garment: holds the body itself"):
        df.load_garment(tmp_path / "keeper.glb", beside=still)


def test_a_garment_that_was_read_apart_from_its_body_is_held_against_it_when_it_is_fitted(tmp_path: Path) -> None:
    body_path, _ = _files(tmp_path)
    body, tube = df.load_body(body_path), phantom_tube(clearance=0.012, sides=9)
    lying = replace(tube, vertices=tube.vertices[:, [0, 2, 1]] * [1.0, -1.0, 1.0])
    save_garment(lying, tmp_path / "lying.glb")
    apart = df.load_garment(tmp_path / "lying.glb")
    assert not load_garment(tmp_path / "lying.glb").is_placed
    with pytest.raises(FileError, match=r"lying.glb"):
        df.fit(body, apart)


def test_options_of_reading_are_recorded_in_the_report(tmp_path: Path) -> None:
    body_path, tube_path = _files(tmp_path)
    body = df.load_body(body_path, front="z")
    tube = df.load_garment(tube_path, beside=body, units="m", up="y")
    result = df.check(df.fit(body, tube), shapes=ShapeSettings(ends=False, strongest=0, sobol=0), causes=False)
    told = {name: result.report.settings[name] for name in ("front", "garment_units", "garment_up", "up")}
    assert told == {"front": "z", "garment_units": "m", "garment_up": "y", "up": None}
