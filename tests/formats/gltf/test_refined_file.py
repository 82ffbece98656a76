"""A refined garment's file carries everything that the old one had, and a fit of it is written as any other."""

from pathlib import Path

import numpy as np
import pytest

from dressform.errors import ArgumentError
from dressform.formats.gltf.accessors import read_floats
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.gltf.refined_file import refine_file
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.load import GarmentFile, load_body, load_garment
from dressform.garment.garment import Garment
from dressform.mesh.topology import audit
from dressform.repair.bisect import Bisected, bisect
from dressform.repair.refine import refined_garment
from gltf_files import cube
from nodetools import validate
from phantoms import tube
from solids import capped_body, made_fit, open_tube


def _split(garment: Garment, *, smooth: bool = True) -> Bisected:
    """Some triangles halved several times, most not at all."""
    shrink = np.where(np.arange(len(garment.faces)) % 7 == 0, 5.0, 1.0)
    return bisect(garment.vertices, garment.faces, shrink, smooth=smooth)


def _worn(tmp_path: Path) -> GarmentFile:
    """A tube of two parts whose texture jumps along a seam, with strength that is not 1."""
    garment = open_tube()
    around = np.arctan2(garment.vertices[:, 0], garment.vertices[:, 2])[garment.faces] / (2 * np.pi)
    around = np.where((np.ptp(around, axis=1) > 0.5)[:, None] & (around < 0), around + 1, around)
    uv = np.stack([around, garment.vertices[garment.faces][:, :, 1]], axis=2)
    save_garment(garment, tmp_path / "tube.glb", uv=uv)
    return load_garment(tmp_path / "tube.glb", units="m")


def _attribute(file: GarmentFile, name: str) -> np.ndarray:
    """An attribute at every stored vertex, primitive after primitive."""
    assert file.document is not None
    meshes = file.document.json["meshes"]
    kinds = ("SCALAR", "VEC2", "VEC3", "VEC4")
    return np.concatenate(
        [
            read_floats(file.document, meshes[p.mesh]["primitives"][p.primitive]["attributes"][name], name, kinds)
            for p in file.stored.pieces
        ]
    )


def test_texture_is_interpolated_on_each_side_of_a_seam(tmp_path: Path) -> None:
    file = _worn(tmp_path)
    split = _split(file.garment)
    made = refine_file(file, split)
    before, after = _attribute(file, "TEXCOORD_0"), _attribute(made, "TEXCOORD_0")
    faces = made.stored.faces[made.kept_faces]
    cloth = made.file_to_cloth[faces]
    assert np.array_equal(
        np.sort(cloth, axis=1)[np.lexsort(np.sort(cloth, axis=1).T)],
        np.sort(split.faces, axis=1)[np.lexsort(np.sort(split.faces, axis=1).T)],
    )
    wanted = split.per_corner(before[file.stored.faces[file.kept_faces]])
    order, other = np.lexsort(cloth.T), np.lexsort(split.faces.T)
    assert after[faces[order]] == pytest.approx(wanted[other], abs=1e-6)
    assert np.ptp(after[faces][:, :, 0], axis=1).max() < 0.2
    assert len(after) > len(split.vertices)


def test_positions_are_those_of_the_refined_mesh_and_no_seam_opens(tmp_path: Path) -> None:
    file = _worn(tmp_path)
    split = _split(file.garment)
    made = refine_file(file, split)
    assert made.stored.vertices == pytest.approx(split.vertices[made.file_to_cloth], abs=1e-6)
    found = audit(made.garment.vertices, made.garment.faces)
    assert found.shells == audit(file.garment.vertices, file.garment.faces).shells
    assert found.branching_edges == found.turned_edges == 0
    strengths = _attribute(made, "_STRENGTH")[:, 0]
    assert strengths == pytest.approx(made.garment.strength[made.file_to_cloth], abs=1e-6)
    assert made.garment.part_names == file.garment.part_names


def test_a_fit_of_it_is_saved_and_read_back(tmp_path: Path) -> None:
    save_body(capped_body("keeper"), tmp_path / "body.glb")
    body_file, file = load_body(tmp_path / "body.glb"), _worn(tmp_path)
    made = refine_file(file, _split(file.garment))
    fit = made_fit(made.garment, body_file.body)
    save_fit(fit, made, body_file, tmp_path / "fitted.glb")
    again = load_garment(tmp_path / "fitted.glb", units="m")
    assert len(again.garment.vertices) == len(made.garment.vertices)
    assert len(again.garment.faces) == len(made.garment.faces)
    assert again.stored.vertices == pytest.approx(fit.base[made.file_to_cloth], abs=1e-5)
    for delta, stored in zip(fit.deltas, again.stored.deltas):
        assert stored == pytest.approx(delta[made.file_to_cloth], abs=1e-5)


@pytest.mark.node
def test_the_official_validator_finds_nothing_in_it(tmp_path: Path) -> None:
    save_body(capped_body("keeper"), tmp_path / "body.glb")
    body_file, file = load_body(tmp_path / "body.glb"), _worn(tmp_path)
    made = refine_file(file, _split(file.garment))
    save_fit(made_fit(made.garment, body_file.body), made, body_file, tmp_path / "fitted.glb")
    assert validate(tmp_path / "fitted.glb") == []


