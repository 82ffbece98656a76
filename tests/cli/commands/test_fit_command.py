"""`dressform fit` writes what an engine plays, or says in one line why not."""

import hashlib
import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.formats.gltf.document import read_document
from dressform.formats.gltf.save import save_body
from dressform.formats.load import load_body
from phantoms import MORPHS, phantom_body, phantom_files, tube, write_obj

Run = Callable[..., Any]


def fitted(path: Path) -> Body:
    """A fitted garment read as a mesh with morphs; its own small size is told."""
    return load_body(path, units="m", up="y").body


def test_the_written_garment_has_the_morphs_of_the_body(phantom: Path, tmp_path: Path, dressform: Run) -> None:
    out = tmp_path / "out.glb"
    ended = dressform("fit", "--body", phantom / "phantom.obj", phantom / "tube.obj", "-o", out, "--no-repair")
    assert ended.code == 0
    assert ended.err == ""
    assert f"wrote {out}" in ended.out
    garment = fitted(out)
    assert garment.morph_names == MORPHS
    np.testing.assert_allclose(garment.vertices, tube()[0], atol=1e-6)
    tall = garment.at(garment.weights({"tall": 1.0}))
    np.testing.assert_allclose(tall[:, 1], 1.1 * garment.vertices[:, 1], atol=2e-3)


def test_the_ways_of_lifting_differ_in_the_file(phantom: Path, tmp_path: Path, dressform: Run) -> None:
    written = []
    for method in ("nearest", "smooth"):
        out = tmp_path / f"{method}.glb"
        dressform("fit", "--body", phantom / "phantom.obj", phantom / "tube.obj", "-o", out, "--method", method)
        written.append(fitted(out).deltas)
    assert np.abs(written[0] - written[1]).max() > 1e-4


def test_scaled_ease_moves_cloth_farther_than_kept_ease(phantom: Path, tmp_path: Path, dressform: Run) -> None:
    radii = {}
    for ease in ("keep", "scale"):
        out = tmp_path / f"{ease}.glb"
        dressform("fit", "--body", phantom / "phantom.obj", phantom / "tube.obj", "-o", out, "--ease", ease)
        garment = fitted(out)
        girth = garment.at(garment.weights({"girth": 1.0}))
        radii[ease] = float(np.hypot(girth[:, 0], girth[:, 2]).mean())
    body = phantom_body()
    skin = float(np.hypot(*body.at(body.weights({"girth": 1.0}))[:, [0, 2]].T).max())
    assert radii["keep"] - skin == pytest.approx(0.02, abs=0.0005)
    # Only the girth grows, so the skin stretches by 1.25 in one direction: by its root on the mean.
    assert radii["scale"] - skin == pytest.approx(0.02 * 1.25**0.5, abs=0.0005)


