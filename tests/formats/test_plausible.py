"""Files that cannot be meant are refused with the reason; what may be meant is told once."""

from pathlib import Path

import numpy as np
import pytest

from dressform.errors import FileError
from dressform.formats.frames.plausible import judge_inputs
from dressform.formats.load import load_body, load_garment
from dressform.jobs import load as jobs
from gltf_files import Gltf
from people import Mesh, ball, belt, person, person_mesh, skirt
from realdata import real


def scene_file(path: Path, meshes: dict[str, Mesh], *, morphs: dict[str, int] | None = None) -> Path:
    """A GLB of one scene, as other programs write it: one node per mesh, of that name, with so many morphs."""
    made = Gltf()
    made.tree["meshes"], made.tree["nodes"] = [], []
    for name, (vertices, faces) in meshes.items():
        bounds = {"min": np.float32(vertices.min(axis=0)).tolist(), "max": np.float32(vertices.max(axis=0)).tolist()}
        primitive = {
            "attributes": {"POSITION": made.accessor(vertices, **bounds)},
            "indices": made.accessor(faces.reshape(-1, 1), "u4"),
        }
        zero = {"min": [0.0] * 3, "max": [0.0] * 3}
        count = (morphs or {}).get(name, 0)
        if count:
            primitive["targets"] = [{"POSITION": made.accessor(0 * vertices, **zero)} for _ in range(count)]
        made.tree["meshes"].append({"primitives": [primitive], "name": f"{name} mesh"})
        made.tree["nodes"].append({"mesh": len(made.tree["nodes"]), "name": name})
    made.tree["scenes"] = [{"name": "Scene", "nodes": list(range(len(meshes)))}]
    return made.save(path)


def child() -> Mesh:
    return 0.8 * person_mesh()[0], person_mesh()[1]


def test_two_bodies_in_one_scene_are_refused_and_either_is_read_by_its_name(tmp_path: Path) -> None:
    path = scene_file(tmp_path / "pair.glb", {"keeper": person_mesh(), "daughter": child()})
    with pytest.raises(FileError, match=r"pair.glb: body: holds 2 bodies that were read as one: 'keeper', 'daughter'"):
        judge_inputs(load_body(path).body, needs_morphs=False)
    for name, stature in (("keeper", 1.0), ("daughter", 0.8)):
        for base in (name, f"{name} mesh"):
            found = load_body(path, base=base)
            assert found.body.name == base
            assert found.body.stature == pytest.approx(stature * person().stature, rel=1e-5)
            assert judge_inputs(found.body, needs_morphs=False)[0].startswith("The body has no morphs")


def test_a_body_that_shares_its_scene_with_another_is_told_so(tmp_path: Path) -> None:
    """As modelling tools leave several base bodies; clothing beside a body is no body."""
    path = scene_file(tmp_path / "pair.glb", {"keeper": person_mesh(), "daughter": child(), "dress": skirt()})
    note = "The scene also shows daughter: engines play both at once. Write each body to a file of its own."
    assert note in jobs.load_body(path, base="keeper").notes
    path = scene_file(tmp_path / "dressed.glb", {"keeper": person_mesh(), "dress": skirt()})
    assert not any("also shows" in one for one in jobs.load_body(path, base="keeper").notes)


def test_two_bodies_on_one_armature_are_told_with_its_joints(tmp_path: Path) -> None:
    made = Gltf()
    made.tree["meshes"], made.tree["nodes"] = [], [{"name": "root", "children": [1]}, {"name": "chest"}]
    matrices = made.accessor(np.tile(np.eye(4).ravel(), (2, 1)))
    made.tree["skins"] = [{"joints": [0, 1], "inverseBindMatrices": matrices}]
    for name, (vertices, faces) in {"keeper": person_mesh(), "daughter": child()}.items():
        bounds = {"min": np.float32(vertices.min(axis=0)).tolist(), "max": np.float32(vertices.max(axis=0)).tolist()}
        attributes = {
            "POSITION": made.accessor(vertices, **bounds),
            "JOINTS_0": made.accessor(np.zeros((len(vertices), 4)), "u1"),
            "WEIGHTS_0": made.accessor(np.tile([1.0, 0, 0, 0], (len(vertices), 1))),
        }
        primitive = {"attributes": attributes, "indices": made.accessor(faces.reshape(-1, 1), "u4")}
        made.tree["nodes"].append({"mesh": len(made.tree["meshes"]), "name": name, "skin": 0})
        made.tree["meshes"].append({"primitives": [primitive]})
    made.tree["scenes"] = [{"name": "Scene", "nodes": [0, 2, 3]}]
    notes = jobs.load_body(made.save(tmp_path / "pair.glb"), base="daughter").notes
    assert any("The scene also shows keeper, on one armature of 2 joints: engines play both" in one for one in notes)


