"""Damaged stages, and files that are no USD, are refused in one line."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dressform.errors import FileError
from dressform.formats.load import load_body
from dressform.formats.usd import apart
from usd_files import matrices, usd_body, vec3f

pytest.importorskip("pxr", reason="needs usd-core")

from pxr import Gf, UsdGeom, UsdSkel, Vt

from usd_changed import MESH, changed, shape


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
