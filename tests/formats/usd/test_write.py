"""Fitted garments as USD: what the garment came with stays, what is added is read back, and what changes is said."""

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from dressform.body.stances.driver import Driver, modelled_turn
from dressform.errors import ArgumentError, FileError
from dressform.fit.corrective import Corrective
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit
from dressform.formats.gltf.fit_file import load_fit
from dressform.formats.gltf.morphs.target_style import TargetStyle
from dressform.formats.load import BodyFile, GarmentFile, load_body, load_garment
from dressform.formats.usd.memory import usd_target_memory
from dressform.formats.usd.write import save_usd_fit
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.jobs.save import made_small, save
from phantoms import phantom_files
from usd_files import add_shapes, usd_body, usd_garment, usd_mesh, vec3f

pytest.importorskip("pxr", reason="needs usd-core")

from pxr import Gf, Sdf, Usd, UsdGeom, UsdShade, UsdSkel


@pytest.fixture(scope="module")
def body_file(tmp_path_factory: pytest.TempPathFactory) -> BodyFile:
    return load_body(usd_body(tmp_path_factory.mktemp("body") / "phantom.usda"))


def fitted(body_file: BodyFile, path: Path) -> tuple[Fit, GarmentFile]:
    garment_file = load_garment(path, beside=body_file.body)
    return make_fit(body_file.body, garment_file.garment, DEFAULT_FOLLOWING), garment_file


def written(body_file: BodyFile, path: Path, out: Path, **style: Any) -> tuple[Fit, Any, tuple[str, ...]]:
    """The fit of a garment, the stage that was written, and what was said."""
    fit, garment_file = fitted(body_file, path)
    notes = save_usd_fit(fit, garment_file, body_file, out, style=TargetStyle(**style))
    return fit, Usd.Stage.Open(str(out)), notes


@pytest.mark.parametrize("ending", [".usda", ".usdc", ".usd", ".usdz"])
@pytest.mark.parametrize("encoding", ["sparse", "dense"])
def test_a_written_garment_is_read_back_as_it_was(
    ending: str, encoding: str, body_file: BodyFile, tmp_path: Path
) -> None:
    path = usd_garment(tmp_path / "tube.usda")
    fit, _, notes = written(body_file, path, tmp_path / f"fitted{ending}", encoding=encoding)
    back = load_fit(tmp_path / f"fitted{ending}", body_file.body)
    assert notes == ()
    np.testing.assert_allclose(back.base, fit.base, atol=1e-6)
    np.testing.assert_allclose(back.deltas, fit.deltas, atol=1e-6)
    assert fit.skin is not None
    assert back.skin is not None
    np.testing.assert_allclose(back.skin.dense(2), fit.skin.dense(2), atol=1e-6)


def test_the_same_garment_gives_the_same_bytes(body_file: BodyFile, tmp_path: Path) -> None:
    path = usd_garment(tmp_path / "tube.usda")
    for name in ("one.usdc", "two.usdc"):
        written(body_file, path, tmp_path / name)
    assert (tmp_path / "one.usdc").read_bytes() == (tmp_path / "two.usdc").read_bytes()


def test_what_a_garment_came_with_stays(body_file: BodyFile, tmp_path: Path) -> None:
    path = usd_garment(tmp_path / "tube.usda")
    before = Usd.Stage.Open(str(path))
    _, stage, _ = written(body_file, path, tmp_path / "fitted.usda")
    for prim in before.Traverse():
        after = stage.GetPrimAtPath(prim.GetPath())
        assert after
        for attribute in prim.GetAuthoredAttributes():
            assert after.GetAttribute(attribute.GetName()).Get() == attribute.Get()
    bound = UsdShade.MaterialBindingAPI(stage.GetPrimAtPath("/tube_root/tube")).ComputeBoundMaterial()[0]
    assert bound.GetPath() == "/tube_root/looks/wool"
    assert stage.GetDefaultPrim().GetName() == "tube_root"
    assert stage.GetPrimAtPath("/tube_root").GetTypeName() == "SkelRoot"


