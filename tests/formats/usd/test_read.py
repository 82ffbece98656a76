"""Bodies and garments from USD: units, axes, blend shapes, joints, instances, and what is refused."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dressform.errors import ArgumentError, FileError
from dressform.formats.guards.neighbours import named_in
from dressform.formats.load import load_body, load_garment
from dressform.formats.usd import apart
from phantoms import MORPHS, phantom_body, tube
from usd_files import add_shapes, matrices, phantom_joints, usd_body, usd_garment, usd_mesh, vec3f

pytest.importorskip("pxr", reason="needs usd-core")

from pxr import Gf, Sdf, Usd, UsdGeom, UsdSkel, Vt

MESH = "/phantom_root/phantom"


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


def changed(tmp_path: Path, change: Callable[[Any], None]) -> Path:
    """The phantom body's file after a change to its stage."""
    path = usd_body(tmp_path / "phantom.usda")
    stage = Usd.Stage.Open(str(path))
    change(stage)
    stage.GetRootLayer().Save()
    return path


def shape(stage: Any, name: str = "belly") -> Any:
    return UsdSkel.BlendShape(stage.GetPrimAtPath(f"{MESH}/{name}"))


def _bent_between(stage: Any) -> None:
    half = shape(stage).CreateInbetween("half")
    half.SetWeight(0.5)
    half.SetOffsets(shape(stage).GetOffsetsAttr().Get())


def _short_offsets(stage: Any) -> None:
    shape(stage).GetOffsetsAttr().Set(vec3f(np.zeros((1, 3))))


def _missing_vertex(stage: Any) -> None:
    rows = np.array(shape(stage).GetPointIndicesAttr().Get())
    rows[0] = 99999
    shape(stage).GetPointIndicesAttr().Set(Vt.IntArray.FromNumpy(rows))


def _no_shape(stage: Any) -> None:
    stage.RemovePrim(f"{MESH}/belly")


def _one_name_less(stage: Any) -> None:
    UsdSkel.BindingAPI(stage.GetPrimAtPath(MESH)).GetBlendShapesAttr().Set(["belly", "girth"])


def _bad_index(stage: Any) -> None:
    attribute = UsdGeom.Mesh(stage.GetPrimAtPath(MESH)).GetFaceVertexIndicesAttr()
    indices = np.array(attribute.Get())
    indices[0] = -1
    attribute.Set(Vt.IntArray.FromNumpy(indices))


def _bad_counts(stage: Any) -> None:
    UsdGeom.Mesh(stage.GetPrimAtPath(MESH)).GetFaceVertexCountsAttr().Set([3, 3])


def _not_finite(stage: Any) -> None:
    attribute = UsdGeom.Mesh(stage.GetPrimAtPath(MESH)).GetPointsAttr()
    points = np.array(attribute.Get())
    points[3] = np.nan
    attribute.Set(Vt.Vec3fArray.FromNumpy(points))


def _no_bind_pose(stage: Any) -> None:
    stage.GetPrimAtPath("/phantom_root/joints").RemoveProperty("bindTransforms")


def _flat_bind(stage: Any) -> None:
    UsdSkel.Skeleton(stage.GetPrimAtPath("/phantom_root/joints")).GetBindTransformsAttr().Set(
        matrices(np.zeros((2, 4, 4)))
    )


def _child_first(stage: Any) -> None:
    UsdSkel.Skeleton(stage.GetPrimAtPath("/phantom_root/joints")).GetJointsAttr().Set(["hips/chest", "hips"])


def _foreign_joint(stage: Any) -> None:
    UsdSkel.BindingAPI(stage.GetPrimAtPath(MESH)).CreateJointsAttr(["hips", "tail"])


def _short_weights(stage: Any) -> None:
    stage.GetPrimAtPath(MESH).GetAttribute("primvars:skel:jointWeights").Set([1.0])


def _invisible(stage: Any) -> None:
    UsdGeom.Imageable(stage.GetPrimAtPath(MESH)).MakeInvisible()


def _flattened(stage: Any) -> None:
    prim = stage.GetPrimAtPath(MESH)
    for name in ("skel:skeleton", "primvars:skel:jointWeights", "primvars:skel:jointIndices"):
        prim.RemoveProperty(name)
    UsdGeom.Xformable(prim).AddScaleOp().Set(Gf.Vec3f(1, 0, 1))


def _elsewhere(stage: Any) -> None:
    stage.DefinePrim("/other").GetReferences().AddReference("../elsewhere.usda")


def _on_a_network(stage: Any) -> None:
    stage.DefinePrim("/other").GetReferences().AddReference("https://example.org/other.usda")


def _not_there(stage: Any) -> None:
    stage.DefinePrim("/other").GetPayloads().AddPayload("./missing.usda")


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (_bent_between, "belly: has an in-between at weight 0.5 beside its straight line.*Remove its in-betweens"),
        (_short_offsets, "belly: has 1 offsets for"),
        (_missing_vertex, "belly: moves a vertex of 322 that is not there"),
        (_no_shape, "belly: is no blend shape"),
        (_one_name_less, "names 2 blend shapes, but leads to 3"),
        (_bad_index, "names vertex -1 of 322"),
        (_bad_counts, "has faces of 6 corners in all"),
        (_not_finite, "position that is not finite"),
        (_no_bind_pose, "has 0 bind transforms for 2 joints"),
        (_flat_bind, "has a bind transform without an inverse"),
        (_child_first, "joints: "),
        (_foreign_joint, "bound to the joint 'tail'"),
        (_short_weights, "1 weights for 322 x 2"),
        (_invisible, "shows no triangles"),
        (_flattened, "flattens its mesh"),
        (_elsewhere, r"refers to '\.\./elsewhere\.usda', which lies outside its folder"),
        (_on_a_network, "lies outside its folder"),
        (_not_there, r"refers to '\./missing\.usda', which is not there"),
    ],
)
def test_a_damaged_stage_is_refused_in_one_line(
    change: Callable[[Any], None], message: str, tmp_path: Path, capfd: pytest.CaptureFixture[str]
) -> None:
    path = changed(tmp_path, change)
    capfd.readouterr()
    with pytest.raises(FileError, match=message) as refused:
        load_body(path)
    assert "\n" not in str(refused.value)
    assert capfd.readouterr() == ("", "")  # the library prints nothing past us


@pytest.mark.parametrize("kept", [8, 100, 3000])
def test_a_truncated_crate_is_refused(kept: int, tmp_path: Path) -> None:
    path = usd_body(tmp_path / "phantom.usdc")
    path.write_bytes(path.read_bytes()[:kept])
    with pytest.raises(FileError, match="is damaged"):
        load_body(path)


def test_what_is_no_usd_is_refused_by_its_first_bytes(tmp_path: Path) -> None:
    path = tmp_path / "phantom.usd"
    path.write_bytes(b"solid phantom")
    with pytest.raises(FileError, match="is no USD file"):
        load_body(path)


def test_without_the_library_the_file_is_refused_with_how_to_install_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = usd_body(tmp_path / "phantom.usda")
    monkeypatch.setattr(apart, "is_installed", lambda: False)
    with pytest.raises(FileError, match=r"needs usd-core. Install it: pip install 'dressform\[usd\]'"):
        load_body(path)


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
