"""How targets are written: sparse or dense, with normals or without, those that move nothing or not."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dressform.body.range import Range
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit
from dressform.formats.gltf.accessors import read_floats
from dressform.formats.gltf.document import Document, read_document
from dressform.formats.gltf.fit_file import load_fit
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.gltf.morphs.target_memory import target_memory
from dressform.formats.gltf.morphs.target_style import TargetStyle, crowded_notes
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.load import BodyFile, load_body, load_garment
from gltf_files import CUBE, CUBE_FACES, Gltf, cube
from solids import capped_body, made_fit, open_tube


def body_file(tmp_path: Path) -> BodyFile:
    body = capped_body("keeper")
    save_body(
        replace(body, range=Range(body.morph_names, np.array([-0.5, 0.0]), np.array([1.0, 1.5]))), tmp_path / "body.glb"
    )
    return load_body(tmp_path / "body.glb", units="m")


def written(tmp_path: Path, garment: Path, style: TargetStyle, *, still: bool = False) -> tuple[Fit, Document, str]:
    """A fit of a garment written in a style; its first morph does not move it where `still` is said."""
    file, garment_file = body_file(tmp_path), load_garment(garment, units="m")
    fit = made_fit(garment_file.garment, file.body)
    if still:
        fit = replace(fit, deltas=fit.deltas * np.array([0.0, 1.0])[:, None, None])
    notes = save_fit(fit, garment_file, file, tmp_path / "fitted.glb", style=style)
    return fit, read_document(tmp_path / "fitted.glb"), " ".join(notes)


def tube(tmp_path: Path) -> Path:
    save_garment(open_tube(), tmp_path / "tube.glb")
    return tmp_path / "tube.glb"


def targets(document: Document) -> list[dict[str, int]]:
    return [target for one in document.gltf.meshes[0].primitives for target in one.targets]


def waving(tmp_path: Path, **turns: Any) -> Path:
    """A cube of flat sides with tangents and a target of its own that has positions and what is given."""
    made = Gltf()
    corners = 0.3 * CUBE[CUBE_FACES.ravel()] + (0, 0.7, 0)
    sides = np.repeat(np.cross(*np.swapaxes(np.diff(CUBE[CUBE_FACES], axis=1), 0, 1)), 3, axis=0)
    sides /= np.linalg.norm(sides, axis=1, keepdims=True)
    along = np.roll(np.abs(sides), 1, axis=1)
    bounds = {"min": np.float32(corners.min(axis=0)).tolist(), "max": np.float32(corners.max(axis=0)).tolist()}
    attributes = {
        "POSITION": made.accessor(corners, **bounds),
        "NORMAL": made.accessor(sides),
        "TANGENT": made.accessor(np.insert(along, 3, -1.0, axis=1)),
        "TEXCOORD_0": made.accessor(corners[:, :2]),
    }
    wind = corners @ TURN.T - corners
    bounds = {"min": np.float32(wind.min(axis=0)).tolist(), "max": np.float32(wind.max(axis=0)).tolist()}
    target = {"POSITION": made.accessor(wind, **bounds)}
    target |= {name: made.accessor(np.full(corners.shape, value)) for name, value in turns.items()}
    made.tree["meshes"] = [
        {"primitives": [{"attributes": attributes, "targets": [target]}], "extras": {"targetNames": ["wind"]}}
    ]
    made.tree["nodes"], made.tree["scenes"] = [{"mesh": 0, "name": "flag"}], [{"nodes": [0]}]
    return made.save(tmp_path / "flag.glb")


TURN = np.array([[0.0, 0, 1], [0, 1, 0], [-1, 0, 0]])  # a quarter turn about +Y


def test_dense_targets_have_no_sparse_part_and_play_the_same(tmp_path: Path) -> None:
    fit, document, _ = written(tmp_path, tube(tmp_path), TargetStyle("dense"), still=True)
    used = {index for target in targets(document) for index in target.values()}
    assert not any("sparse" in document.json["accessors"][index] for index in used)
    assert all("bufferView" in document.json["accessors"][index] for index in used)
    again = load_fit(tmp_path / "fitted.glb", fit.body)
    np.testing.assert_allclose(again.deltas, fit.deltas, atol=1e-7)


def test_targets_without_normals_have_positions_alone(tmp_path: Path) -> None:
    fit, document, _ = written(tmp_path, tube(tmp_path), TargetStyle(normals=False))
    assert {name for target in targets(document) for name in target} == {"POSITION"}
    assert "NORMAL" in document.gltf.meshes[0].primitives[0].attributes
    np.testing.assert_allclose(load_fit(tmp_path / "fitted.glb", fit.body).deltas, fit.deltas, atol=1e-7)


def test_a_morph_that_moves_nothing_is_left_out_and_read_back_as_zero(tmp_path: Path) -> None:
    fit, document, notes = written(tmp_path, tube(tmp_path), TargetStyle(still=False), still=True)
    assert "Left out, as they do not move tube: wider." in notes
    assert document.json["meshes"][0]["extras"]["targetNames"] == ["belly"]
    assert document.json["meshes"][0]["extras"]["stillMorphs"] == ["wider"]
    again = load_fit(tmp_path / "fitted.glb", fit.body)
    assert not np.any(again.deltas[0])
    np.testing.assert_allclose(again.deltas, fit.deltas, atol=1e-7)


def test_an_own_target_gets_the_normals_and_tangents_that_it_lacks(tmp_path: Path) -> None:
    """Where one lacks normals, one engine drops those of all targets, another takes the base normal as its change."""
    _, document, notes = written(tmp_path, waving(tmp_path), TargetStyle())
    assert "The garment's own morphs got the normals that they lacked" in notes
    primitive = document.gltf.meshes[0].primitives[0]
    assert {frozenset(target) for target in primitive.targets} == {frozenset({"POSITION", "NORMAL", "TANGENT"})}
    for name, types in (("NORMAL", ("VEC3",)), ("TANGENT", ("VEC4",))):
        before = read_floats(document, primitive.attributes[name], "", types)[:, :3]
        turned = read_floats(document, primitive.targets[0][name], "", ("VEC3",))
        np.testing.assert_allclose(before + turned, before @ TURN.T, atol=1e-6)


def test_an_own_target_with_normals_keeps_them_and_loses_them_where_none_are_written(tmp_path: Path) -> None:
    path = waving(tmp_path, NORMAL=0.25)
    _, document, _ = written(tmp_path, path, TargetStyle())
    own = document.gltf.meshes[0].primitives[0].targets[0]
    np.testing.assert_allclose(read_floats(document, own["NORMAL"], "", ("VEC3",)), 0.25)
    _, document, notes = written(tmp_path, path, TargetStyle(normals=False))
    assert "own morphs lost their normals" in notes
    assert {name for target in targets(document) for name in target} == {"POSITION"}


def test_tangents_turn_with_each_target_and_with_a_repaired_base(tmp_path: Path) -> None:
    file, garment_file = body_file(tmp_path), load_garment(waving(tmp_path), units="m")
    points = garment_file.garment.vertices
    turned = points @ TURN.T
    fit = Fit(file.body, garment_file.garment, made_fit(garment_file.garment, file.body).following, turned,
              np.stack([turned @ TURN.T - turned, 0 * points]))  # fmt: skip
    save_fit(fit, garment_file, file, tmp_path / "fitted.glb")
    document, source = read_document(tmp_path / "fitted.glb"), garment_file.document
    assert source is not None
    before = read_floats(source, source.gltf.meshes[0].primitives[0].attributes["TANGENT"], "", ("VEC4",))
    primitive = document.gltf.meshes[0].primitives[0]
    base = read_floats(document, primitive.attributes["TANGENT"], "", ("VEC4",))
    np.testing.assert_allclose(base[:, :3], before[:, :3] @ TURN.T, atol=1e-6)
    np.testing.assert_allclose(base[:, 3], before[:, 3])
    change = read_floats(document, primitive.targets[1]["TANGENT"], "", ("VEC3",))
    np.testing.assert_allclose(base[:, :3] + change, before[:, :3] @ TURN.T @ TURN.T, atol=1e-6)


def test_the_range_of_each_slider_travels_in_the_file_and_is_read_back(tmp_path: Path) -> None:
    fit, document, _ = written(tmp_path, tube(tmp_path), TargetStyle())
    assert fit.body.range.low.tolist() == [-0.5, 0.0]  # from the body's own file
    assert document.json["meshes"][0]["extras"]["morphRanges"] == {"wider": [-0.5, 1.0], "belly": [0.0, 1.5]}
    assert not any("was written for" in note for note in load_fit(tmp_path / "fitted.glb", fit.body).garment.notes)
    narrow = replace(fit.body, range=Range.unit(fit.body.morph_names))
    notes = load_fit(tmp_path / "fitted.glb", narrow).garment.notes
    assert "The garment was written for wider from -0.5 to 1; here it goes from 0 to 1 (and 1 more)." in notes


def test_a_range_file_goes_before_the_range_in_the_body_and_odd_extras_are_told(tmp_path: Path) -> None:
    body_file(tmp_path)
    (tmp_path / "body.range.toml").write_text("[range]\nbelly = [0, 2]\n")
    found = load_body(tmp_path / "body.glb", units="m").body.range
    assert (found.low.tolist(), found.high.tolist()) == ([0.0, 0.0], [1.0, 2.0])
    made = cube(scale=1.7)
    primitive = made.tree["meshes"][0]["primitives"][0]
    primitive["targets"] = [{"POSITION": made.accessor(0 * CUBE, min=[0.0] * 3, max=[0.0] * 3)}]
    made.tree["meshes"][0]["extras"] = {"targetNames": ["wide"], "morphRanges": {"wide": [1, 0], "none": 3}}
    body = load_body(made.save(tmp_path / "odd.glb")).body
    assert (body.range.low.tolist(), body.range.high.tolist()) == ([0.0], [1.0])
    assert any("`meshes[0].extras.morphRanges.wide` is [1, 0], no interval" in note for note in body.notes)


@pytest.mark.parametrize("style", [TargetStyle("dense"), TargetStyle("dense", normals=False), TargetStyle()])
def test_what_targets_weigh_is_counted_as_an_engine_holds_them(style: TargetStyle, tmp_path: Path) -> None:
    _, document, _ = written(tmp_path, tube(tmp_path), style, still=True)
    found = target_memory(document)
    vertices = sum(
        document.gltf.accessors[one.attributes["POSITION"]].count for one in document.gltf.meshes[0].primitives
    )
    attributes = 2 if style.normals else 1
    assert (found.count, found.held) == (2, 2 * attributes * vertices * 12)
    moving = [document.json["accessors"][index] for target in targets(document)[1::2] for index in target.values()]
    views = document.json["bufferViews"]
    own = [one.get("sparse") for one in moving]
    expected = sum(
        views[one["bufferView"]]["byteLength"] if part is None
        else sum(views[part[key]["bufferView"]]["byteLength"] for key in ("indices", "values"))
        for one, part in zip(moving, own)
    )  # fmt: skip
    assert found.stored == expected
    assert found.words().startswith("2 morph targets, on average ")


@pytest.mark.parametrize(
    ("targets", "attributes", "said"),
    [
        (64, 1, ["64 targets of 1 attribute each; the standard asks a client for 8 morphed attributes"]),
        (65, 1, ["65 morph targets; engines are known that play no mesh with more than 64", "65 targets of 1"]),
        (5, 2, ["which are 4 active morphs. --no-normals writes one attribute a target."]),
        (4, 2, []),
        (8, 1, []),
    ],
)
def test_more_targets_than_clients_play_are_told_with_the_reason(
    targets: int, attributes: int, said: list[str]
) -> None:
    notes = crowded_notes("guernsey", targets, attributes)
    assert len(notes) == len(said)
    assert all(part in note for part, note in zip(said, notes))


def test_an_unknown_encoding_is_refused() -> None:
    with pytest.raises(ArgumentError, match="`encoding` must be one of sparse, dense, got 'tight'"):
        TargetStyle("tight")


def test_scene_node_and_mesh_have_names_of_their_own(tmp_path: Path) -> None:
    """Readers rename two of them where they share one."""
    tube(tmp_path)
    body_file(tmp_path)
    for path, name in ((tmp_path / "tube.glb", "tube"), (tmp_path / "body.glb", "keeper")):
        tree = read_document(path).json
        names = [entry["name"] for key in ("scenes", "nodes", "meshes") for entry in tree[key]]
        assert len(set(names)) == len(names)
        assert name in names