def test_the_garments_own_file_is_left_as_it_was(body_file: BodyFile, tmp_path: Path) -> None:
    path = usd_garment(tmp_path / "tube.usda")
    was = path.read_bytes()
    written(body_file, path, tmp_path / "fitted.usda")
    assert path.read_bytes() == was


def test_own_blend_shapes_stay_in_front_and_one_of_a_morphs_name_is_replaced(
    body_file: BodyFile, tmp_path: Path
) -> None:
    path = usd_garment(tmp_path / "tube.usda")
    stage = Usd.Stage.Open(str(path))
    mesh = UsdGeom.Mesh(stage.GetPrimAtPath("/tube_root/tube"))
    count = len(mesh.GetPointsAttr().Get())
    add_shapes(stage, mesh, {"open": np.full((count, 3), 0.01), "belly": np.full((count, 3), 0.5)})
    stage.GetRootLayer().Save()
    fit, after, notes = written(body_file, path, tmp_path / "fitted.usda")
    names = list(after.GetPrimAtPath("/tube_root/tube").GetAttribute("skel:blendShapes").Get())
    assert names == ["open", "belly", "girth", "tall"]
    assert any("own blend shapes stay in front of the body's: open" in note for note in notes)
    np.testing.assert_allclose(load_fit(tmp_path / "fitted.usda", body_file.body).deltas, fit.deltas, atol=1e-6)


def test_a_mesh_at_the_top_of_its_stage_gets_a_root(body_file: BodyFile, tmp_path: Path) -> None:
    path = tmp_path / "tube.usda"
    source = load_garment(phantom_files(tmp_path)[1]).garment
    stage = Usd.Stage.CreateNew(str(path))
    UsdGeom.SetStageMetersPerUnit(stage, 1.0)
    stage.SetDefaultPrim(usd_mesh(stage, "/tube", source.vertices, source.faces).GetPrim())
    stage.GetRootLayer().Save()
    _, after, _ = written(body_file, path, tmp_path / "fitted.usda")
    assert [str(prim.GetPath()) for prim in after.GetPseudoRoot().GetChildren()] == ["/tube_root"]
    assert after.GetDefaultPrim().GetTypeName() == "SkelRoot"
    assert after.GetPrimAtPath("/tube_root/tube").IsA(UsdGeom.Mesh)


def test_each_instance_follows_by_itself(body_file: BodyFile, tmp_path: Path) -> None:
    model = usd_garment(tmp_path / "tube.usda")
    path = tmp_path / "pair.usda"
    stage = Usd.Stage.CreateNew(str(path))
    UsdGeom.SetStageMetersPerUnit(stage, 1.0)
    for number in range(2):
        prim = UsdGeom.Xform.Define(stage, f"/pair/tube_{number}")
        prim.AddTranslateOp().Set(Gf.Vec3d(0, 0.1 * number, 0))
        part = stage.DefinePrim(f"/pair/tube_{number}/model")
        part.GetReferences().AddReference(f"./{model.name}")
        part.SetInstanceable(True)
    stage.GetRootLayer().Save()
    fit, after, _ = written(body_file, path, tmp_path / "fitted.usdc")
    shapes = [prim for prim in after.Traverse() if prim.IsA(UsdSkel.BlendShape)]
    assert len(shapes) == 2 * len(fit.morph_names)
    np.testing.assert_allclose(load_fit(tmp_path / "fitted.usdc", body_file.body).deltas, fit.deltas, atol=1e-6)


