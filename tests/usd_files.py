"""USD files for tests, built by the library itself: the phantom body and its tube, with blend shapes and joints."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from dressform.body.skeleton import Skeleton, Skin
from phantoms import MORPHS, phantom_body, tube

pytest.importorskip("pxr", reason="needs usd-core")

from pxr import Gf, Sdf, Usd, UsdGeom, UsdShade, UsdSkel, Vt

HIPS_HEIGHT, CHEST_HEIGHT = 0.7, 1.1
JOINTS = ("hips", "chest")


def phantom_joints(vertices: np.ndarray) -> tuple[Skeleton, Skin]:
    """Two joints on the axis of the capsule, blended over 20 cm between them."""
    hips, chest = np.eye(4), np.eye(4)
    hips[1, 3], chest[1, 3] = HIPS_HEIGHT, CHEST_HEIGHT - HIPS_HEIGHT
    worlds = np.stack([hips, hips @ chest])
    upper = np.clip((vertices[:, 1] - HIPS_HEIGHT - 0.1) / 0.2, 0.0, 1.0)
    skin = Skin(np.tile([0, 1], (len(vertices), 1)), np.stack([1 - upper, upper], axis=1))
    return Skeleton(JOINTS, np.array([-1, 0]), np.stack([hips, chest]), np.linalg.inv(worlds)), skin


def usd_body(path: Path, *, scale: float = 1.0, up: str = "Y", name: str = "phantom", sparse: bool = True) -> Path:
    """The phantom body with its three morphs as blend shapes and two joints.

    Args:
        path: The file; its ending says of which kind.
        scale: Units of the file in a metre.
        up: Axis of the file that is up, `Y` or `Z`.
        name: Name of the mesh; the root is named `NAME_root`.
        sparse: Whether blend shapes name the vertices that they move.
    """
    body = phantom_body(rings=20, sides=16)
    turn = np.eye(3) if up == "Y" else np.array([[1.0, 0, 0], [0, 0, -1], [0, 1, 0]])
    linear = scale * turn
    stage = Usd.Stage.CreateNew(str(path))
    UsdGeom.SetStageMetersPerUnit(stage, 1.0 / scale)
    UsdGeom.SetStageUpAxis(stage, up)
    root = UsdSkel.Root.Define(stage, f"/{name}_root")
    stage.SetDefaultPrim(root.GetPrim())
    mesh = usd_mesh(stage, f"/{name}_root/{name}", body.vertices @ linear.T, body.faces)
    skeleton, skin = phantom_joints(body.vertices)
    add_joints(stage, mesh, skeleton, skin, linear)
    deltas = dict(zip(MORPHS, body.deltas @ linear.T))
    add_shapes(stage, mesh, deltas, sparse=sparse)
    stage.GetRootLayer().Save()
    return path


def usd_garment(path: Path, *, scale: float = 1.0) -> Path:
    """The tube in a plain file: an Xform above a mesh with normals, texture coordinates and a material."""
    vertices, faces = tube(rings=12, sides=16)
    stage = Usd.Stage.CreateNew(str(path))
    UsdGeom.SetStageMetersPerUnit(stage, 1.0 / scale)
    UsdGeom.SetStageUpAxis(stage, "Y")
    root = UsdGeom.Xform.Define(stage, "/tube_root")
    root.AddTranslateOp().Set(Gf.Vec3d(0.0, 0.5 * scale, 0.0))
    stage.SetDefaultPrim(root.GetPrim())
    lowered = (vertices - [0.0, 0.5, 0.0]) * scale
    mesh = usd_mesh(stage, "/tube_root/tube", lowered, faces)
    outward = vertices * [1.0, 0.0, 1.0]
    outward /= np.linalg.norm(outward, axis=1, keepdims=True)
    mesh.CreateNormalsAttr(vec3f(outward))
    mesh.SetNormalsInterpolation("vertex")
    flat = np.stack([vertices[faces.ravel(), 0], vertices[faces.ravel(), 1]], axis=1).astype(np.float32)
    st = UsdGeom.PrimvarsAPI(mesh).CreatePrimvar("st", Sdf.ValueTypeNames.TexCoord2fArray, "faceVarying")
    st.Set(Vt.Vec2fArray.FromNumpy(flat))
    material = UsdShade.Material.Define(stage, "/tube_root/looks/wool")
    shader = UsdShade.Shader.Define(stage, "/tube_root/looks/wool/surface")
    shader.CreateIdAttr("UsdPreviewSurface")
    shader.CreateInput("diffuseColor", Sdf.ValueTypeNames.Color3f).Set(Gf.Vec3f(0.2, 0.3, 0.5))
    material.CreateSurfaceOutput().ConnectToSource(shader.ConnectableAPI(), "surface")
    UsdShade.MaterialBindingAPI.Apply(mesh.GetPrim()).Bind(material)
    stage.GetRootLayer().Save()
    return path


def usd_mesh(stage: Any, path: str, vertices: np.ndarray, faces: np.ndarray) -> Any:
    """A mesh without subdivision."""
    mesh = UsdGeom.Mesh.Define(stage, path)
    mesh.CreatePointsAttr(vec3f(vertices))
    mesh.CreateFaceVertexCountsAttr(Vt.IntArray.FromNumpy(np.full(len(faces), faces.shape[1], dtype=np.int32)))
    mesh.CreateFaceVertexIndicesAttr(Vt.IntArray.FromNumpy(faces.astype(np.int32).ravel()))
    mesh.CreateSubdivisionSchemeAttr("none")
    mesh.CreateExtentAttr(vec3f(np.stack([vertices.min(axis=0), vertices.max(axis=0)])))
    return mesh


def add_joints(stage: Any, mesh: Any, skeleton: Skeleton, skin: Skin, linear: np.ndarray) -> Any:
    """A skeleton beside a mesh and the mesh bound to it; a joint's frame is turned, its origin scaled, by `linear`."""
    path = mesh.GetPath().GetParentPath().AppendChild("joints")
    made = UsdSkel.Skeleton.Define(stage, path)
    names = ["hips", "hips/chest"]
    worlds = np.tile(np.eye(4), (2, 1, 1))
    worlds[:, :3, 3] = skeleton.world()[:, :3, 3] @ linear.T
    rest = worlds.copy()
    rest[1] = np.linalg.inv(worlds[0]) @ worlds[1]
    made.CreateJointsAttr(names)
    made.CreateBindTransformsAttr(matrices(worlds))
    made.CreateRestTransformsAttr(matrices(rest))
    binding = UsdSkel.BindingAPI.Apply(mesh.GetPrim())
    binding.CreateSkeletonRel().SetTargets([path])
    binding.CreateJointIndicesPrimvar(False, 2).Set(Vt.IntArray.FromNumpy(skin.joints.astype(np.int32).ravel()))
    binding.CreateJointWeightsPrimvar(False, 2).Set(Vt.FloatArray.FromNumpy(skin.weights.astype(np.float32).ravel()))
    binding.CreateGeomBindTransformAttr(matrices(np.eye(4)[None])[0])
    assert isinstance(path, Sdf.Path)
    return made


