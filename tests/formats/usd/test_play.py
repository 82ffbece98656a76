"""A fitted garment as USD, played by the library itself: blend shapes and joints lie where ours do."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dressform.body.skeleton import Skeleton
from dressform.fit.make import make_fit
from dressform.formats.load import load_body, load_garment
from dressform.formats.usd.write import save_usd_fit
from dressform.garment.following import DEFAULT_FOLLOWING
from phantoms import phantom_files
from usd_files import matrices, usd_body, usd_garment, vec3f

pytest.importorskip("pxr", reason="needs usd-core")

from pxr import Gf, Usd, UsdGeom, UsdSkel, UsdValidation

SAME_PLACE = 1e-5
"""Metres."""


@pytest.mark.parametrize(
    ("ending", "scale", "up", "garment"),
    [
        (".usdc", 100.0, "Y", "usd"),
        (".usda", 1.0, "Y", "usd"),
        (".usdz", 1.0, "Z", "obj"),
    ],
)
def test_the_library_plays_a_fitted_garment_where_ours_is(
    ending: str, scale: float, up: str, garment: str, tmp_path: Path
) -> None:
    body_file = load_body(usd_body(tmp_path / "phantom.usdc", scale=scale, up=up))
    path = usd_garment(tmp_path / "tube.usda", scale=scale) if garment == "usd" else phantom_files(tmp_path)[1]
    garment_file = load_garment(path, beside=body_file.body)
    fit = make_fit(body_file.body, garment_file.garment, DEFAULT_FOLLOWING)
    out = tmp_path / f"fitted{ending}"
    save_usd_fit(fit, garment_file, body_file, out)
    skeleton = body_file.body.skeleton
    assert skeleton is not None
    assert fit.skin is not None
    random = np.random.default_rng(7)
    for _ in range(3):
        weights = random.uniform(-0.5, 1.5, size=len(fit.morph_names))
        local = _turned(skeleton, random)
        ours = fit.skin.pose(fit.at(weights), skeleton.world(local) @ skeleton.inverse_bind)
        theirs = played(out, dict(zip(fit.morph_names, weights)), local, skeleton)
        away = np.linalg.norm(ours[garment_file.file_to_cloth] - theirs, axis=1) if garment == "usd" else None
        if away is None:  # a fresh file splits vertices in its own order
            away = np.linalg.norm(ours[:, None] - theirs[None], axis=2).min(axis=0)
        assert away.max() < SAME_PLACE
        assert np.abs(ours - fit.base).max() > 0.01


@pytest.mark.parametrize("scale", [(0.5, 0.5, 0.5), (2.0, 1.0, 0.5)])
def test_the_library_plays_it_below_a_root_that_is_turned_and_scaled(
    scale: tuple[float, float, float], tmp_path: Path
) -> None:
    body_file = load_body(usd_body(tmp_path / "phantom.usda"))
    path = usd_garment(tmp_path / "tube.usda")
    stage = Usd.Stage.Open(str(path))
    mesh, root = UsdGeom.Mesh(stage.GetPrimAtPath("/tube_root/tube")), UsdGeom.Xform(stage.GetPrimAtPath("/tube_root"))
    there = np.array(mesh.GetPointsAttr().Get(), dtype=np.float64) + np.array([0.0, 0.5, 0.0])
    root.AddRotateYOp().Set(30.0)
    root.AddScaleOp().Set(Gf.Vec3f(*scale))
    back = np.linalg.inv(np.array(root.ComputeLocalToWorldTransform(0.0)).T)
    mesh.GetPointsAttr().Set(vec3f(there @ back[:3, :3].T + back[:3, 3]))
    stage.GetRootLayer().Save()
    garment_file = load_garment(path, beside=body_file.body)
    fit = make_fit(body_file.body, garment_file.garment, DEFAULT_FOLLOWING)
    save_usd_fit(fit, garment_file, body_file, tmp_path / "fitted.usdc")
    skeleton = body_file.body.skeleton
    assert skeleton is not None
    assert fit.skin is not None
    weights, local = np.array([1.2, -0.4, 0.7]), _turned(skeleton, np.random.default_rng(3))
    ours = fit.skin.pose(fit.at(weights), skeleton.world(local) @ skeleton.inverse_bind)
    theirs = played(tmp_path / "fitted.usdc", dict(zip(fit.morph_names, weights)), local, skeleton)
    assert np.linalg.norm(ours[garment_file.file_to_cloth] - theirs, axis=1).max() < SAME_PLACE


def _turned(skeleton: Skeleton, random: np.random.Generator) -> np.ndarray:
    """Each joint turned by up to a radian about an axis of its own, local transforms."""
    local = skeleton.rest.copy()
    for joint in range(len(local)):
        axis = random.normal(size=3)
        turn = Gf.Matrix3d(Gf.Rotation(Gf.Vec3d(*axis), float(random.uniform(-57, 57))))
        local[joint, :3, :3] = local[joint, :3, :3] @ np.array(turn).T
    return local


def played(path: Path, weights: dict[str, float], local: np.ndarray, skeleton: Skeleton) -> np.ndarray:
    """Vertices in metres, +Y up, where `UsdSkel` bakes them at these weights and transforms of joints."""
    stage = Usd.Stage.Open(str(path))
    unit = UsdGeom.GetStageMetersPerUnit(stage)
    assert UsdGeom.GetStageUpAxis(stage) == "Y"
    animation = next(UsdSkel.Animation(prim) for prim in stage.Traverse() if prim.IsA(UsdSkel.Animation))
    bones = next(UsdSkel.Skeleton(prim) for prim in stage.Traverse() if prim.IsA(UsdSkel.Skeleton))
    animation.GetBlendShapeWeightsAttr().Set([weights[name] for name in animation.GetBlendShapesAttr().Get()])
    assert list(bones.GetJointNamesAttr().Get()) == list(skeleton.names)
    scaled = local.copy()
    scaled[:, :3, 3] /= unit
    inward = np.linalg.inv(np.array(UsdGeom.Xformable(bones.GetPrim()).ComputeLocalToWorldTransform(0.0)).T)
    size = np.cbrt(np.linalg.det(inward))  # joints have no scale of their own
    scaled = skeleton.local(inward @ skeleton.world(scaled) @ np.diag([1 / size, 1 / size, 1 / size, 1.0]))
    animation.CreateJointsAttr(bones.GetJointsAttr().Get())
    animation.SetTransforms(matrices(scaled))
    top = next(UsdSkel.Root(prim) for prim in stage.Traverse() if prim.IsA(UsdSkel.Root))
    assert UsdSkel.BakeSkinning(top, Gf.Interval(0, 0))
    found = []
    for prim in stage.Traverse():
        if prim.IsA(UsdGeom.Mesh):
            points = np.array(UsdGeom.Mesh(prim).GetPointsAttr().Get(0.0), dtype=np.float64)
            matrix = np.array(UsdGeom.Xformable(prim).ComputeLocalToWorldTransform(0.0)).T
            found.append(points @ matrix[:3, :3].T + matrix[:3, 3])
    return np.concatenate(found) * unit


def test_normals_turn_with_the_blend_shapes(tmp_path: Path) -> None:
    body_file = load_body(usd_body(tmp_path / "phantom.usda"))
    garment_file = load_garment(usd_garment(tmp_path / "tube.usda"), beside=body_file.body)
    fit = make_fit(body_file.body, garment_file.garment, DEFAULT_FOLLOWING)
    save_usd_fit(fit, garment_file, body_file, tmp_path / "fitted.usda")
    before, after = (normals(tmp_path / "fitted.usda", belly) for belly in (0.0, 1.0))
    # Where the belly bulges forward above the middle of the bump, the cloth faces farther up, below it farther down.
    points = fit.base[garment_file.file_to_cloth]
    ahead = points[:, 2] > 0.15
    above, below = ahead & (np.abs(points[:, 1] - 1.1) < 0.04), ahead & (np.abs(points[:, 1] - 0.9) < 0.04)
    assert above.any()
    assert below.any()
    assert np.abs(before[above | below, 1]).max() < 1e-6
    assert after[above, 1].min() > 0.05
    assert after[below, 1].max() < -0.05
    np.testing.assert_allclose(np.linalg.norm(after, axis=1), 1.0, atol=1e-3)


def normals(path: Path, belly: float) -> np.ndarray:
    """Normals of the first mesh at a weight of `belly`, as the library bakes them."""
    stage = Usd.Stage.Open(str(path))
    animation = next(UsdSkel.Animation(prim) for prim in stage.Traverse() if prim.IsA(UsdSkel.Animation))
    names = list(animation.GetBlendShapesAttr().Get())
    animation.GetBlendShapeWeightsAttr().Set([belly if name == "belly" else 0.0 for name in names])
    top = next(UsdSkel.Root(prim) for prim in stage.Traverse() if prim.IsA(UsdSkel.Root))
    assert UsdSkel.BakeSkinning(top, Gf.Interval(0, 0))
    mesh = next(UsdGeom.Mesh(prim) for prim in stage.Traverse() if prim.IsA(UsdGeom.Mesh))
    return np.array(mesh.GetNormalsAttr().Get(0.0), dtype=np.float64)


def findings(path: Path) -> list[str]:
    """What the validators of the library find wrong with a file."""
    registry = UsdValidation.ValidationRegistry()
    context = UsdValidation.ValidationContext(registry.GetOrLoadAllValidators())
    stage: Any = Usd.Stage.Open(str(path))
    return [f"{found.GetName()}: {found.GetMessage()}" for found in context.Validate(stage)]


@pytest.mark.parametrize("ending", [".usda", ".usdc", ".usd", ".usdz"])
def test_the_librarys_validators_find_nothing_wrong(ending: str, tmp_path: Path) -> None:
    body_file = load_body(usd_body(tmp_path / "phantom.usda"))
    garment_file = load_garment(usd_garment(tmp_path / "tube.usda"), beside=body_file.body)
    fit = make_fit(body_file.body, garment_file.garment, DEFAULT_FOLLOWING)
    save_usd_fit(fit, garment_file, body_file, tmp_path / f"fitted{ending}")
    assert findings(tmp_path / f"fitted{ending}") == []


def test_the_validators_would_find_a_binding_that_was_not_applied(tmp_path: Path) -> None:
    path = usd_body(tmp_path / "phantom.usda")
    assert findings(path) == []
    stage = Usd.Stage.Open(str(path))
    stage.GetPrimAtPath("/phantom_root/phantom").RemoveAppliedSchema("SkelBindingAPI")
    stage.GetRootLayer().Save()
    assert any("SkelBindingAPI" in one for one in findings(path))