def test_colours_own_morphs_joints_and_placed_nodes_come_along(tmp_path: Path) -> None:
    """Everything on this cube is affine in position, so the carried numbers are known at every new vertex."""
    made = cube()
    primitive = made.tree["meshes"][0]["primitives"][0]
    positions = np.array([[x, y, z] for x in (0, 1) for y in (0, 1) for z in (0, 1)], dtype=float)
    stored = load_garment(made.save(tmp_path / "plain.glb"), units="m").stored.vertices
    assert np.unique(stored, axis=0) == pytest.approx(positions)
    colour = np.concatenate([0.2 + 0.6 * stored, np.ones((8, 1))], axis=1)
    primitive["attributes"]["COLOR_0"] = made.accessor(np.round(colour * 255).astype(int), "u1", normalized=True)
    primitive["attributes"]["NORMAL"] = made.accessor(np.tile([0.0, 0.0, 1.0], (8, 1)))
    sides = np.stack([stored[:, 0], 1 - stored[:, 0]], axis=1)
    primitive["attributes"]["JOINTS_0"] = made.accessor(np.tile([1, 0, 0, 0], (8, 1)), "u1")
    primitive["attributes"]["WEIGHTS_0"] = made.accessor(np.pad(sides, ((0, 0), (0, 2))))
    shift = 0.1 * stored @ np.array([[0, 1, 0], [0, 0, 1], [1, 0, 0.0]])
    primitive["targets"] = [{"POSITION": made.accessor(shift, min=[0.0] * 3, max=[float(np.float32(0.1))] * 3)}]
    made.tree["nodes"] = [
        {"children": [1, 2], "scale": [0.5, 0.5, 0.5], "translation": [0, 0.5, 0]},
        {"mesh": 0, "rotation": [0, 0.6, 0, 0.8]},
        {"mesh": 0, "translation": [3, 0, 0], "scale": [-1, 1, 1]},
    ]
    file = load_garment(made.save(tmp_path / "cube.glb"), units="m")
    split = bisect(file.garment.vertices, file.garment.faces, np.where(np.arange(24) < 12, 4.0, 8.0), smooth=False)
    grown = refine_file(file, split)
    assert len(grown.stored.pieces) == 2
    assert grown.stored.pieces[0].mesh != grown.stored.pieces[1].mesh
    assert grown.stored.vertices == pytest.approx(split.vertices[grown.file_to_cloth], abs=1e-6)
    local = _attribute(grown, "POSITION")
    assert _attribute(grown, "COLOR_0")[:, :3] == pytest.approx(0.2 + 0.6 * local, abs=1e-6)
    assert np.linalg.norm(_attribute(grown, "NORMAL"), axis=1) == pytest.approx(1.0)
    assert grown.stored.deltas.shape[1] == len(local)
    moved = [grown.stored.deltas[0][p.start : p.stop] @ np.linalg.inv(p.matrix[:3, :3]).T for p in grown.stored.pieces]
    assert np.concatenate(moved) == pytest.approx(0.1 * local[:, [2, 0, 1]], abs=1e-6)
    weights, joints = _attribute(grown, "WEIGHTS_0"), _attribute(grown, "JOINTS_0")
    assert np.where(joints == 1, weights, 0).sum(axis=1) == pytest.approx(local[:, 0], abs=1e-6)
    turned = audit(grown.stored.vertices, grown.stored.faces)
    assert np.sign(turned.volumes).tolist() == np.sign(audit(file.stored.vertices, file.stored.faces).volumes).tolist()


def test_a_garment_that_is_no_gltf_gets_a_fresh_file(tmp_path: Path) -> None:
    vertices, faces = tube(rings=8, sides=12)
    lines = [f"v {x:.9g} {y:.9g} {z:.9g}" for x, y, z in vertices]
    half = len(faces) // 2
    groups = [["g low"], ["g high"]]
    for rows, group in zip((faces[:half] + 1, faces[half:] + 1), groups):
        group += [f"f {a} {b} {c}" for a, b, c in rows]
    (tmp_path / "tube.obj").write_text("\n".join([*lines, *groups[1], *groups[0]]) + "\n", encoding="utf-8")
    file = load_garment(tmp_path / "tube.obj", units="m")
    split = _split(file.garment)
    made = refine_file(file, split)
    assert made.document is not None
    assert made.frame.linear == pytest.approx(np.eye(3))
    assert made.stored.vertices == pytest.approx(split.vertices[made.file_to_cloth], abs=1e-6)
    assert made.stored.part_names == file.garment.part_names
    parts = made.stored.face_parts[made.kept_faces]
    assert np.bincount(parts).tolist() == np.bincount(refined_garment(file.garment, split).face_parts).tolist()


def test_the_split_of_another_garment_is_refused(tmp_path: Path) -> None:
    file = _worn(tmp_path)
    vertices, faces = tube(rings=4, sides=6)
    with pytest.raises(ArgumentError, match=r"refine_file: `split` must be a split of .*tube.glb .*, got 24"):
        refine_file(file, bisect(vertices, faces, np.ones(len(faces))))