@pytest.mark.parametrize(
    ("words", "share"),
    [(["--strength", "0.5"], 0.5), (["--strength", "tube=0.25"], 0.25), (["--off", "tube"], 0.0)],
)
def test_cloth_follows_as_strongly_as_it_is_told(
    words: list[str], share: float, phantom: Path, tmp_path: Path, dressform: Run
) -> None:
    deltas = []
    for extra in ([], words):
        out = tmp_path / "out.glb"
        call = ["fit", "--body", phantom / "phantom.obj", phantom / "tube.obj", "-o", out, "--no-repair", *extra]
        assert dressform(*call).code == 0
        deltas.append(fitted(out).deltas)
    np.testing.assert_allclose(deltas[1], share * deltas[0], atol=1e-6)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["tube.obj", "-o", "out.obj"], "out.obj: does not end with .glb. Name the file to write with the ending .glb"),
        (["none.obj", "-o", "out.glb"], "none.obj: there is no such file. Check the path."),
        (["tube.obj", "-o", "out.glb", "--method", "glue"], "must be one of nearest, nearest-three, surface, smooth"),
        (["tube.obj", "-o", "out.glb", "--ease", "lose"], "must be one of keep, scale, got 'lose'"),
        (["tube.obj", "-o", "out.glb", "--rotation-share", "2"], "`--rotation-share` must be in [0, 1], got 2"),
        (["tube.obj", "-o", "out.glb", "--units", "ell"], "`--units` must be one of m, cm, mm, in, got 'ell'"),
        (["tube.obj", "-o", "out.glb", "--mask", "COLOR_0.r"], "have no 'COLOR_0.r'"),
        (["tube.obj", "-o", "out.glb", "--range", "none.toml"], "none.toml: there is no such file"),
        (["tube.obj", "-o", "out.usdc", "--optimize"], "`optimize` must be left out for USD, got --output"),
        (["tube.obj", "-o", "out.glb", "--base", "woman"], "only glTF and USD name bases"),
        (["tube.obj", "-o", "broken.obj/out.glb"], "broken.obj/out.glb: cannot be written (broken.obj is no folder)"),
        (["beside.obj", "-o", "out.glb"], "nowhere near the body"),
        (["broken.obj", "-o", "out.glb"], "broken.obj"),
    ],
)
def test_bad_input_ends_with_two_one_line_and_no_file(
    words: list[str], said: str, tmp_path: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    body, _ = phantom_files(tmp_path)
    vertices, faces = tube()
    write_obj(tmp_path / "beside.obj", vertices + np.array([1.5, 0.0, 0.0]), faces)
    (tmp_path / "broken.obj").write_text("v 0 0 0\nf 1 2 3\n")
    monkeypatch.chdir(tmp_path)
    before = sorted(tmp_path.rglob("*"))
    ended = dressform("fit", "--body", body.name, *words)
    assert ended.code == 2
    assert said in ended.line
    assert sorted(tmp_path.rglob("*")) == before


def test_other_base_bodies_of_a_file_are_told_and_can_be_chosen(phantom: Path, tmp_path: Path, dressform: Run) -> None:
    slim = phantom_body()
    stout = replace(slim, name="stout", vertices=slim.at(slim.weights({"girth": 0.1})))
    save_body([replace(slim, name="slim"), stout], tmp_path / "bodies.glb")
    words = ["fit", "--body", tmp_path / "bodies.glb", phantom / "tube.obj", "-o", tmp_path / "out.glb"]
    first = dressform(*words)
    assert first.code == 0, first.err
    assert "tube on slim" in first.out
    assert "The file holds stout too; name one with --base (`base=` in Python) to read it." in first.out
    second = dressform(*words, "--base", "stout")
    assert "tube on stout" in second.out
    assert "The file holds" not in second.out
    third = dressform(*words, "--base", "short")
    assert third.code == 2
    assert "slim, stout, got 'short'" in third.line


def test_a_body_without_morphs_is_refused_and_measured_with_a_note(tmp_path: Path, dressform: Run) -> None:
    body, garment = phantom_files(tmp_path)
    for morph in (tmp_path / "morphs").iterdir():
        morph.unlink()
    (tmp_path / "morphs").rmdir()
    ended = dressform("fit", "--body", body, garment, "-o", tmp_path / "out.glb")
    assert ended.code == 2
    assert "body: has no morphs, so there is nothing for a garment to follow" in ended.line
    assert not (tmp_path / "out.glb").exists()
    measured = dressform("measure", body)
    assert measured.code == 0
    assert "note: The body has no morphs" in measured.out


def test_a_small_file_is_proven_as_it_is_and_the_command_prove_says_the_same(
    phantom: Path, tmp_path: Path, dressform: Run
) -> None:
    sizes = {}
    for name, options in (("dense", ["--targets", "dense", "--no-repair"]), ("small", ["--optimize"])):
        out = tmp_path / f"{name}.glb"
        ended = dressform("fit", "--body", phantom / "phantom.obj", phantom / "tube.obj", "-o", out, *options)
        assert ended.code == 0, ended.err
        sizes[name] = out.stat().st_size
    assert sizes["small"] < 0.5 * sizes["dense"]
    assert "no vertex is off by more than 0.0" in ended.out
    assert b'"extensionsRequired":["KHR_mesh_quantization","EXT_meshopt_compression"]' in out.read_bytes()
    proven = dressform("prove", out, "--body", phantom / "phantom.obj")
    receipt = json.loads((tmp_path / "small.receipt.json").read_text())
    assert proven.out.splitlines()[0] in ended.out.splitlines()[0]
    assert receipt["files"]["fitted"]["sha256"] == hashlib.sha256(out.read_bytes()).hexdigest()


def test_options_of_targets_reach_the_file(phantom: Path, tmp_path: Path, dressform: Run) -> None:
    out = tmp_path / "out.glb"
    words = ["fit", "--body", phantom / "phantom.obj", phantom / "tube.obj", "-o", out, "--no-repair"]
    first = dressform(*words, "--no-normals", "--targets", "dense")
    assert "morph targets, on average" in first.out
    assert "NORMAL" not in fit_targets(out)
    ended = " ".join(dressform(*words, "--basis", "100").out.split())
    assert re.search(r"3 morphs made of [12] targets? of a basis; no vertex is off by more than \d\d\.", ended)
    assert dressform("prove", out, "--body", phantom / "phantom.obj").code in (0, 1)
    assert dressform(*words, "--targets", "tight").line.startswith("dressform: fit: `--targets` must be one of sparse")


def fit_targets(path: Path) -> set[str]:
    """Attributes of the targets of a file."""
    meshes = read_document(path).gltf.meshes
    return {name for mesh in meshes for one in mesh.primitives for target in one.targets for name in target}
