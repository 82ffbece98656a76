"""A fitted file made small: no vertex is off by more than is told, and the file is a fraction of the dense one."""

import json
import struct
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dressform.errors import ArgumentError, FileError
from dressform.fit.fit import Fit
from dressform.formats.gltf.accessors import read_floats
from dressform.formats.gltf.document import Document, read_document
from dressform.formats.gltf.fit_file import load_fit
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.gltf.meshopt.order import first_use, neighbouring_order
from dressform.formats.gltf.meshopt.slots import kept_slots
from dressform.formats.gltf.morphs.basis import BASIS
from dressform.formats.gltf.morphs.bound import bound_over_range
from dressform.formats.gltf.morphs.target_memory import target_memory
from dressform.formats.gltf.morphs.target_style import TargetStyle
from dressform.formats.gltf.optimise import Optimised, optimise
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.load import load_body, load_garment
from dressform.jobs.save import made_small
from nodetools import validate
from solids import capped_body, made_fit, open_tube, tube


def small(tmp_path: Path, *, allowed: float = 1e-4) -> tuple[Fit, Fit, Optimised]:
    """A fit, what is read back of it from the small file, and that file, at `small.glb`."""
    save_body(capped_body("keeper"), tmp_path / "body.glb")
    save_garment(open_tube(), tmp_path / "tube.glb")
    file, garment_file = load_body(tmp_path / "body.glb", units="m"), load_garment(tmp_path / "tube.glb", units="m")
    fit = made_fit(garment_file.garment, file.body)
    save_fit(fit, garment_file, file, tmp_path / "fitted.glb", style=TargetStyle("dense"))
    made = optimise((tmp_path / "fitted.glb").read_bytes(), tmp_path / "small.glb", allowed=allowed)
    (tmp_path / "small.glb").write_bytes(made.data)
    return fit, load_fit(tmp_path / "small.glb", file.body), made


@pytest.mark.parametrize("allowed", [1e-3, 1e-4, 1e-5])
def test_no_vertex_is_off_by_more_than_is_told_at_any_shape(allowed: float, tmp_path: Path) -> None:
    fit, again, made = small(tmp_path, allowed=allowed)
    assert made.error <= allowed
    shapes = np.random.default_rng(3).uniform(size=(40, 2)).round()
    there = np.linalg.norm(again.base[:, None] - fit.base[None], axis=2)
    assert (there.min(axis=1) <= allowed).all()
    match = there.argmin(axis=1)
    assert len(set(match)) == len(fit.base)
    worst = max(float(np.linalg.norm(again.at(one) - fit.at(one)[match], axis=1).max()) for one in shapes)
    assert 0.0 < worst <= made.error + 1e-8  # what float32 alone loses


def test_what_a_basis_leaves_out_is_told_with_what_rounding_adds(tmp_path: Path) -> None:
    fit, *_ = small(tmp_path)
    asked = 2e-3
    made = made_small(fit, style=TargetStyle(basis=asked))
    (told,) = (mesh.extras[BASIS]["error_mm"] for mesh in written(tmp_path, made.data).gltf.meshes)
    there = np.linalg.norm(made.fit.base[:, None] - fit.base[None], axis=2).argmin(axis=1)
    shapes = np.random.default_rng(4).uniform(size=(40, 2)).round()
    worst = max(float(np.linalg.norm(made.fit.at(one) - fit.at(one)[there], axis=1).max()) for one in shapes)
    assert worst <= told * 1e-3 + 1e-8
    assert told <= asked * 1e3
    basis = made_small(fit, style=TargetStyle(basis=asked), compress=False)
    (alone,) = (mesh.extras[BASIS]["error_mm"] for mesh in written(tmp_path, basis.data).gltf.meshes)
    assert told > alone


def written(tmp_path: Path, data: bytes) -> Document:
    (tmp_path / "written.glb").write_bytes(data)
    return read_document(tmp_path / "written.glb")


def test_a_bound_over_a_box_of_weights_is_reached_at_one_of_its_corners() -> None:
    """In one coordinate the bound is exact; in three it is at most 2.5 % too large."""
    rng = np.random.default_rng(8)
    base, deltas, ranges = rng.normal(size=(30, 3)), rng.normal(size=(4, 30, 3)), np.tile([-0.5, 1.5], (4, 1))
    corners = [np.where([mask >> k & 1 for k in range(4)], 1.5, -0.5) for mask in range(16)]
    flat_base, flat = base * (1, 0, 0), deltas * (1, 0, 0)
    reached = max(float(np.linalg.norm(flat_base + np.tensordot(one, flat, 1), axis=1).max()) for one in corners)
    assert bound_over_range(flat_base, flat, ranges) == pytest.approx(reached)
    reached = max(float(np.linalg.norm(base + np.tensordot(one, deltas, 1), axis=1).max()) for one in corners)
    assert reached <= bound_over_range(base, deltas, ranges) <= 1.025 * reached


