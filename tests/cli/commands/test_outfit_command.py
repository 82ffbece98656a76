"""`dressform outfit` writes every layer of an outfit, certified against skin and layers."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from dressform.formats.gltf.fit_file import load_fit
from dressform.formats.load import load_body
from dressform.mesh.intersect import crossing_pairs
from dressform.mesh.tree import Tree
from phantoms import phantom_files, tube, write_obj

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
