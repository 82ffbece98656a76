"""What is written of a wardrobe one garment at a time is the document of a check, byte for byte."""

import csv
import json
from pathlib import Path

import jsonschema
import msgspec
import pytest

import dressform as df
from dressform.formats.results.check_csv import clusters_csv, results_csv
from dressform.formats.results.check_json import to_results
from dressform.formats.results.check_read import read_results
from dressform.formats.results.json_schema import results_schema
from dressform.formats.results.record import json_text
from dressform.formats.results.wardrobe_json import clusters_csv_of, results_json_of, shapes_csv_of
from dressform.jobs.store.finished import FinishedStore
from dressform.jobs.wardrobe.results import write_wardrobe
from wardrobes import FEW, body_of, checked, small_wardrobe


@pytest.fixture(scope="module")
def wardrobe(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_wardrobe(tmp_path_factory.mktemp("small"), count=1)


def test_pieces_make_the_document_of_a_check(wardrobe: Path) -> None:
    body = body_of(wardrobe)
    fits = [df.fit(body, df.load_garment(wardrobe / f"{name}.glb", beside=body)) for name in ("tight", "t0")]
    report = df.check(fits, shapes=FEW, causes=False).report
    whole = to_results(report)
    assert "".join(results_json_of(whole, whole.garments)) == json_text(whole)
    none = msgspec.structs.replace(whole, garments=())
    assert "".join(results_json_of(none, ())) == json_text(none)
    assert "".join(shapes_csv_of(whole.garments)) == results_csv(report)
    assert "".join(clusters_csv_of(whole.garments)) == clusters_csv(report)


def test_the_folder_of_a_wardrobe_is_read_as_any_other(wardrobe: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    with FinishedStore(tmp_path / "s.db") as store:
        write_wardrobe(checked(wardrobe, store), out, workers=1)
    document = json.loads((out / "results.json").read_text(encoding="utf-8"))
    jsonschema.validate(document, results_schema())
    assert [one["name"] for one in document["garments"]] == ["tight", "t0"]
    assert [one["name"] for one in document["failed"]] == ["bad"]
    assert document["garments"][0]["source"]["file"] == str(wardrobe / "tight.glb")
    assert read_results((out / "results.json").read_bytes(), path="results.json").severity == "grave"
    with (out / "shapes.csv").open(encoding="utf-8") as stream:
        shapes = [row["garment"] for row in csv.DictReader(stream)]
    assert len(shapes) == sum(len(one["shapes"]) for one in document["garments"])
    assert "1 of 2 garments fails" in (out / "summary.txt").read_text(encoding="utf-8")
