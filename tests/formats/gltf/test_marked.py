"""Marks on a copy of a garment: colours by how bad it is, numbers, worst shapes, texts."""

from pathlib import Path

import numpy as np
import pytest

from dressform.formats.gltf.accessors import read_floats
from dressform.formats.gltf.document import read_document
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.gltf.marked import CLEAN_TO_GRAVE, Marks, colours, mark
from dressform.formats.gltf.materials import Material
from dressform.formats.gltf.read import read_scene
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.load import load_body, load_garment
from nodetools import validate
from solids import capped_body, made_fit, open_tube


def test_colours_go_from_pale_to_dark_as_it_gets_graver() -> None:
    shown = colours(np.linspace(0, 1, 50))
    np.testing.assert_allclose(shown[[0, -1]], CLEAN_TO_GRAVE[[0, -1]])
    light = shown @ (0.2126, 0.7152, 0.0722)  # relative luminance, linear sRGB
    assert (np.diff(light) < 0).all()


@pytest.mark.node
def test_a_marked_copy_holds_colours_numbers_worst_shapes_and_texts(tmp_path: Path) -> None:
    save_body(capped_body("keeper"), tmp_path / "body.glb")
    save_garment(open_tube(), tmp_path / "tube.glb", materials=(Material("wool"), Material("brass")))
    file, garment_file = load_body(tmp_path / "body.glb", units="m"), load_garment(tmp_path / "tube.glb", units="m")
    fit = made_fit(garment_file.garment, file.body)
    save_fit(fit, garment_file, file, tmp_path / "fitted.glb")
    high = np.clip((fit.base[:, 1] - 0.6) / 0.6, 0, 1)
    marks = Marks(
        fit.base,
        {"pucker": high, "depth": 1 - high},
        {"pucker": 0.2 * high, "depth": 30 * (1 - high)},
        {"worst 1": {"wider": 1.0, "belly": -0.5}},
        {"action A": "let it out"},
    )
    out = tmp_path / "marked.glb"
    out.write_bytes(mark((tmp_path / "fitted.glb").read_bytes(), out, marks))
    document = read_document(out)
    stored = read_scene(document, 0)
    for piece in stored.pieces:
        attributes = document.gltf.meshes[0].primitives[piece.primitive].attributes
        height = np.clip((stored.vertices[piece.start : piece.stop, 1] - 0.6) / 0.6, 0, 1)
        found = read_floats(document, attributes["_FAULT_DEPTH"], "", ("SCALAR",))[:, 0]
        np.testing.assert_allclose(found, 30 * (1 - height), atol=1e-5)
        for name, share in (("COLOR_0", np.maximum(height, 1 - height)), ("COLOR_1", height), ("COLOR_2", 1 - height)):
            shown = read_floats(document, attributes[name], "", ("VEC3",))
            np.testing.assert_allclose(shown, colours(share), atol=1e-5)
    names = document.json["meshes"][0]["extras"]
    assert names["faultColours"] == {"COLOR_0": "all", "COLOR_1": "pucker", "COLOR_2": "depth"}
    deltas = dict(zip(stored.morph_names, stored.deltas))
    np.testing.assert_allclose(deltas["worst 1"], deltas["wider"] - 0.5 * deltas["belly"], atol=1e-7)
    shown = [node for node in document.json["nodes"] if "mesh" in node]
    assert [node["extras"]["action A"] for node in shown] == ["let it out"]
    assert all(one["pbrMetallicRoughness"]["baseColorFactor"] == [1, 1, 1, 1] for one in document.json["materials"])
    assert validate(out) == []