def add_shapes(stage: Any, mesh: Any, deltas: dict[str, np.ndarray], *, sparse: bool = True) -> None:
    """Blend shapes of a mesh by name."""
    binding = UsdSkel.BindingAPI.Apply(mesh.GetPrim())
    paths = []
    for name, delta in deltas.items():
        path = mesh.GetPath().AppendChild(name)
        rows = np.flatnonzero(np.abs(delta).max(axis=1) > 0) if sparse else np.arange(len(delta))
        shape = UsdSkel.BlendShape.Define(stage, path)
        shape.CreateOffsetsAttr(vec3f(delta[rows]))
        if sparse:
            shape.CreatePointIndicesAttr(Vt.IntArray.FromNumpy(rows.astype(np.int32)))
        paths.append(path)
    binding.CreateBlendShapesAttr(list(deltas))
    binding.CreateBlendShapeTargetsRel().SetTargets(paths)


def vec3f(values: np.ndarray) -> Any:
    """Rows of three as the library keeps them."""
    return Vt.Vec3fArray.FromNumpy(np.ascontiguousarray(values, dtype=np.float32))


def matrices(values: np.ndarray) -> Any:
    """Matrices that multiply columns, as the library keeps them."""
    return Vt.Matrix4dArray([Gf.Matrix4d(matrix.T.tolist()) for matrix in values])
