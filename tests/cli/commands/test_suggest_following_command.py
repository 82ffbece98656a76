"""`dressform suggest-following` says how garments should follow, and `check` finds what its file promises."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from dressform.faults.registry import FAULT_OF, FAULTS
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.results.check_read import read_results
from dressform.formats.results.json_schema import stored_schema
from dressform.jobs.compare.measures import MEASURES
from small_garments import belt, keeper

Run = Callable[..., Any]
FEW = ("--shapes", "2", "--workers", "1")


@pytest.fixture(scope="module")
def worn(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder with keeper.glb and belt.glb; not to be written to."""
    folder = tmp_path_factory.mktemp("worn")
    save_body(keeper(), folder / "keeper.glb")
    save_garment(belt(), folder / "belt.glb")
    return folder


def test_check_finds_exactly_what_the_written_file_promises(worn: Path, tmp_path: Path, dressform: Run) -> None:
    body, cloth, toml = worn / "keeper.glb", worn / "belt.glb", tmp_path / "following.toml"
    ended = dressform(
        "suggest-following", cloth, "--body", body, *FEW, "--write", toml, "--json", tmp_path / "told.json"
    )
    assert ended.code == 1, ended.err
    assert ended.out.splitlines()[0] == "1 of 1 garment should follow differently: belt (hard = buckle)."
    assert f"wrote {toml}" in ended.out
    told = json.loads((tmp_path / "told.json").read_text(encoding="utf-8"))
    jsonschema.validate(told, stored_schema("suggestion.schema.json"))
    (promise,) = told["garments"]
    dressform(
        "check", cloth, "--body", body, *FEW, "--settings", toml, "--no-causes", "--json", tmp_path / "found.json"
    )
    (found,) = read_results((tmp_path / "found.json").read_bytes(), path="found.json").garments
    assert promise["shapes"] == len(found.shapes)
    measures = {one.key: one for one in MEASURES}
    for left in promise["after"]:
        worst = max(measures[left["fault"]].value(found, shape) for shape in found.shapes)
        assert left["value"] == pytest.approx(worst, rel=1e-3, abs=1e-3), left["fault"]
        grades = [shape.severities.get(left["fault"], "clean") for shape in found.shapes]
        assert left["severity"] in grades
        assert left["unit"] == FAULT_OF[left["fault"]].unit
    assert [left["fault"] for left in promise["after"]] == list(FAULTS)


def test_a_garment_that_follows_as_it_should_ends_with_0_and_still_has_its_entry(
    worn: Path, tmp_path: Path, dressform: Run
) -> None:
    """So that the file can be given to `check` whatever was found."""
    (tmp_path / "now.toml").write_text(
        'format = "dressform-following/1"\n[garment.belt]\nhard = ["buckle"]\n', encoding="utf-8"
    )
    words = (worn / "belt.glb", "--body", worn / "keeper.glb", "--shapes", "0", "--workers", "1")
    ended = dressform(
        "suggest-following", *words, "--settings", tmp_path / "now.toml", "--write", tmp_path / "then.toml"
    )
    assert ended.code == 0, ended.err
    assert ended.out.splitlines()[0] == "1 garment: none should follow differently."
    written = (tmp_path / "then.toml").read_text(encoding="utf-8")
    assert "# Should follow as it does: clean." in written
    assert 'hard = [\n    "buckle",\n]' in written


def test_a_method_that_has_no_strength_is_refused_in_one_line(worn: Path, tmp_path: Path, dressform: Run) -> None:
    settings = tmp_path / "file.toml"
    settings.write_text('format = "dressform-following/1"\n[garment.belt]\nmethod = "file"\n', encoding="utf-8")
    ended = dressform("suggest-following", worn / "belt.glb", "--body", worn / "keeper.glb", "--settings", settings)
    assert ended.code == 2
    assert "must be by a lift of ours, whose strength can be set, got file for 'belt'" in ended.line
