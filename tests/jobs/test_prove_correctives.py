"""Corrective targets and animations in receipts: proven again from the two files, with what the joints drive."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import dressform as df
from bent_limb import bent, limb, skeleton, sleeve, weights_of
from dressform.body.pose import turned_worlds
from dressform.cli.app import run
from dressform.errors import ArgumentError
from dressform.formats.gltf.animations import JointClip
from dressform.formats.gltf.save import save_body, save_garment
from dressform.jobs.repair import Repaired, repair
from dressform.jobs.save import save_with_receipt
from dressform.report.tables.proof import proof_line

SHARP = bent(110, "sharp")


def nod(degrees: float) -> JointClip:
    """The limb closes a little."""
    half = np.radians(degrees) / 2
    worlds = turned_worlds(skeleton(), {"lower": (float(np.sin(half)), 0.0, 0.0, float(np.cos(half)))})
    local = np.stack([skeleton().rest, skeleton().rest])
    local[1, 1] = np.linalg.inv(worlds[0]) @ worlds[1]
    return JointClip("nod", np.array([0.0, 1.0]), local)


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path, Repaired]:
    """A sleeve with a shorter ramp than the skin's, repaired at a strong bend and written, with an animation proven."""
    folder = tmp_path_factory.mktemp("sharp")
    start = sleeve(limb(rings=19, sides=12), clearance=0.004, rings=13, sides=12)
    save_body([start.body], folder / "limb.glb", clips={"limb": [nod(3.0)]})
    save_garment(start.garment, folder / "sleeve.glb")
    body = df.load_body(folder / "limb.glb")
    made = df.fit(body, df.load_garment(folder / "sleeve.glb", beside=body))
    made = replace(made, skin=weights_of(made.base[:, 1], ramp=0.12))
    done = repair(made, repairs=("clearance",), shapes=2, stances=[SHARP], clips="nod")
    save_with_receipt(done, folder / "fitted.glb")
    return folder / "limb.glb", folder / "fitted.glb", done


def test_receipt_tells_the_targets_and_the_animations(written: tuple[Path, Path, Repaired]) -> None:
    _, fitted, done = written
    receipt = json.loads(fitted.with_name("fitted.receipt.json").read_text())
    (target,) = receipt["changes"]["correctives"]["targets"]
    (mine,) = done.fit.correctives
    assert (target["target"], target["joint"], target["stances"]) == (mine.name, "lower", ["sharp"])
    assert target["largest_move_mm"] == pytest.approx(1e3 * mine.lengths.max())
    (stance,) = receipt["changes"]["correctives"]["stances"]
    assert stance["short_before"] > stance["short_after"]
    assert receipt["settings"]["clips"] == ["nod"]
    (clip,) = receipt["proof"]["clips"]
    assert (clip["name"], clip["proven"], clip["certified_share"], clip["open"]) == ("nod", True, 1.0, [])
    assert "at rest and 1 stance and every instant of nod" in proof_line(done.proof)
    assert mine.name in str(done)


def test_strong_bend_is_proven_again_from_the_file_and_only_with_its_target(
    written: tuple[Path, Path, Repaired], capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    body, fitted, done = written
    code = run(["prove", str(fitted), "--body", str(body), "--json", str(tmp_path / "proof.json")])
    assert code == 0
    told = " ".join(capsys.readouterr().out.split())
    assert told.startswith("PROVEN at rest and 1 stance and every instant of nod")
    assert "Between the moments of animations" in told
    again = json.loads((tmp_path / "proof.json").read_text())
    assert again["stances"][0]["near_pairs"] == pytest.approx(len(done.proof.stances[0].pairs), rel=0.01)
    fit = df.load_fit(fitted, df.load_body(body))
    assert not df.prove(replace(fit, correctives=()), stances=[SHARP]).complete


def test_animation_that_the_body_lacks_is_refused_and_names_are_listed(written: tuple[Path, Path, Repaired]) -> None:
    body, fitted, done = written
    with pytest.raises(ArgumentError, match=r"prove: `clips` must be of the animations of 'limb': nod, got 'wave'"):
        df.prove(df.load_fit(fitted, df.load_body(body)), clips="wave")
    with pytest.raises(ArgumentError, match=r"repair: `clips` must be of the animations"):
        df.repair(done.start, clips="wave")


def test_open_animation_is_not_proven_and_says_when(written: tuple[Path, Path, Repaired]) -> None:
    """Without room nothing can be certified: every interval is open, and the first line names the animation."""
    body, fitted, _ = written
    found = df.prove(df.load_fit(fitted, df.load_body(body)), margin_mm=20.0, clips="all")
    assert not found.complete
    assert "nod: 0.000 % of the time" in proof_line(found) or "nod" in proof_line(found)
    assert found.clips[0].share < 0.5
    assert sum(len(one.pairs) for one in found.clips[0].open) > 0
