"""`dressform prove` certifies a repaired fit from its file alone, and does not certify one that shows skin."""

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dressform.cli.app import run
from phantoms import BELLY_HEIGHT, capsule, phantom_body, phantom_files, tube, write_obj

Run = Callable[..., Any]
ROOT = Path(__file__).resolve().parents[3]


@pytest.fixture(scope="module")
def snug(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder with the phantom body and a tube that is loose but lifted so coarsely that the belly comes through."""
    folder = tmp_path_factory.mktemp("snug")
    phantom_files(folder, clearance=0.003)
    return folder


def _fit(dressform: Run, folder: Path, out: Path, *words: str) -> Any:
    return dressform("fit", "--body", folder / "phantom.obj", folder / "tube.obj", "-o", out, *words)


@pytest.fixture(scope="module")
def as_lifted(snug: Path) -> Path:
    """The tube, lifted coarsely and left so."""
    out = snug / "as-lifted.glb"
    words = ["--body", snug / "phantom.obj", snug / "tube.obj", "-o", out, "--method", "nearest", "--no-repair"]
    assert run(["fit", *map(str, words)]) == 0
    return out


def test_a_repaired_fit_is_certified_from_its_file(snug: Path, tmp_path: Path, dressform: Run) -> None:
    out = tmp_path / "mended.glb"
    assert _fit(dressform, snug, out, "--method", "nearest").code == 0
    first = dressform("prove", out, "--body", snug / "phantom.obj").out.splitlines()[0]
    assert first == "PROVEN: at least 0 mm between cloth and body at every shape of the range"
    ended = dressform("prove", out, "--body", snug / "phantom.obj", "--json", tmp_path / "proof.json")
    assert ended.code == 0
    assert "100.000 %" in ended.out
    proof = json.loads((tmp_path / "proof.json").read_text(encoding="utf-8"))
    assert proof["schema"] == "dressform-proof/1"
    assert proof["certified_share"] == 1.0
    assert proof["range"] == {"belly": [0.0, 1.0], "girth": [0.0, 1.0], "tall": [0.0, 1.0]}


def test_a_fit_that_shows_skin_is_not_certified_and_the_first_line_says_what_is_open_and_left_out(
    snug: Path, as_lifted: Path, dressform: Run
) -> None:
    assert not as_lifted.with_name("as-lifted.receipt.json").exists()
    ended = dressform("prove", as_lifted, "--body", snug / "phantom.obj")
    assert ended.code == 1
    assert "not certified" in ended.out
    assert re.fullmatch(r"NOT PROVEN: [1-9]\d* pairs open, 0 % left out", ended.out.splitlines()[0])


def test_the_receipt_says_before_after_and_what_is_proven_in_fields_that_are_documented(
    snug: Path, tmp_path: Path, dressform: Run
) -> None:
    out = tmp_path / "mended.glb"
    ended = _fit(dressform, snug, out, "--method", "nearest", "--margin", "1.5")
    receipt = json.loads((tmp_path / "mended.receipt.json").read_text(encoding="utf-8"))
    assert receipt["schema"] == "dressform-receipt/1"
    assert receipt["settings"]["margin_mm"] == 1.5
    assert receipt["before"]["exposed_cm2"] > 1.0
    assert receipt["after"]["exposed_cm2"] == 0.0
    assert receipt["proof"]["certified_share"] == 1.0
    assert receipt["changes"]["clearance"]["conflicts"] == []
    assert set(receipt["files"]) == {"body", "garment", "fitted"}
    assert "skin shows, worst shape, cm²" in ended.out
    text = (ROOT / "docs" / "proof.md").read_text(encoding="utf-8")
    fields = [*receipt, *receipt["before"], *receipt["changes"], *receipt["changes"]["clearance"], *receipt["proof"]]
    assert [name for name in fields if f"`{name}`" not in text] == []


def test_cloth_with_too_few_vertices_gets_them_and_is_certified(tmp_path: Path, dressform: Run) -> None:
    body = phantom_body()
    write_obj(tmp_path / "phantom.obj", body.vertices, body.faces)
    for name, delta in zip(body.morph_names, body.deltas):
        write_obj(tmp_path / "morphs" / f"{name}.obj", body.vertices + delta, body.faces)
    write_obj(tmp_path / "tube.obj", *tube(clearance=0.012, rings=5, sides=12))
    out = tmp_path / "mended.glb"
    assert _fit(dressform, tmp_path, out).code == 0
    receipt = json.loads((tmp_path / "mended.receipt.json").read_text(encoding="utf-8"))
    assert receipt["before"]["exposed_cm2"] > 1.0
    assert receipt["after"]["exposed_cm2"] == 0.0
    assert receipt["changes"]["refine"]["vertices_added"] > 0
    assert dressform("prove", out, "--body", tmp_path / "phantom.obj").code == 0


def skin_of_the_belly() -> tuple[np.ndarray, np.ndarray]:
    """A band of the body's own triangles."""
    vertices, faces = capsule()
    band = faces[(np.abs(vertices[faces, 1] - BELLY_HEIGHT) < 0.15).all(axis=1)]
    used, kept = np.unique(band, return_inverse=True)
    return vertices[used], kept.reshape(-1, 3)


@pytest.mark.parametrize("depth", [0.0, 0.01, 0.05])
def test_cloth_in_or_on_the_body_proves_nothing_and_its_check_is_grave(
    depth: float, tmp_path: Path, dressform: Run
) -> None:
    body, _ = phantom_files(tmp_path)
    mesh = skin_of_the_belly() if depth == 0 else tube(clearance=-depth)
    garment = write_obj(tmp_path / "sunk.obj", *mesh)
    out = tmp_path / "out.glb"
    assert dressform("fit", "--body", body, garment, "-o", out, "--no-repair").code == 0
    ended = dressform("prove", out, "--body", body)
    assert ended.code == 1
    assert ended.out.startswith("NOT PROVEN: all of the cloth lies in or on the body" if depth else "NOT PROVEN: ")
    ended = dressform("check", garment, "--body", body, "--shapes", "0", "--no-causes")
    assert ended.code == 1
    assert "sunk: grave before anything moves" in ended.out


def test_cloth_that_lies_in_the_skin_is_brought_out_by_default_and_left_where_that_is_asked(
    tmp_path: Path, dressform: Run
) -> None:
    body, _ = phantom_files(tmp_path)
    garment, out = write_obj(tmp_path / "sunk.obj", *tube(clearance=-0.004)), tmp_path / "out.glb"
    ended = dressform("fit", "--body", body, garment, "-o", out)
    assert ended.code == 0
    receipt = json.loads((tmp_path / "out.receipt.json").read_text(encoding="utf-8"))
    assert receipt["before"]["in_front_cm2"] > 1000 > 0.0 == receipt["after"]["in_front_cm2"]
    assert receipt["changes"]["bring_out"]["largest_move_mm"] > 4.0
    assert dressform("prove", out, "--body", body).out.startswith("PROVEN")
    ended = dressform("fit", "--body", body, garment, "-o", out, "--keep-base")
    assert ended.code == 1
    assert "sunk, repaired: grave before anything moves" in ended.out
    assert "NOT PROVEN" in ended.out


@pytest.mark.parametrize("margin", ["1000", "inf", "nan"])
def test_a_margin_that_cannot_be_meant_is_refused(margin: str, snug: Path, as_lifted: Path, dressform: Run) -> None:
    ended = dressform("prove", as_lifted, "--body", snug / "phantom.obj", "--margin", margin)
    assert ended.code == 2
    assert "less than the 320 mm that the body is deep" in ended.line


def test_a_negative_gap_is_refused(snug: Path, as_lifted: Path, dressform: Run) -> None:
    ended = dressform("prove", as_lifted, "--body", snug / "phantom.obj", "--margin", "-1")
    assert ended.code == 2
    assert "`--margin` must be 0 or more mm and less than the 320 mm that the body is deep, got -1" in ended.line


def test_a_garment_that_was_never_fitted_is_refused(snug: Path, dressform: Run) -> None:
    ended = dressform("prove", snug / "tube.obj", "--body", snug / "phantom.obj")
    assert ended.code == 2
    assert "no target named 'belly'" in ended.line


def test_an_unknown_repair_is_refused_with_the_valid_names(snug: Path, tmp_path: Path, dressform: Run) -> None:
    out = tmp_path / "out.glb"
    ended = _fit(dressform, snug, out, "--repairs", "clearance,ironing")
    assert ended.code == 2
    assert "'ironing'" in ended.line
    assert "refine, blend-rims, whole, bring-out, joints, clearance, hard" in ended.line
    assert not out.exists()


def test_a_margin_of_nothing_is_refused(snug: Path, tmp_path: Path, dressform: Run) -> None:
    ended = _fit(dressform, snug, tmp_path / "out.glb", "--margin", "0")
    assert ended.code == 2
    assert "`--margin` must be above 0 and at most 100 mm, got 0" in ended.line