def test_what_targets_of_a_small_file_weigh_is_what_they_take_in_it(tmp_path: Path) -> None:
    _, _, made = small(tmp_path)
    tree, _ = split(made.data)
    used = {index for one in tree["meshes"][0]["primitives"] for target in one["targets"] for index in target.values()}
    views = [tree["bufferViews"][view] for view in {tree["accessors"][index]["bufferView"] for index in used}]
    packed = sum(one["extensions"]["EXT_meshopt_compression"]["byteLength"] for one in views if "extensions" in one)
    plain = sum(one["byteLength"] for one in views if "extensions" not in one)
    found = target_memory(read_document(tmp_path / "small.glb"))
    assert (found.stored, packed > 0) == (packed + plain, True)
    assert found.held == 12 * sum(tree["accessors"][index]["count"] for index in used)


def test_what_the_garment_came_with_and_its_joints_are_still_there(tmp_path: Path) -> None:
    fit, again, made = small(tmp_path)
    before, after = read_document(tmp_path / "fitted.glb"), read_document(tmp_path / "small.glb")
    for key in ("nodes", "scenes", "materials", "skins"):
        assert after.json.get(key) == before.json.get(key)
    assert again.garment.part_names == fit.garment.part_names
    assert again.skin is not None
    assert fit.skin is not None
    match = np.linalg.norm(again.base[:, None] - fit.base[None], axis=2).argmin(axis=1)
    np.testing.assert_allclose(again.skin.dense(2), fit.skin.dense(2)[match], atol=2.5 / 4096)
    np.testing.assert_allclose(again.garment.strength, fit.garment.strength[match])
    for one in after.gltf.meshes[0].primitives:
        weights = read_floats(after, one.attributes["WEIGHTS_0"], "", ("VEC4",))
        assert np.abs(weights.sum(axis=1) - 1).max() < 1e-12
        normals = read_floats(after, one.attributes["NORMAL"], "", ("VEC3",))
        assert np.abs(np.linalg.norm(normals, axis=1) - 1).max() < 1e-4
    assert len(made.data) < made.was


@pytest.mark.node
def test_the_official_validator_finds_nothing_wrong(tmp_path: Path) -> None:
    small(tmp_path)
    assert validate(tmp_path / "small.glb") == []


def test_less_than_float32_can_hold_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ArgumentError, match="`allowed` must be more than float32 loses by itself, got 1e-08 mm"):
        small(tmp_path, allowed=1e-11)


def with_unused(file: Path, *, extension: str | None = None) -> bytes:
    """The file with 400 positions more, which nothing uses, as its last accessor."""
    tree, binary = split(file.read_bytes())
    more = np.random.default_rng(1).normal(size=(400, 3)).astype("<f4").tobytes()
    tree["bufferViews"].append({"buffer": 0, "byteOffset": len(binary), "byteLength": len(more)})
    view = len(tree["bufferViews"]) - 1
    tree["accessors"].append({"bufferView": view, "componentType": 5126, "count": 400, "type": "VEC3"})
    tree["buffers"][0]["byteLength"] = len(binary) + len(more)
    if extension is not None:
        tree["extensionsUsed"] = [*tree.get("extensionsUsed", ()), extension]
    return joined(tree, binary + more, file.with_name("more.glb")).read_bytes()


def test_positions_that_nothing_uses_leave_their_number_and_no_bytes(tmp_path: Path) -> None:
    _, _, made = small(tmp_path)
    file, path = tmp_path / "fitted.glb", tmp_path / "small.glb"
    more = optimise(with_unused(file), path)
    assert len(more.data) < len(made.data) + 150
    assert more.was == pytest.approx(made.was, abs=900)  # of 4,800 more; JSON is written with blanks
    tree, _ = split(more.data)
    assert "bufferView" not in tree["accessors"][-1]
    assert tree["accessors"][-1]["count"] == 400
    kept = optimise(with_unused(file, extension="ACME_ropes"), path)
    assert len(kept.data) > len(made.data) + 4800


