"""Bodies and garments from USD: units, axes, blend shapes, joints, instances, and what is refused."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dressform.errors import ArgumentError
from dressform.formats.guards.neighbours import named_in
from dressform.formats.load import load_body, load_garment
from phantoms import MORPHS, phantom_body, tube
from usd_files import add_shapes, phantom_joints, usd_body, usd_garment, usd_mesh, vec3f

pytest.importorskip("pxr", reason="needs usd-core")

from pxr import Gf, Sdf, Usd, UsdGeom, UsdSkel

from usd_changed import MESH, changed, shape


@pytest.mark.parametrize(
    ("ending", "scale", "up", "sparse"),
    [(".usda", 1.0, "Y", True), (".usdc", 100.0, "Z", False), (".usd", 1000.0, "Z", True)],
)
def test_a_body_is_read_whatever_its_units_axis_and_coding(
    ending: str, scale: float, up: str, sparse: bool, tmp_path: Path
) -> None:
    body = load_body(usd_body(tmp_path / f"phantom{ending}", scale=scale, up=up, sparse=sparse)).body
    expected = phantom_body(rings=20, sides=16)
    np.testing.assert_allclose(body.vertices, expected.vertices, atol=1e-6)
    np.testing.assert_array_equal(body.faces, expected.faces)
    assert body.morph_names == MORPHS
    np.testing.assert_allclose(body.deltas, expected.deltas, atol=1e-6)
    skeleton, skin = phantom_joints(expected.vertices)
    assert body.skeleton is not None
    assert body.skin is not None
    assert body.skeleton.names == skeleton.names
    np.testing.assert_allclose(body.skeleton.positions, skeleton.positions, atol=1e-6)
    np.testing.assert_allclose(body.skin.dense(2), skin.dense(2), atol=1e-6)


def test_an_in_between_on_the_straight_line_changes_nothing(tmp_path: Path) -> None:
    def straight(stage: Any) -> None:
        half = shape(stage).CreateInbetween("half")
        half.SetWeight(0.5)
        half.SetOffsets(vec3f(np.array(shape(stage).GetOffsetsAttr().Get()) * 0.5))

    body = load_body(changed(tmp_path, straight)).body
    np.testing.assert_allclose(body.deltas, phantom_body(rings=20, sides=16).deltas, atol=1e-6)


def test_weights_that_the_file_shows_become_the_default(tmp_path: Path) -> None:
    def shown(stage: Any) -> None:
        animation = UsdSkel.Animation.Define(stage, "/phantom_root/sliders")
        animation.CreateBlendShapesAttr(["tall", "belly"])
        animation.CreateBlendShapeWeightsAttr([0.25, 0.75])
        binding = UsdSkel.BindingAPI.Apply(stage.GetPrimAtPath("/phantom_root/joints"))
        binding.CreateAnimationSourceRel().SetTargets([animation.GetPath()])

    np.testing.assert_allclose(load_body(changed(tmp_path, shown)).default_weights, [0.75, 0.0, 0.25])


def test_a_body_of_several_is_read_by_the_name_of_its_prim(tmp_path: Path) -> None:
    usd_body(tmp_path / "woman.usda", name="woman")
    usd_body(tmp_path / "man.usda", name="man")
    both = tmp_path / "both.usda"
    stage = Usd.Stage.CreateNew(str(both))
    for name in ("woman", "man"):
        stage.DefinePrim(f"/{name}").GetReferences().AddReference(f"./{name}.usda")
    stage.GetRootLayer().Save()
    read = load_body(both, base="man").body
    assert read.name == "man"
    np.testing.assert_allclose(read.vertices, phantom_body(rings=20, sides=16).vertices, atol=1e-6)
    with pytest.raises(ArgumentError, match=r"a prim of .*both\.usda that shows meshes: .*woman.*, got 'keeper'"):
        load_body(both, base="keeper")
    assert {path.name for path in named_in(both)} == {"woman.usda", "man.usda"}


def test_instances_are_meshes_of_their_own(tmp_path: Path) -> None:
    vertices, faces = tube(rings=4, sides=8)
    path = tmp_path / "cuffs.usda"
    stage = Usd.Stage.CreateNew(str(path))
    UsdGeom.SetStageMetersPerUnit(stage, 1.0)
    usd_mesh(stage, "/cuff/cloth", vertices, faces)
    for number, x in enumerate((-0.5, 0.5)):
        prim = UsdGeom.Xform.Define(stage, f"/pair/side_{number}")
        prim.AddTranslateOp().Set(Gf.Vec3d(x, 0, 0))
        prim.GetPrim().GetReferences().AddInternalReference("/cuff")
        prim.GetPrim().SetInstanceable(True)
    stage.GetRootLayer().Save()
    read = load_garment(path).garment
    assert len(read.vertices) == 3 * len(vertices)  # the model itself, and both of its instances
    middles = sorted(read.vertices.reshape(3, -1, 3)[:, :, 0].mean(axis=1))
    np.testing.assert_allclose(middles, [-0.5, 0.0, 0.5], atol=1e-6)


def test_what_is_not_shown_is_left_out_and_said(tmp_path: Path) -> None:
    def more(stage: Any) -> None:
        vertices, faces = tube(rings=4, sides=8)
        proxy = usd_mesh(stage, "/phantom_root/proxy", vertices, faces)
        UsdGeom.Imageable(proxy).CreatePurposeAttr("proxy")
        UsdGeom.Sphere.Define(stage, "/phantom_root/ball")
        instancer = UsdGeom.PointInstancer.Define(stage, "/phantom_root/buttons")
        usd_mesh(stage, instancer.GetPath().AppendChild("button"), vertices, faces)

    body = load_body(changed(tmp_path, more)).body
    assert len(body.vertices) == len(phantom_body(rings=20, sides=16).vertices)
    notes = " ".join(body.notes)
    assert "1 shapes of purpose guide or proxy" in notes
    assert "1 shapes that are no meshes" in notes
    assert "1 point instancers, whose copies are not read" in notes


def test_left_handed_faces_and_mirroring_transforms_are_turned_outward(tmp_path: Path) -> None:
    vertices, faces = tube(rings=4, sides=8)
    path = tmp_path / "tube.usda"
    stage = Usd.Stage.CreateNew(str(path))
    UsdGeom.SetStageMetersPerUnit(stage, 1.0)
    left = usd_mesh(stage, "/left", vertices, faces[:, ::-1])
    left.CreateOrientationAttr("leftHanded")
    mirrored = usd_mesh(stage, "/mirrored", vertices * [-1, 1, 1], faces[:, ::-1])
    mirrored.AddScaleOp().Set(Gf.Vec3f(-1, 1, 1))
    stage.GetRootLayer().Save()
    stored = load_garment(path).stored
    corners = stored.vertices[stored.faces]
    outward = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    middles = corners.mean(axis=1) * [1, 0, 1]
    assert (np.einsum("ij,ij->i", outward, middles) > 0).all()


def test_quads_holes_subsets_and_strength_of_a_garment(tmp_path: Path) -> None:
    quads = np.array([[0, 1, 2, 3], [1, 4, 5, 2], [4, 6, 7, 5]])
    points = np.array([[x, y, 0] for x, y in ((0, 0), (1, 0), (1, 1), (0, 1), (2, 0), (2, 1), (3, 0), (3, 1))], float)
    path = tmp_path / "apron.usda"
    stage = Usd.Stage.CreateNew(str(path))
    UsdGeom.SetStageMetersPerUnit(stage, 0.5)
    mesh = usd_mesh(stage, "/apron", points, quads)
    mesh.CreateHoleIndicesAttr([1])
    subset = UsdGeom.Subset.Define(stage, "/apron/band")
    subset.CreateElementTypeAttr("face")
    subset.CreateFamilyNameAttr("materialBind")
    subset.CreateIndicesAttr([0])
    strength = UsdGeom.PrimvarsAPI(mesh).CreatePrimvar("_STRENGTH", Sdf.ValueTypeNames.FloatArray, "vertex")
    strength.Set([0.5] * 8)
    stage.GetRootLayer().Save()
    garment = load_garment(path).garment
    assert garment.part_names == ("apron", "band")
    assert np.bincount(garment.face_parts).tolist() == [2, 2]
    np.testing.assert_array_equal(garment.strength, np.full(len(garment.vertices), 0.5))
    corners = garment.vertices[garment.faces]
    area = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1).sum() / 2
    assert area == pytest.approx(2 * 0.25)  # two quads of half a metre a side; the hole is no cloth


def test_texture_coordinates_count_from_the_top(tmp_path: Path) -> None:
    stored = load_garment(usd_garment(tmp_path / "tube.usda")).stored
    assert stored.corner_uv is not None
    heights = stored.vertices[stored.faces][..., 1]
    np.testing.assert_allclose(stored.corner_uv[..., 1], 1.0 - heights, atol=1e-6)


def test_a_stage_without_units_is_read_by_its_size(tmp_path: Path) -> None:
    path = usd_body(tmp_path / "phantom.usda", scale=100.0)
    stage = Usd.Stage.Open(str(path))
    stage.ClearMetadata("metersPerUnit")
    add_shapes(stage, UsdGeom.Mesh(stage.GetPrimAtPath(MESH)), {})
    stage.GetRootLayer().Save()
    body = load_body(path).body
    assert np.ptp(body.vertices[:, 1]) == pytest.approx(1.7, abs=1e-3)
