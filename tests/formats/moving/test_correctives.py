"""Corrective targets in a file: what is written is read back, and what cannot be meant is refused."""

import json
import struct
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import dressform as df
from bent_limb import bent, limb, sleeve
from dressform.body.body import Body
from dressform.body.stances.driver import Driver, modelled_turn
from dressform.errors import ArgumentError, FileError, MatchError
from dressform.fit.corrective import Corrective
from dressform.fit.fit import Fit
from dressform.fit.posed import cloth_maps
from dressform.formats.gltf.save import save_body, save_garment

NAME = "corrective lower"


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Body, Fit]:
    folder = tmp_path_factory.mktemp("correctives")
    start = sleeve(limb(rings=13, sides=12), rings=9, sides=12)
    save_body([start.body], folder / "limb.glb")
    save_garment(start.garment, folder / "sleeve.glb")
    body = df.load_body(folder / "limb.glb")
    made = df.fit(body, df.load_garment(folder / "sleeve.glb", beside=body))
    assert body.skeleton is not None
    driver = Driver(1, np.eye(3)[0], modelled_turn(body.skeleton, 1), ((0.7, 0.0), (1.9, 1.0)))
    moved = 0.01 * np.where(np.abs(made.base[:, 1:2]) < 0.05, made.base, 0.0)
    fit = replace(made, correctives=(Corrective(NAME, driver, moved),))
    df.save(fit, folder / "fitted.glb")
    return folder / "fitted.glb", body, fit


def changed(path: Path, to: Path, change: Callable[[dict[str, Any]], None]) -> Path:
    """The file with its JSON changed."""
    data = path.read_bytes()
    (length,) = struct.unpack_from("<I", data, 12)
    tree, rest = json.loads(data[20 : 20 + length]), data[20 + length :]
    change(tree)
    text = json.dumps(tree).encode()
    text += b" " * (-len(text) % 4)
    to.write_bytes(struct.pack("<4sII", b"glTF", 2, 20 + len(text) + len(rest)) + struct.pack("<II", len(text), 0x4E4F534A) + text + rest)  # noqa: E501  # fmt: skip
    return to


def test_corrective_is_read_back_as_it_was_written(written: tuple[Path, Body, Fit]) -> None:
    path, body, fit = written
    back = df.load_fit(path, body)
    (mine,), (found,) = fit.correctives, back.correctives
    assert (found.name, found.driver.joint, found.driver.knots) == (NAME, 1, mine.driver.knots)
    assert np.array_equal(found.driver.axis, mine.driver.axis)
    stance = bent(80)
    assert np.abs(cloth_maps(back, stance) - cloth_maps(fit, stance)).max() < 1e-6
    assert np.abs(cloth_maps(fit, stance) - cloth_maps(replace(fit, correctives=()), stance)).max() > 1e-4


def test_garment_that_follows_as_filed_keeps_the_correctives_of_its_file(written: tuple[Path, Body, Fit]) -> None:
    path, body, _ = written
    as_filed = df.fit(body, df.load_garment(path, beside=body), df.Following(method="file"))
    assert [one.name for one in as_filed.correctives] == [NAME]
    assert not any("stayed out" in note for note in as_filed.garment.notes)


def test_target_is_sparse_and_stands_behind_the_morphs(written: tuple[Path, Body, Fit]) -> None:
    path, body, _ = written
    tree: dict[str, Any] = {}
    changed(path, path.with_name("same.glb"), tree.update)
    (mesh,) = tree["meshes"]
    assert mesh["extras"]["targetNames"] == [*body.morph_names, NAME]
    (row,) = mesh["extras"]["correctives"]["targets"]
    assert row["index"] == len(body.morph_names)
    assert tree["nodes"][row["node"]]["name"] == row["joint"] == "lower"
    accessor = tree["accessors"][mesh["primitives"][0]["targets"][-1]["POSITION"]]
    assert accessor["sparse"]["count"] < accessor["count"] / 2


def test_clip_of_a_target_moves_its_weight_alone_and_its_time_is_the_angle(written: tuple[Path, Body, Fit]) -> None:
    path, _, fit = written
    tree: dict[str, Any] = {}
    changed(path, path.with_name("clip.glb"), tree.update)
    (clip,) = tree["animations"]
    turn, weight = clip["channels"]
    (row,) = tree["meshes"][0]["extras"]["correctives"]["targets"]
    assert turn["target"] == {"node": row["node"], "path": "rotation"}
    (node,) = [index for index, one in enumerate(tree["nodes"]) if "mesh" in one]
    pointer = weight["target"]["extensions"]["KHR_animation_pointer"]["pointer"]
    assert pointer == f"/nodes/{node}/weights/{row['index']}"
    assert tree["extensionsUsed"] == ["KHR_animation_pointer"]
    times = tree["accessors"][clip["samplers"][1]["input"]]
    assert (times["min"], times["max"]) == ([0.0], [pytest.approx(fit.correctives[0].driver.knots[-1][0])])


def _table(tree: dict[str, Any]) -> dict[str, Any]:
    return tree["meshes"][0]["extras"]["correctives"]["targets"][0]


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda tree: _table(tree).update(joint="wing"), "is driven by 'wing', no joint of this body"),
        (lambda tree: _table(tree).update(joint="upper"), "is driven by 'upper', no joint of this body below another"),
        (lambda tree: _table(tree).update(bind=[0, 0, 1, 0]), "another modelled turn of 'lower' than this body"),
        (lambda tree: _table(tree).update(axis=[1, 1, 0]), "has a driver that cannot be"),
        (lambda tree: _table(tree).update(knots=[[1, 0], [0, 1]]), "has a driver that cannot be"),
        (lambda tree: _table(tree).update(knots=[[1]]), "has a driver that cannot be"),
        (lambda tree: _table(tree).update(target="gone"), "names 'gone', no target"),
        (lambda tree: _table(tree).pop("axis"), "is no table of corrective targets"),
        (lambda tree: tree["meshes"][0]["extras"]["correctives"].update(schema="x"), "is of schema 'x'"),
    ],
)
def test_table_that_cannot_be_meant_is_refused_with_its_place(
    written: tuple[Path, Body, Fit], tmp_path: Path, change: Callable[[dict[str, Any]], None], told: str
) -> None:
    path, body, _ = written
    with pytest.raises(FileError, match=f"correctives.*{told}"):
        df.load_fit(changed(path, tmp_path / "bad.glb", change), body)


def test_corrective_for_another_cloth_or_without_joint_weights_is_refused(
    written: tuple[Path, Body, Fit], tmp_path: Path
) -> None:
    _, _, fit = written
    (one,) = fit.correctives
    with pytest.raises(MatchError, match="`correctives` must move the"):
        replace(fit, correctives=(replace(one, delta=one.delta[:-1]),))
    with pytest.raises(ArgumentError, match="must be of a garment with joint weights"):
        df.save(replace(fit, skin=None), tmp_path / "bare.glb")
