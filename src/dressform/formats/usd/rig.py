"""The body's joints in a stage, and the meshes of a garment bound to them."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from jaxtyping import Float

from dressform.body.skeleton import JOINTS_PER_VERTEX, Skeleton, Skin
from dressform.formats.file_mesh import turned_skeleton
from dressform.formats.usd.fresh import distinct_name
from dressform.formats.usd.modules import UsdLibrary, matrix_of
from dressform.formats.usd.places import UsdPlace, UsdTarget

JOINTS, SLIDERS = "joints", "sliders"
SAME = 1e-9


class UsdRig:
    """One skeleton with the animation that holds the weights of all blend shapes, below one `SkelRoot`."""

    def __init__(self, target: UsdTarget, root: Any, skeleton: Skeleton | None, names: Sequence[str]) -> None:
        """Define skeleton and animation below `root`; without joints the skeleton carries the weights alone.

        Args:
            target: The stage.
            root: The `SkelRoot`.
            skeleton: The body's joints, metres, +Y up, or None.
            names: All blend shapes.
        """
        usd, self.target = target.usd, target
        taken = {str(child.GetName()) for child in root.GetChildren()}
        path = root.GetPath().AppendChild(distinct_name(usd, JOINTS, taken))
        self.skeleton = usd.UsdSkel.Skeleton.Define(target.stage, path)
        self.inward = np.eye(4)
        self.inward[:3, :3] = target.to_stage
        outer = matrix_of(usd.UsdGeom.Xformable(root).ComputeLocalToWorldTransform(usd.Usd.TimeCode.Default()))
        if _is_similarity(outer):  # joints stand in the space of the root: what all players agree on
            self.inward = np.linalg.inv(outer) @ self.inward
        else:
            self.skeleton.AddTransformOp().Set(_matrix(usd, np.linalg.inv(outer)))
        if skeleton is not None:
            self._set_joints(turned_skeleton(skeleton, self.inward))
        animation = usd.UsdSkel.Animation.Define(target.stage, path.AppendChild(SLIDERS))
        animation.CreateBlendShapesAttr(list(names))
        animation.CreateBlendShapeWeightsAttr([0.0] * len(names))
        binding = usd.UsdSkel.BindingAPI.Apply(self.skeleton.GetPrim())
        binding.CreateAnimationSourceRel().SetTargets([animation.GetPath()])

    def bind(self, place: UsdPlace, skin: Skin | None) -> None:
        """Bind a mesh to the skeleton, with joint weights where there are some."""
        usd = self.target.usd
        binding = usd.UsdSkel.BindingAPI.Apply(place.prim)
        binding.CreateSkeletonRel().SetTargets([self.skeleton.GetPath()])
        for name in ("skel:joints", "skel:animationSource", "skel:skinningMethod"):
            place.prim.RemoveProperty(name)
        if skin is None:
            return
        if skin.joints.shape[1] != JOINTS_PER_VERTEX:
            skin = Skin.from_dense(skin.dense(len(self.skeleton.GetJointsAttr().Get())))
        rows = np.maximum(place.cloth, 0)  # a vertex without cloth shows nothing; any joint will do
        weights = skin.weights[rows].astype(np.float32)
        weights /= weights.sum(axis=1, keepdims=True)
        joints = np.where(weights > 0, skin.joints[rows], 0).astype(np.int32)
        for make, values in (
            (binding.CreateJointIndicesPrimvar, usd.Vt.IntArray.FromNumpy(joints.ravel())),
            (binding.CreateJointWeightsPrimvar, usd.Vt.FloatArray.FromNumpy(weights.ravel())),
        ):
            primvar = make(False, JOINTS_PER_VERTEX)
            primvar.SetInterpolation(usd.UsdGeom.Tokens.vertex)
            primvar.SetElementSize(JOINTS_PER_VERTEX)
            primvar.Set(values)
        binding.CreateGeomBindTransformAttr().Set(_matrix(usd, self.inward @ place.matrix))

    def _set_joints(self, skeleton: Skeleton) -> None:
        """Joints by their paths, their names beside, where they are bound and where they rest."""
        usd = self.target.usd
        paths: list[str] = []
        taken: dict[int, set[str]] = {}
        for name, parent in zip(skeleton.names, skeleton.parents):
            label = distinct_name(usd, name, taken.setdefault(int(parent), set()))
            paths.append(f"{paths[parent]}/{label}" if parent >= 0 else label)
        self.skeleton.CreateJointsAttr(paths)
        self.skeleton.CreateJointNamesAttr(list(skeleton.names))
        bind = np.linalg.inv(skeleton.inverse_bind)
        self.skeleton.CreateBindTransformsAttr(_matrices(usd, bind))
        self.skeleton.CreateRestTransformsAttr(_matrices(usd, skeleton.rest))


def _is_similarity(matrix: Float[np.ndarray, "4 4"]) -> bool:
    """Whether a transform turns, moves and scales all directions alike."""
    size = np.cbrt(np.linalg.det(matrix[:3, :3]))
    return bool(size > 0) and np.allclose(matrix[:3, :3] @ matrix[:3, :3].T, size**2 * np.eye(3), atol=SAME * size**2)


def skel_roots(target: UsdTarget) -> dict[str, Any]:
    """The `SkelRoot` of each mesh, by the path of the mesh: the top of what it stands in, which becomes one.

    A mesh that is itself at the top of the stage gets one above it.
    """
    usd, stage = target.usd, target.stage
    found = {}
    for place in target.places:
        top = place.prim
        while not top.GetParent().IsPseudoRoot():
            top = top.GetParent()
        for prim in usd.Usd.PrimRange(top):
            if prim != top and prim.IsA(usd.UsdSkel.Root):
                prim.SetTypeName("Xform")
        top.SetTypeName("SkelRoot")
        found[str(place.prim.GetPath())] = stage.GetPrimAtPath(top.GetPath())
    return found


def lower_top_meshes(usd: UsdLibrary, stage: Any) -> dict[str, str]:
    """Put each mesh that stands at the top of a stage below a root of its name; new paths by old ones."""
    layer, moved = stage.GetRootLayer(), {}
    taken = {str(prim.GetName()) for prim in stage.GetPseudoRoot().GetChildren()}
    for prim in [one for one in stage.GetPseudoRoot().GetChildren() if one.IsA(usd.UsdGeom.Gprim)]:
        name = str(prim.GetName())
        root = usd.UsdGeom.Xform.Define(stage, f"/{distinct_name(usd, name + '_root', taken)}")
        path = root.GetPath().AppendChild(name)
        usd.Sdf.CopySpec(layer, prim.GetPath(), layer, path)
        if stage.GetDefaultPrim() == prim:
            stage.SetDefaultPrim(root.GetPrim())
        moved[str(prim.GetPath())] = str(path)
        stage.RemovePrim(f"/{name}")
    return moved


def _matrix(usd: UsdLibrary, matrix: Float[np.ndarray, "4 4"]) -> Any:
    return usd.Gf.Matrix4d(matrix.T.tolist())


def _matrices(usd: UsdLibrary, matrices: Float[np.ndarray, "N 4 4"]) -> Any:
    return usd.Vt.Matrix4dArray([_matrix(usd, matrix) for matrix in matrices])