def test_each_vertex_keeps_its_joints_in_places_that_change_seldom() -> None:
    rng = np.random.default_rng(5)
    weights = np.abs(np.cumsum(rng.normal(size=(300, 6)), axis=0)) * (rng.uniform(size=6) > 0.1)
    joints = np.argsort(-weights, axis=1)[:, :4]  # as most files have them: the heaviest first
    shares = np.take_along_axis(weights, joints, axis=1)
    slots = kept_slots(joints, shares)
    assert (np.sort(slots, axis=1) == np.arange(4)).all()
    placed = np.take_along_axis(joints, slots, axis=1)
    changes = [int((np.diff(one, axis=0) != 0).sum()) for one in (joints, placed)]
    assert changes[1] < 0.7 * changes[0]


def test_triangles_in_the_new_order_are_the_same_and_follow_each_other() -> None:
    vertices, faces = tube(height=1.0, radius=0.2)
    faces = np.random.default_rng(0).permutation(faces)
    order = neighbouring_order(faces, vertices)
    assert sorted(order) == list(range(len(faces)))
    shared = [len(set(a) & set(b)) for a, b in zip(faces[order], faces[order][1:])]
    assert np.mean(np.array(shared) >= 1) > 0.9
    used = first_use(faces, len(np.unique(faces)) + 2)
    assert sorted(used) == list(range(len(used)))
    assert set(used[-2:]) == {len(used) - 2, len(used) - 1}


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"mode": "POINTS"}, "has the mode 'POINTS'"),
        ({"filter": "SHARPEN"}, "has the filter 'SHARPEN'"),
        ({"byteStride": 6}, "rows of 6 bytes"),
        ({"count": 10**9}, "bytes for a view of"),
        ({"byteLength": 10**9}, "lies outside its buffer"),
        ({"buffer": 7}, "lies outside its buffer"),
        ({"count": "many"}, "expected `int`"),
        ({"byteOffset": 1}, "begin as a stream|bytes too many|too early|not finite|outside"),
    ],
)
def test_a_damaged_view_is_told_by_its_place(change: dict[str, object], told: str, tmp_path: Path) -> None:
    _, _, made = small(tmp_path)
    tree, binary = split(made.data)
    told_of = (one["extensions"]["EXT_meshopt_compression"] for one in tree["bufferViews"] if "extensions" in one)
    next(one for one in told_of if one["mode"] == "ATTRIBUTES").update(change)
    with pytest.raises(FileError, match=rf"bufferViews\[\d+\].*({told})"):
        read_document(joined(tree, binary, tmp_path / "damaged.glb"))


def test_a_placeholder_that_asks_for_too_much_memory_is_refused(tmp_path: Path) -> None:
    _, _, made = small(tmp_path)
    tree, binary = split(made.data)
    tree["buffers"][1]["byteLength"] = 2**40
    with pytest.raises(FileError, match="the limit is 2 GiB"):
        read_document(joined(tree, binary, tmp_path / "bomb.glb"))
    tree["buffers"][1]["byteLength"] = 2**27
    for view in [one for one in tree["bufferViews"] if "extensions" in one][:6]:  # many that are allowed one by one
        tree["buffers"].append({"byteLength": 2**27})
        view["buffer"] = len(tree["buffers"]) - 1
    with pytest.raises(FileError, match="the limit is 2 GiB"):
        read_document(joined(tree, binary, tmp_path / "bomb.glb"))


def test_a_small_file_can_be_fitted_again(tmp_path: Path) -> None:
    fit, again, _ = small(tmp_path)
    file, garment_file = load_body(tmp_path / "body.glb", units="m"), load_garment(tmp_path / "small.glb", units="m")
    refit = replace(made_fit(garment_file.garment, file.body), deltas=again.deltas)
    save_fit(refit, garment_file, file, tmp_path / "again.glb")
    document = read_document(tmp_path / "again.glb")
    assert "EXT_meshopt_compression" not in str(document.json)
    np.testing.assert_allclose(load_fit(tmp_path / "again.glb", fit.body).deltas, again.deltas, atol=1e-6)


def split(data: bytes) -> tuple[dict[str, Any], bytes]:
    size = struct.unpack_from("<I", data, 12)[0]
    return json.loads(data[20 : 20 + size]), data[28 + size :]


def joined(tree: dict[str, Any], binary: bytes, path: Path) -> Path:
    text = json.dumps(tree).encode()
    text += b" " * (-len(text) % 4)
    body = struct.pack("<II", len(text), 0x4E4F534A) + text + struct.pack("<II", len(binary), 0x004E4942) + binary
    path.write_bytes(struct.pack("<4sII", b"glTF", 2, 12 + len(body)) + body)
    return path