def test_pictures_go_into_a_package_or_are_named_from_where_the_file_lies(body_file: BodyFile, tmp_path: Path) -> None:
    (tmp_path / "model").mkdir()
    (tmp_path / "out").mkdir()
    Image.new("RGB", (2, 2), "navy").save(tmp_path / "model/wool.png")
    Image.new("RGB", (3, 3), "red").save(tmp_path / "secret.png")
    path = usd_garment(tmp_path / "model/tube.usda")
    stage = Usd.Stage.Open(str(path))
    for name, asset in (("wool", "./wool.png"), ("far", "../secret.png")):
        shader = UsdShade.Shader.Define(stage, f"/tube_root/looks/wool/{name}")
        shader.CreateIdAttr("UsdUVTexture")
        shader.CreateInput("file", Sdf.ValueTypeNames.Asset).Set(Sdf.AssetPath(asset))
    stage.GetRootLayer().Save()
    _, after, _ = written(body_file, path, tmp_path / "out/fitted.usda")
    named = after.GetAttributeAtPath("/tube_root/looks/wool/wool.inputs:file").Get()
    assert named.path == "../model/wool.png"
    assert Path(named.resolvedPath) == tmp_path / "model/wool.png"
    _, packed, notes = written(body_file, path, tmp_path / "out/fitted.usdz")
    assert any("secret.png" in note for note in notes)
    assert packed.GetAttributeAtPath("/tube_root/looks/wool/wool.inputs:file").Get().resolvedPath
    assert packed.GetAttributeAtPath("/tube_root/looks/wool/far.inputs:file").Get() is None
    data = (tmp_path / "out/fitted.usdz").read_bytes()
    assert data.count((tmp_path / "model/wool.png").read_bytes()) == 1
    assert (tmp_path / "secret.png").read_bytes() not in data


def test_ranges_still_morphs_and_a_basis_travel_with_the_file(body_file: BodyFile, tmp_path: Path) -> None:
    fit, garment_file = fitted(body_file, usd_garment(tmp_path / "tube.usda"))
    deltas = fit.deltas.copy()
    deltas[1] = 0.0
    still = replace(fit, deltas=deltas)
    notes = save_usd_fit(still, garment_file, body_file, tmp_path / "still.usda", style=TargetStyle(still=False))
    assert any("do not move the garment: girth" in note for note in notes)
    np.testing.assert_allclose(load_fit(tmp_path / "still.usda", body_file.body).deltas, deltas, atol=1e-6)
    wide = replace(body_file.body, range=replace(body_file.body.range, high=np.array([2.0, 1.0, 1.0])))
    assert any(
        "written for belly from 0 to 1; here it goes from 0 to 2" in note
        for note in load_fit(tmp_path / "still.usda", wide).garment.notes
    )
    doubled = fit.deltas.copy()
    doubled[2] = 2 * doubled[0] - doubled[1]
    fewer = replace(fit, deltas=doubled)
    small = made_small(fewer, style=TargetStyle(basis=1e-5), compress=False, suffix=".usdc")
    np.testing.assert_allclose(small.fit.deltas, doubled, atol=1e-5)
    assert any("3 morphs made of 2 targets of a basis" in note for note in small.notes)
    (tmp_path / "basis.usdc").write_bytes(small.data)
    assert usd_target_memory(tmp_path / "basis.usdc").count == 2


def test_correctives_and_what_drives_them_are_read_back(body_file: BodyFile, tmp_path: Path) -> None:
    fit, garment_file = fitted(body_file, usd_garment(tmp_path / "tube.usda"))
    skeleton = body_file.body.skeleton
    assert skeleton is not None
    driver = Driver(1, np.array([1.0, 0, 0]), modelled_turn(skeleton, 1), ((0.5, 0.0), (1.5, 1.0)))
    driven = replace(fit, correctives=(Corrective("bend chest", driver, np.full(fit.base.shape, 0.01)),))
    notes = save_usd_fit(driven, garment_file, body_file, tmp_path / "fitted.usda")
    assert any("No USD player drives correctives" in note for note in notes)
    (back,) = load_fit(tmp_path / "fitted.usda", body_file.body).correctives
    assert back.name == "bend chest"
    assert back.driver.knots == driver.knots
    np.testing.assert_allclose(back.delta, 0.01, atol=1e-6)


