"""Files compressed with Draco: decoded by DracoPy, targets beside them untouched, and what does not fit is refused."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dressform.errors import FileError
from dressform.fit.make import make_fit
from dressform.formats.gltf import draco
from dressform.formats.gltf.builder import Builder
from dressform.formats.gltf.document import parse_document, read_document
from dressform.formats.gltf.fit_file import load_fit
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.gltf.read import read_scene
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.load import load_body, load_garment
from dressform.garment.following import DEFAULT_FOLLOWING
from nodetools import node
from phantoms import phantom_body, phantom_tube

DracoPy = pytest.importorskip("DracoPy", reason="needs DracoPy")

QUANTUM = 1.0 / 2**15
"""Metres: 16 bits over a garment of less than 2 m, and a half of it for the decoder's own rounding."""


def compressed(path: Path, *, keep_targets: bool = True, preserve_order: bool = False) -> Path:
    """The body of `path` with its positions and triangles coded by DracoPy; targets in the decoder's order."""
    document = read_document(path)
    stored = read_scene(document, 0)
    data = DracoPy.encode(
        stored.vertices.astype(np.float32),
        stored.faces.astype(np.uint32),
        quantization_bits=16,
        preserve_order=preserve_order,
    )
    decoded = DracoPy.decode(data)
    # Which vertex each decoded one is, by place: they lie far apart against the rounding.
    away = np.linalg.norm(decoded.points[:, None] - stored.vertices[None], axis=2)
    order = away.argmin(axis=1)
    builder = Builder({"asset": {"version": "2.0"}, "scene": 0, "scenes": [{"nodes": [0]}], "nodes": [{"mesh": 0}]})
    view = builder.add_view(data)
    (position,) = [one["unique_id"] for one in decoded.attributes if one["attribute_type"] == 0]
    for kind, count, code in (("VEC3", len(decoded.points), 5126), ("SCALAR", decoded.faces.size, 5125)):
        builder.add("accessors", {"componentType": code, "count": count, "type": kind})
    targets = [{"POSITION": builder.add_floats(delta[order], bounds=True)} for delta in stored.deltas]
    told = {"bufferView": view, "attributes": {"POSITION": position}}
    primitive: dict[str, Any] = {"attributes": {"POSITION": 0}, "indices": 1, "extensions": {draco.EXTENSION: told}}
    if keep_targets:
        primitive["targets"] = targets
    builder.add("meshes", {"primitives": [primitive], "extras": {"targetNames": list(stored.morph_names)}})
    builder.json |= {"extensionsUsed": [draco.EXTENSION], "extensionsRequired": [draco.EXTENSION]}
    path.with_name("compressed.glb").write_bytes(builder.glb())
    return path.with_name("compressed.glb")


@pytest.fixture(scope="module")
def body_path(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("draco") / "phantom.glb"
    save_body(phantom_body(rings=16, sides=12), path)
    return path


@pytest.mark.parametrize("preserve_order", [False, True])
def test_a_body_coded_by_another_library_is_read_with_its_targets(preserve_order: bool, body_path: Path) -> None:
    whole, small = load_body(body_path).body, load_body(compressed(body_path, preserve_order=preserve_order)).body
    places = np.linalg.norm(small.vertices[:, None] - whole.vertices[None], axis=2)
    same = places.argmin(axis=1)
    assert places.min(axis=1).max() < QUANTUM
    assert sorted(same) == list(range(len(whole.vertices)))
    np.testing.assert_allclose(small.deltas, whole.deltas[:, same], atol=1e-6)
    assert {frozenset(face) for face in same[small.faces]} == {frozenset(face) for face in whole.faces}


@pytest.mark.node
@pytest.mark.parametrize("method", ["edgebreaker", "sequential"])
def test_a_fitted_garment_that_another_program_compressed_is_read_back(
    method: str, body_path: Path, tmp_path: Path
) -> None:
    body_file = load_body(body_path)
    save_garment(phantom_tube(rings=8, sides=12), tmp_path / "tube.glb")
    garment_file = load_garment(tmp_path / "tube.glb", beside=body_file.body)
    fit = make_fit(body_file.body, garment_file.garment, DEFAULT_FOLLOWING)
    save_fit(fit, garment_file, body_file, tmp_path / "fitted.glb")
    node("draco.mjs", tmp_path / "fitted.glb", tmp_path / "small.glb", method)
    assert read_document(tmp_path / "small.glb").json.get("extensionsRequired") is None
    assert b"KHR_draco_mesh_compression" in (tmp_path / "small.glb").read_bytes()
    back = load_fit(tmp_path / "small.glb", body_file.body)
    places = np.linalg.norm(back.base[:, None] - fit.base[None], axis=2)
    same = places.argmin(axis=1)
    assert places.min(axis=1).max() < QUANTUM
    np.testing.assert_allclose(back.deltas, fit.deltas[:, same], atol=1e-6)


def changed(path: Path, change: Any) -> bytes:
    """A compressed file after a change to its JSON."""
    data = path.read_bytes()
    length = int.from_bytes(data[12:16], "little")
    tree = json.loads(data[20 : 20 + length])
    change(tree)
    builder = Builder(tree, data[28 + length :])
    return builder.glb()


def _told(tree: dict[str, Any]) -> dict[str, Any]:
    found: dict[str, Any] = tree["meshes"][0]["primitives"][0]["extensions"][draco.EXTENSION]
    return found


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (lambda tree: _told(tree).update(bufferView=99), "names buffer view 99 of"),
        (lambda tree: _told(tree).update(attributes={"POSITION": 7}), "names the attribute 7, which is not among"),
        (lambda tree: _told(tree).update(attributes={"NORMAL": 0}), "holds NORMAL, which the primitive does not have"),
        (lambda tree: _told(tree).pop("attributes"), "object missing required field `attributes`"),
        (lambda tree: tree["bufferViews"][0].update(byteLength=9), "cannot be decoded"),
        (lambda tree: tree["accessors"][0].update(count=7), r"× 3 numbers, its accessor tells 7 of VEC3"),
        (lambda tree: tree["accessors"][0].update(type="VEC4"), "its accessor tells .* of VEC4"),
        (lambda tree: tree["accessors"][2].update(count=3), r"targets\[0\].POSITION.*moves 3 vertices, decoded were"),
    ],
)
def test_what_is_damaged_or_does_not_fit_is_refused_in_one_line(change: Any, message: str, body_path: Path) -> None:
    data = changed(compressed(body_path), change)
    with pytest.raises(FileError, match=message) as refused:
        parse_document(body_path, data)
    assert "\n" not in str(refused.value)


def test_without_the_library_the_file_is_refused_with_how_to_install_it(
    body_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = compressed(body_path)
    monkeypatch.setattr(draco, "draco_library", lambda: None)
    with pytest.raises(FileError, match=r"which needs DracoPy. Install it: pip install 'dressform\[draco\]'"):
        load_body(path)


def test_damaged_streams_are_decoded_or_refused_and_nothing_else(body_path: Path) -> None:
    path = compressed(body_path)
    document = json.loads(path.read_bytes()[20 : 20 + int.from_bytes(path.read_bytes()[12:16], "little")])
    start = 28 + int.from_bytes(path.read_bytes()[12:16], "little")
    length, random, refused = document["bufferViews"][0]["byteLength"], np.random.default_rng(3), 0
    for _ in range(200):
        data = bytearray(path.read_bytes())
        data[start + int(random.integers(length))] = int(random.integers(256))
        try:
            parse_document(path, bytes(data))
        except FileError:
            refused += 1
    assert refused > 20