@pytest.mark.parametrize("aside", [0.0, 1.5])
def test_two_bodies_in_one_mesh_are_refused(aside: float, tmp_path: Path) -> None:
    vertices, faces = person_mesh()
    together = (
        np.concatenate([vertices, 0.9 * vertices + [aside, 0, 0.01]]),
        np.concatenate([faces, faces + len(vertices)]),
    )
    path = scene_file(tmp_path / "pair.glb", {"all": together})
    with pytest.raises(FileError, match="holds 2 bodies that were read as one: 'piece 1', 'piece "):
        judge_inputs(load_body(path).body, needs_morphs=False)


def test_a_body_and_its_dress_in_one_file_are_told(tmp_path: Path) -> None:
    path = scene_file(tmp_path / "dressed.glb", {"keeper": person_mesh(), "dress": skirt()}, morphs={"keeper": 2})
    (note,) = judge_inputs(load_body(path).body, needs_morphs=True)
    assert note == (
        "The body's file also holds what looks like clothing, 'dress', which counts as skin: "
        "--base keeper reads the body alone."
    )
    assert judge_inputs(load_body(path, base="keeper").body, needs_morphs=True) == ()


def test_eyes_and_hair_are_no_clothing(tmp_path: Path) -> None:
    eyes = ball((0.03, 1.62, 0.075), (0.012, 0.012, 0.012))
    hair = ball((0.0, 1.66, -0.02), (0.1, 0.09, 0.12))
    path = scene_file(tmp_path / "body.glb", {"body": person_mesh(), "eyes": eyes, "hair": hair}, morphs={"body": 1})
    assert judge_inputs(load_body(path).body, needs_morphs=True) == ()


def test_a_garment_that_holds_the_body_is_refused(tmp_path: Path) -> None:
    body_file = load_body(scene_file(tmp_path / "body.glb", {"keeper": person_mesh()}, morphs={"keeper": 1}))
    dressed = scene_file(tmp_path / "dressed.glb", {"keeper": person_mesh(), "dress": skirt()})
    garment_file = load_garment(dressed, beside=body_file.body)
    with pytest.raises(FileError, match=r"garment: holds the body itself, 'keeper'. Export the garment alone"):
        judge_inputs(body_file.body, [garment_file.garment], needs_morphs=True)
    alone = load_garment(scene_file(tmp_path / "dress.glb", {"dress": skirt()}), beside=body_file.body)
    assert judge_inputs(body_file.body, [alone.garment], needs_morphs=True) == ()


def test_a_body_without_morphs_is_measured_with_a_note_and_refused_where_cloth_must_follow(tmp_path: Path) -> None:
    found = load_body(scene_file(tmp_path / "body.glb", {"keeper": person_mesh()}))
    assert judge_inputs(found.body, needs_morphs=False) == (
        "The body has no morphs: it has one shape, and nothing for a garment to follow.",
    )
    with pytest.raises(FileError, match=r"has no morphs, so there is nothing for a garment to follow. Export it with"):
        judge_inputs(found.body, needs_morphs=True)


def test_a_garment_with_more_morphs_than_its_body_is_told(tmp_path: Path) -> None:
    body_file = load_body(scene_file(tmp_path / "body.glb", {"keeper": person_mesh()}, morphs={"keeper": 2}))
    for count in (2, 3):
        path = scene_file(tmp_path / f"belt{count}.glb", {"belt": belt()}, morphs={"belt": count})
        notes = judge_inputs(body_file.body, [load_garment(path, beside=body_file.body).garment], needs_morphs=True)
        told = ("belt3 has 3 morphs and its body 2: if the files were swapped, every figure is wrong.",)
        assert notes == (told if count == 3 else ())


@pytest.mark.data
@pytest.mark.parametrize("name", ["bodies/mean_male.obj", "loader/human-female.glb"])
def test_a_real_body_is_plausible(name: str) -> None:
    assert len(judge_inputs(load_body(real(name)).body, needs_morphs=False)) == 1
