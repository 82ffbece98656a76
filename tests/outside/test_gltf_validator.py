"""The official glTF validator finds neither an error nor a warning in anything that is written."""

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.body.skeleton import Skeleton
from dressform.body.stances.driver import Driver, modelled_turn
from dressform.fit.corrective import Corrective
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.gltf.materials import Material
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.load import load_body, load_garment
from gltf_files import CUBE, cube
from nodetools import validate
from realdata import real
from solids import capped_body, made_fit, open_tube

pytestmark = pytest.mark.node

PNG = bytes.fromhex(
    "89504e470d0a1a0a0000000d4948445200000001000000010802000000907753de0000000c49444154789c63f8cfc0000003010100"
    "18dd8db00000000049454e44ae426082"
)


def plain_tube(path: Path) -> None:
    save_garment(open_tube(), path)


def tube_with_seams(path: Path) -> None:
    uv = np.random.default_rng(1).random((144, 3, 2))
    save_garment(open_tube(), path, uv=uv, materials=(Material("wool", picture=PNG), Material("brass", metalness=1.0)))


def tube_below_nodes(path: Path) -> None:
    made = cube(scale=0.4)
    made.tree["nodes"] = [
        {"name": "hanger", "children": [1, 2], "scale": [0.5, 1, 2], "translation": [0, 0.5, 0]},
        {"name": "left", "mesh": 0, "rotation": [0, 0.6, 0, 0.8]},
        {"name": "right", "mesh": 0, "scale": [-1, 1, 1]},
    ]
    made.save(path)


def lines_and_own_morphs(path: Path) -> None:
    made = cube(scale=0.4)
    mesh = made.tree["meshes"][0]
    mesh["primitives"][0]["targets"] = [{"POSITION": made.accessor(np.zeros((8, 3)), min=[0] * 3, max=[0] * 3)}]
    points = made.accessor(0.4 * CUBE[:2], min=[0, 0, 0], max=[0, 0, float(np.float32(0.4))])
    zero = made.accessor(np.zeros((2, 3)), min=[0] * 3, max=[0] * 3)
    mesh["primitives"].append({"attributes": {"POSITION": points}, "mode": 1, "targets": [{"POSITION": zero}]})
    mesh.update(weights=[0.5], extras={"targetNames": ["flutter"]})
    times = made.accessor([0.0, 1.0], min=[0.0], max=[1.0])
    sampler = {"input": times, "output": made.accessor([0.0, 1.0])}
    channel = {"sampler": 0, "target": {"node": 0, "path": "weights"}}
    made.tree["animations"] = [{"samplers": [sampler], "channels": [channel]}]
    made.save(path)


def quantised_cube(path: Path) -> None:
    made = cube(scale=0.4)
    attributes = made.tree["meshes"][0]["primitives"][0]["attributes"]
    grid = np.pad(CUBE * 65535, ((0, 0), (0, 1)))
    attributes["POSITION"] = made.accessor(grid, "u2", type="VEC3", normalized=True, min=[0] * 3, max=[65535] * 3)
    made.tree["bufferViews"][-1].update(byteStride=8, target=34962)
    made.tree["nodes"][0]["scale"] = [0.4, 0.4, 0.4]
    made.tree["extensionsRequired"] = made.tree["extensionsUsed"] = ["KHR_mesh_quantization"]
    made.save(path)


def obj_tube(path: Path) -> None:
    tube = open_tube()
    points = "".join(f"v {x} {y} {z}\n" for x, y, z in 100 * tube.vertices)
    path.with_suffix(".obj").write_text(points + "".join(f"f {a} {b} {c}\n" for a, b, c in tube.faces + 1))


GARMENTS = [plain_tube, tube_with_seams, tube_below_nodes, lines_and_own_morphs, quantised_cube, obj_tube]


def keeper() -> Body:
    """The body of the tests with a third morph that moves nothing at all."""
    body = capped_body("keeper")
    names = (*body.morph_names, "nothing")
    deltas = np.concatenate([body.deltas, np.zeros_like(body.deltas[:1])])
    return replace(body, morph_names=names, deltas=deltas, range=Range.unit(names))


def test_body_of_two_scenes_is_clean(tmp_path: Path) -> None:
    save_body([keeper(), capped_body("second", height=1.5)], tmp_path / "body.glb", material=Material("skin"))
    assert validate(tmp_path / "body.glb") == []


