"""`dressform audit` from the file to the verdict."""

import json
from pathlib import Path

import pytest

from audit_phantoms import body_of, faulty_body
from dressform.cli.app import run
from phantoms import phantom_files, write_obj


@pytest.fixture
def clean(tmp_path: Path) -> Path:
    return phantom_files(tmp_path)[0]


@pytest.fixture(scope="module")
def faulty(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("faulty")
    body = faulty_body()
    body = body_of(body.vertices, body.faces, {"rigid_patch": body.deltas[0], "tall": 0.1 * body.vertices})
    for name, delta in zip(body.morph_names, body.deltas):
        write_obj(folder / "morphs" / f"{name}.obj", body.vertices + delta, body.faces)
    return write_obj(folder / "body.obj", body.vertices, body.faces)


def test_a_clean_body_ends_with_0(clean: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["audit", str(clean)]) == 0
    said = capsys.readouterr().out
    assert "Morphs, the worst first" in said
    assert "belly" in said
    assert "clean" in said


def test_a_faulty_body_ends_with_1_and_says_what_to_do(faulty: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["audit", str(faulty), "--pairs", "0"]) == 1
    said = " ".join(capsys.readouterr().out.split())
    assert "moves as one stiff piece and steps by 12.0 mm" in said
    table = said.partition("Morphs, the worst first")[2]
    assert table.index("rigid_patch grave") < table.index("tall clean")


def test_findings_tables_and_pictures_are_written(faulty: Path, tmp_path: Path) -> None:
    folder, document = tmp_path / "morphs", tmp_path / "morphs.json"
    assert run(["audit", str(faulty), "--json", str(document), "--out", str(folder)]) == 1
    data = json.loads((folder / "audit.json").read_text(encoding="utf-8"))
    assert [one["name"] for one in data["morphs"]] == ["rigid_patch", "tall"]
    assert all((folder / one["picture"]).stat().st_size > 10_000 for one in data["morphs"])
    assert "Morphs, the worst first" in (folder / "summary.txt").read_text(encoding="utf-8")
    alone = json.loads(document.read_text(encoding="utf-8"))
    assert [one["picture"] for one in alone["morphs"]] == ["", ""]
    assert alone["morphs"][0]["findings"] == data["morphs"][0]["findings"]
    assert len(alone["body"]["sha256"]) == 64


def test_a_negative_count_of_pairs_is_bad_input(clean: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["audit", str(clean), "--pairs", "-1"]) == 2
    assert "`--pairs` must be 0 or more" in capsys.readouterr().err


def test_a_place_that_cannot_be_written_is_told_before_the_work(
    clean: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["audit", str(clean), "--json", str(clean / "folder.json")]) == 2
    assert "cannot be written" in capsys.readouterr().err
