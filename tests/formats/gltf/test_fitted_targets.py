"""Targets of a fitted file: normals that turn with the surface, sparse where that is smaller, names and zeros."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from dressform.formats.gltf.accessors import read_floats
from dressform.formats.gltf.document import read_document
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.gltf.save import save_garment
from dressform.formats.load import load_garment
from dressform.mesh.geometry import vertex_normals
from fitted_files import TURN, body_file, linear_fit, saved
from gltf_files import CUBE, CUBE_FACES, Gltf, cube
from solids import made_fit, open_tube


def test_target_normals_are_the_turn_of_the_surface(tmp_path: Path) -> None:
    save_garment(open_tube(), tmp_path / "tube.glb")
    file, garment_file = body_file(tmp_path, rigged=False), load_garment(tmp_path / "tube.glb")
    fit = linear_fit(garment_file, file.body, [TURN, 3 * np.eye(3)])
    save_fit(fit, garment_file, file, tmp_path / "fitted.glb")
    document = read_document(tmp_path / "fitted.glb")
    smooth = vertex_normals(garment_file.garment.vertices, garment_file.garment.faces)
    for piece in garment_file.stored.pieces:
        primitive = document.gltf.meshes[0].primitives[piece.primitive]
        normals = smooth[garment_file.file_to_cloth[piece.start : piece.stop]]
        turned, grown = (read_floats(document, target["NORMAL"], "", ("VEC3",)) for target in primitive.targets)
        np.testing.assert_allclose(turned, normals @ TURN.T - normals, atol=2e-4)
        np.testing.assert_allclose(grown, 0.0, atol=2e-4)


@pytest.mark.parametrize("scale", [[1, 1, 1], [1, 2, 3]])
def test_hard_edges_stay_hard_while_they_turn(scale: list[int], tmp_path: Path) -> None:
    made = Gltf()
    corners = CUBE[CUBE_FACES.ravel()]
    sides = np.repeat(np.cross(*np.swapaxes(np.diff(CUBE[CUBE_FACES], axis=1), 0, 1)), 3, axis=0)
    sides /= np.linalg.norm(sides, axis=1, keepdims=True)
    attributes = {"POSITION": made.accessor(corners), "NORMAL": made.accessor(sides)}
    made.tree["meshes"] = [{"primitives": [{"attributes": attributes}]}]
    made.tree["nodes"] = [{"mesh": 0, "scale": scale}]
    file = body_file(tmp_path, rigged=False)
    garment_file = load_garment(made.save(tmp_path / "buckle.glb"))
    fit = linear_fit(garment_file, file.body, [TURN, np.eye(3)])
    save_fit(fit, garment_file, file, tmp_path / "fitted.glb")
    document = read_document(tmp_path / "fitted.glb")
    target = document.gltf.meshes[0].primitives[0].targets[0]
    delta = read_floats(document, target["NORMAL"], "", ("VEC3",))
    local = sides @ TURN.T  # along axes, so that the node's scale changes no direction
    np.testing.assert_allclose(sides + delta, local, atol=2e-4)


def test_missing_normals_are_added_smooth(tmp_path: Path) -> None:
    _, garment_file, document, _ = saved(tmp_path, cube(scale=0.2).save(tmp_path / "box.glb"))
    index = document.gltf.meshes[0].primitives[0].attributes["NORMAL"]
    smooth = vertex_normals(garment_file.garment.vertices, garment_file.garment.faces)
    found = read_floats(document, index, "", ("VEC3",))
    np.testing.assert_allclose(found, smooth[garment_file.file_to_cloth], atol=1e-6)


def test_sparse_is_used_exactly_where_it_is_smaller(tmp_path: Path) -> None:
    file, tube = body_file(tmp_path, rigged=False), open_tube()
    save_garment(replace(tube, part_names=("tube",), face_parts=0 * tube.face_parts), tmp_path / "tube.glb")
    garment_file = load_garment(tmp_path / "tube.glb")
    fit = made_fit(garment_file.garment, file.body)
    deltas = fit.deltas.copy()
    deltas[1] = 0
    deltas[1, 5] = (0.01, 0, 0)
    save_fit(replace(fit, deltas=deltas), garment_file, file, tmp_path / "fitted.glb")
    document = read_document(tmp_path / "fitted.glb")
    dense, sparse = (target["POSITION"] for target in document.gltf.meshes[0].primitives[0].targets)
    assert document.json["accessors"][sparse]["sparse"]["count"] == 1
    assert "byteOffset" not in document.json["accessors"][sparse]
    assert "sparse" not in document.json["accessors"][dense]


def test_what_a_target_leaves_out_lies_in_one_shared_view_of_zeros(tmp_path: Path) -> None:
    """glTF allows an accessor without a view; readers are known that refuse it or read something else."""
    file, tube = body_file(tmp_path, rigged=False), open_tube()
    save_garment(replace(tube, part_names=("tube",), face_parts=0 * tube.face_parts), tmp_path / "tube.glb")
    garment_file = load_garment(tmp_path / "tube.glb")
    fit = made_fit(garment_file.garment, file.body)
    save_fit(replace(fit, deltas=0 * fit.deltas), garment_file, file, tmp_path / "still.glb")
    document = read_document(tmp_path / "still.glb")
    still = [
        document.json["accessors"][index]
        for target in document.gltf.meshes[0].primitives[0].targets
        for index in (target["POSITION"], target["NORMAL"])
    ]
    (view,) = {accessor["bufferView"] for accessor in still}
    entry = document.json["bufferViews"][view]
    data = document.buffers[entry["buffer"]][entry["byteOffset"] :][: entry["byteLength"]]
    assert entry["byteLength"] >= 12 * max(accessor["count"] for accessor in still)
    assert entry["byteStride"] == 12
    assert not any(data)
