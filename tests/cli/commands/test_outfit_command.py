"""`dressform outfit` writes every layer of an outfit, certified against skin and layers."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dressform.formats.gltf.fit_file import load_fit
from dressform.formats.load import load_body
from dressform.mesh.intersect import crossing_pairs
from dressform.mesh.tree import Tree
from phantoms import RADIUS, phantom_files, tube, write_obj

Run = Callable[..., Any]


@pytest.fixture(scope="module")
def dressed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder with the phantom body, a shirt, a coat over it, and the TOML that says so."""
    folder = tmp_path_factory.mktemp("dressed")
    phantom_files(folder)
    write_obj(folder / "shirt.obj", *tube(clearance=0.008, rings=16, sides=28))
    write_obj(folder / "coat.obj", *tube(clearance=0.02, rings=14, sides=26))
    (folder / "outfits.toml").write_text('[outfit.ashore]\nlayers = ["shirt.obj", "coat.obj"]\n', encoding="utf-8")
    return folder


def test_both_layers_are_written_and_keep_apart_at_the_end_of_the_range(
    dressed: Path, tmp_path: Path, dressform: Run
) -> None:
    ended = dressform(
        "outfit", dressed / "outfits.toml", "ashore", "--body", dressed / "phantom.obj", "--out", tmp_path / "worn"
    )
    assert ended.code == 0, ended.out + ended.err
    assert "shirt" in ended.out
    notes = [line for line in ended.out.splitlines() if line.startswith("note: ")]
    assert notes
    assert len(set(notes)) == len(notes)
    body = load_body(dressed / "phantom.obj").body
    shirt, coat = (load_fit(tmp_path / "worn" / f"{name}.glb", body) for name in ("shirt", "coat"))
    shape = body.weights({"belly": 1.0, "girth": 1.0})
    trees = [Tree(fit.at(shape), fit.garment.faces) for fit in (shirt, coat)]
    assert len(crossing_pairs(*trees)) == 0
    assert len(crossing_pairs(trees[0], Tree(body.at(shape), body.faces))) == 0


def test_an_unknown_outfit_is_refused_with_the_names_there_are(dressed: Path, tmp_path: Path, dressform: Run) -> None:
    ended = dressform(
        "outfit", dressed / "outfits.toml", "afloat", "--body", dressed / "phantom.obj", "--out", tmp_path / "worn"
    )
    assert ended.code == 2
    assert "`name` must be one of ashore, got 'afloat'" in ended.line
    assert not (tmp_path / "worn").exists()


def test_a_margin_of_nothing_is_refused(dressed: Path, tmp_path: Path, dressform: Run) -> None:
    words = ["outfit", dressed / "outfits.toml", "ashore", "--body", dressed / "phantom.obj", "--margin", "0"]
    ended = dressform(*words, "--out", tmp_path / "worn")
    assert ended.code == 2
    assert "`--margin` must be above 0 and at most 100 mm, got 0" in ended.line


def test_layers_that_pierce_each_other_are_a_fault_of_the_outfit(dressed: Path, tmp_path: Path, dressform: Run) -> None:
    vertices, faces = tube(clearance=0.012, rings=40, sides=60)
    ahead = np.exp(-(((vertices - [0.0, 0.95, RADIUS]) / 0.08) ** 2).sum(axis=1))
    write_obj(dressed / "knit.obj", vertices + 0.02 * ahead[:, None] * np.array([0.0, 0.0, 1.0]), faces)
    outfits = dressed / "pierced.toml"
    outfits.write_text('[outfit.afloat]\nlayers = ["knit.obj", "coat.obj"]\n', encoding="utf-8")
    body = dressed / "phantom.obj"
    apart = dressform("check", dressed / "coat.obj", "--body", body, "--shapes", "0", "--no-causes")
    assert "layer below" not in apart.out
    results = tmp_path / "together.json"
    words = ("--body", body, "--shapes", "0", "--no-causes", "--json", results)
    ended = dressform("check", "--outfit", outfits, "afloat", *words)
    assert ended.code == 1
    assert "coat over knit: grave layer below comes through" in ended.out
    assert "cause: they pierce each other as modelled" in ended.out
    assert "action: `dressform outfit` keeps coat clear of knit at every shape" in ended.out
    (coat,) = [one for one in json.loads(results.read_text(encoding="utf-8"))["garments"] if one["name"] == "coat"]
    assert coat["worn_over"] == ["knit"]
    assert max(shape["broken"]["pierced_cm2"] for shape in coat["shapes"]) > 20.0


def test_the_verdict_of_an_outfit_has_a_line_per_layer(dressed: Path, tmp_path: Path, dressform: Run) -> None:
    words = ("--body", dressed / "phantom.obj", "--out", tmp_path / "worn")
    ended = dressform("outfit", dressed / "outfits.toml", "ashore", *words)
    assert "coat over shirt: clean, no layer comes through" in ended.out


def test_a_check_of_nothing_is_refused(dressed: Path, dressform: Run) -> None:
    ended = dressform("check", "--body", dressed / "phantom.obj")
    assert ended.code == 2
    assert "must be one file or more, or an outfit, got none" in ended.line
