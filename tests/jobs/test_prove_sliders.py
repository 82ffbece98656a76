"""`prove` proves every value of the sliders that move joints, and says which it cannot."""

import json
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import dressform as df
from bent_limb import limb, sleeve
from dressform.body.pose import ROTATION, TRANSLATION, Animation, NodeTree
from dressform.body.stances.sliders import JointEffect, JointSlider
from dressform.cli.app import run
from dressform.fit.fit import Fit
from dressform.formats.gltf.save import save_body, save_garment
from dressform.jobs.prove import prove
from dressform.jobs.repair import repair
from dressform.jobs.save import save_with_receipt
from dressform.report.tables.proof import not_covered, proof_data, proof_line

LONG = JointSlider("long", (JointEffect(1, TRANSLATION, (0, -0.02, 0), (0, 0.04, 0)),))
SHUT = JointSlider("shut", (JointEffect(1, ROTATION, (0, 0, 0), (160, 0, 0)),), low=0.0)


def playing() -> JointSlider:
    nodes = NodeTree(np.array([-1]), np.zeros((1, 3)), np.eye(4)[3:], np.ones((1, 3)), np.eye(4)[None],
                     np.zeros(1, dtype=bool), np.zeros(1, dtype=np.int64), np.eye(4))  # fmt: skip
    return JointSlider("dance", animation=Animation("still", nodes, ()))


def fitted(*sliders: JointSlider, ramp: float = 0.2) -> Fit:
    body = replace(limb(rings=17, sides=12), joint_sliders=sliders)
    return sleeve(body, ramp=ramp, rings=11, sides=12)


def test_sliders_that_hold_are_named_in_the_first_line() -> None:
    found = prove(fitted(LONG))
    assert found.complete
    assert proof_line(found).startswith("PROVEN at rest and every value of long: at least 0 mm")
    assert proof_data(found)["sliders"]["corners_exact"] is True
    assert "At every value of sliders that move joints" in str(found)


def test_sliders_that_do_not_hold_deny_the_proof_with_their_share_and_where_they_are_open() -> None:
    found = prove(fitted(SHUT, ramp=0.05))
    assert found.complete_at_rest
    assert not found.complete
    assert proof_line(found).startswith("NOT PROVEN: shut: ")
    data = proof_data(found)["sliders"]
    assert 0.0 < data["certified_share"] < 1.0
    assert all(part["values"]["shut"][1] > 0 and part["pairs"] for part in data["open"])
    assert data["open"]


def test_sliders_that_cannot_be_proven_are_named_with_the_reason() -> None:
    found = prove(fitted(LONG, playing()))
    assert "slider dance: it plays an animation, which `--clips` proves" in not_covered(found)
    alone = prove(replace(fitted(LONG), skin=None))
    assert alone.sliders is None
    assert "slider long: the garment has no joint weights" in not_covered(alone)


def test_asked_not_to_nothing_is_said_of_sliders() -> None:
    assert prove(fitted(LONG), sliders=False).sliders is None


def test_command_proves_the_sliders_that_the_range_file_declares(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    save_body([limb(rings=17, sides=12)], tmp_path / "limb.glb")
    (tmp_path / "limb.range.toml").write_text(
        "[joint_sliders.long]\nlower.translation = [[0, -0.02, 0], [0, 0.04, 0]]\n"
    )
    body = df.load_body(tmp_path / "limb.glb")
    save_garment(fitted().garment, tmp_path / "sleeve.glb")
    fit = df.fit(body, df.load_garment(tmp_path / "sleeve.glb", beside=body))
    save_with_receipt(repair(fit, repairs=("clearance",), shapes=2), tmp_path / "out.glb")
    command = ["prove", str(tmp_path / "out.glb"), "--body", str(tmp_path / "limb.glb")]
    assert run([*command, "--json", str(tmp_path / "proof.json")]) == 0
    assert "every value of long" in capsys.readouterr().out
    assert json.loads((tmp_path / "proof.json").read_text())["sliders"]["sliders"] == ["long"]
    assert run([*command, "--no-joint-sliders"]) == 0
    assert "long" not in capsys.readouterr().out.splitlines()[0]