def test_a_moved_base_is_written_with_its_normals(body_file: BodyFile, tmp_path: Path) -> None:
    fit, garment_file = fitted(body_file, usd_garment(tmp_path / "tube.usda"))
    wider = fit.base * [1.1, 1.0, 1.0]
    save_usd_fit(replace(fit, base=wider), garment_file, body_file, tmp_path / "fitted.usda")
    stage = Usd.Stage.Open(str(tmp_path / "fitted.usda"))
    mesh = UsdGeom.Mesh(stage.GetPrimAtPath("/tube_root/tube"))
    back = load_fit(tmp_path / "fitted.usda", body_file.body)
    np.testing.assert_allclose(back.base, wider, atol=1e-6)
    normals = np.array(mesh.GetNormalsAttr().Get(), dtype=np.float64)
    expected = wider / [1.1**2, 1.0, 1.0] * [1, 0, 1]  # gradient of the ellipse
    expected /= np.linalg.norm(expected, axis=1, keepdims=True)
    np.testing.assert_allclose(normals, expected[garment_file.file_to_cloth], atol=0.02)
    low, high = np.array(mesh.GetExtentAttr().Get())
    np.testing.assert_allclose(high[0] - low[0], 0.36 * 1.1, atol=1e-5)


def test_normals_at_corners_are_kept_and_said_and_equal_ones_become_those_of_vertices(
    body_file: BodyFile, tmp_path: Path
) -> None:
    for name, is_hard in (("hard", True), ("smooth", False)):
        path = usd_garment(tmp_path / f"{name}.usda")
        stage = Usd.Stage.Open(str(path))
        mesh = UsdGeom.Mesh(stage.GetPrimAtPath("/tube_root/tube"))
        corners = np.array(mesh.GetNormalsAttr().Get())[np.array(mesh.GetFaceVertexIndicesAttr().Get())]
        if is_hard:
            corners[0] = -corners[0]
        mesh.GetNormalsAttr().Set(vec3f(corners))
        mesh.SetNormalsInterpolation("faceVarying")
        stage.GetRootLayer().Save()
        _, after, notes = written(body_file, path, tmp_path / f"{name}-fitted.usda")
        found = UsdGeom.Mesh(after.GetPrimAtPath("/tube_root/tube"))
        assert found.GetNormalsInterpolation() == ("faceVarying" if is_hard else "vertex")
        turned = UsdSkel.BlendShape(after.GetPrimAtPath("/tube_root/tube/belly")).GetNormalOffsetsAttr().Get()
        assert bool(turned) is not is_hard
        assert any("which no blend shape turns" in note for note in notes) is is_hard


def test_a_file_that_changed_since_it_was_read_is_not_written(body_file: BodyFile, tmp_path: Path) -> None:
    path = usd_garment(tmp_path / "tube.usda")
    fit, garment_file = fitted(body_file, path)
    stage = Usd.Stage.Open(str(path))
    mesh = UsdGeom.Mesh(stage.GetPrimAtPath("/tube_root/tube"))
    mesh.GetPointsAttr().Set(vec3f(np.array(mesh.GetPointsAttr().Get()) * 1.01))
    stage.GetRootLayer().Save()
    with pytest.raises(FileError, match="is another file than when it was read"):
        save_usd_fit(fit, garment_file, body_file, tmp_path / "fitted.usda")
    assert not (tmp_path / "fitted.usda").exists()


def test_names_that_usd_does_not_allow_survive(tmp_path: Path) -> None:
    body_file = load_body(usd_body(tmp_path / "phantom.usda"))
    names = ("bauch:größer", "1 girth", "tall.x")
    odd = replace(body_file.body, morph_names=names, range=replace(body_file.body.range, names=names))
    fit, garment_file = fitted(replace(body_file, body=odd), usd_garment(tmp_path / "tube.usda"))
    save_usd_fit(fit, garment_file, body_file, tmp_path / "fitted.usda")
    assert load_fit(tmp_path / "fitted.usda", odd).garment.source.stored.morph_names == names  # type: ignore[attr-defined]


def test_only_a_glb_is_made_small_and_other_endings_are_refused(body_file: BodyFile, tmp_path: Path) -> None:
    fit, garment_file = fitted(body_file, usd_garment(tmp_path / "tube.usda"))
    whole = replace(fit, garment=garment_file.garment)
    with pytest.raises(ArgumentError, match=re.escape("`suffix` must be .glb, to be compressed, got '.usdc'")):
        made_small(whole, suffix=".usdc")
    with pytest.raises(FileError, match=r"does not end with .glb, nor with one of .usd"):
        save(whole, tmp_path / "out.obj")