def test_skeleton_with_two_roots_is_clean(tmp_path: Path) -> None:
    body = keeper()
    assert body.skeleton is not None
    loose = Skeleton(body.skeleton.names, np.array([-1, -1]), body.skeleton.rest, body.skeleton.inverse_bind)
    save_body(replace(body, skeleton=loose), tmp_path / "body.glb")
    assert validate(tmp_path / "body.glb") == []


@pytest.mark.parametrize("rigged", [True, False], ids=["skinned", "bare"])
@pytest.mark.parametrize("make", GARMENTS, ids=lambda make: make.__name__)
def test_fitted_garment_is_clean(make: Callable[[Path], None], rigged: bool, tmp_path: Path) -> None:
    body = keeper() if rigged else replace(keeper(), skeleton=None, skin=None)
    save_body(body, tmp_path / "body.glb")
    make(tmp_path / "garment.glb")
    body_file = load_body(tmp_path / "body.glb")
    path = next(path for path in tmp_path.iterdir() if path.stem == "garment")
    garment_file = load_garment(path, units="cm" if path.suffix == ".obj" else None)
    save_fit(made_fit(garment_file.garment, body_file.body), garment_file, body_file, tmp_path / "fitted.glb")
    assert validate(tmp_path / "fitted.glb") == []


def test_garment_of_a_body_without_morphs_is_clean(tmp_path: Path) -> None:
    body = keeper()
    still = replace(body, morph_names=(), deltas=np.zeros((0, *body.vertices.shape)), range=Range.unit(()))
    save_body(still, tmp_path / "body.glb")
    plain_tube(tmp_path / "garment.glb")
    body_file, garment_file = load_body(tmp_path / "body.glb"), load_garment(tmp_path / "garment.glb")
    save_fit(made_fit(garment_file.garment, body_file.body), garment_file, body_file, tmp_path / "fitted.glb")
    assert validate(tmp_path / "body.glb", tmp_path / "fitted.glb") == []


def test_garment_with_corrective_targets_is_clean(tmp_path: Path) -> None:
    """Their clips need an extension that the validator does not know, which is an information and no warning."""
    save_body(keeper(), tmp_path / "body.glb")
    tube_below_nodes(tmp_path / "garment.glb")
    body_file, garment_file = load_body(tmp_path / "body.glb"), load_garment(tmp_path / "garment.glb")
    fit = made_fit(garment_file.garment, body_file.body)
    assert fit.body.skeleton is not None
    driver = Driver(1, np.eye(3)[2], modelled_turn(fit.body.skeleton, 1), ((0.8, 0.0), (2.0, 1.0)))
    fit = replace(fit, correctives=(Corrective("corrective chest", driver, 0.01 * fit.base),))
    save_fit(fit, garment_file, body_file, tmp_path / "fitted.glb")
    assert validate(tmp_path / "fitted.glb") == []


@pytest.mark.data
def test_fitted_real_samples_are_clean(tmp_path: Path) -> None:
    save_body(keeper(), tmp_path / "body.glb")
    body_file = load_body(tmp_path / "body.glb")
    written = []
    for name in (
        "loader/SimpleMorph/glTF/SimpleMorph.gltf",
        "loader/MorphPrimitivesTest/glTF/MorphPrimitivesTest.gltf",
        "loader/AnimatedMorphCube/glTF/AnimatedMorphCube.gltf",
        "loader/singleBlendshapeCube_sparse.glb",
        "loader/RiggedSimple.glb",
        "loader/human-female.glb",
        "garments/tshirt.obj",
    ):
        garment_file = load_garment(real(name), units="m")
        written.append(tmp_path / f"{garment_file.garment.name}.glb")
        save_fit(made_fit(garment_file.garment, body_file.body), garment_file, body_file, written[-1])
    assert validate(*written) == []


@pytest.mark.data
def test_real_skinned_body_is_clean(tmp_path: Path) -> None:
    save_body(load_body(real("loader/human-female.glb")).body, tmp_path / "body.glb")
    assert validate(tmp_path / "body.glb") == []


def test_validator_does_find_what_is_wrong(tmp_path: Path) -> None:
    cube(mode=9).save(tmp_path / "cube.glb")
    assert {issue["code"] for issue in validate(tmp_path / "cube.glb")} == {"VALUE_NOT_IN_RANGE"}
