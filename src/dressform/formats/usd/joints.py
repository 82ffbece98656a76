"""Skeletons and joint weights of a USD file, as `UsdSkel` defines them."""

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from dressform.body.skeleton import Skeleton, Skin
from dressform.errors import FileError
from dressform.formats.gltf.reading.scene import SceneTree
from dressform.formats.gltf.reading.skins import SkinSpace, StoredSkin, bind_skins
from dressform.formats.usd.modules import matrices_of, matrix_of
from dressform.formats.usd.stage import AGAIN, OpenedStage

SAME_POSE = 1e-4


@dataclass
class UsdJoints:
    """All skeletons that the meshes of a file are bound to, as one tree of nodes, and the skin of each mesh.

    Attributes:
        opened: The file.
        notes: What was found on the way.
    """

    opened: OpenedStage
    notes: list[str] = field(default_factory=list)
    _tree: SceneTree = field(default_factory=lambda: SceneTree({}, {}))
    _names: dict[int, str] = field(default_factory=dict)
    _first: dict[str, int] = field(default_factory=dict)

    def bind(self, prims: list[Any]) -> tuple[Skeleton | None, dict[int, SkinSpace]]:
        """One skeleton for all meshes, and the space in which each skinned one stands, by its number among `prims`.

        Raises:
            FileError: a skeleton or a binding is damaged.
        """
        skins = {number: skin for number, prim in enumerate(prims) if (skin := self._skin(prim)) is not None}
        return bind_skins(self.opened.path, self._tree, self._names, skins)

    def weights(self, prim: Any, space: SkinSpace, count: int) -> Skin:
        """Joints and weights of a mesh, in the numbering of the skeleton.

        Raises:
            FileError: counts disagree, a weight is not finite, or a joint is named that is not there.
        """
        usd, opened = self.opened.usd, self.opened
        binding = usd.UsdSkel.BindingAPI(prim)
        indices, given = binding.GetJointIndicesPrimvar(), binding.GetJointWeightsPrimvar()
        width = indices.GetElementSize()
        joints = np.array(indices.ComputeFlattened(opened.time) or (), dtype=np.int64)
        weights = np.array(given.ComputeFlattened(opened.time) or (), dtype=np.float64)
        rows = 1 if indices.GetInterpolation() == usd.UsdGeom.Tokens.constant else count
        if width < 1 or given.GetElementSize() != width or not len(joints) == len(weights) == rows * width:
            problem = f"has {len(joints)} joint indices and {len(weights)} weights for {rows} x {width}"
            raise FileError.of(opened.path, str(prim.GetPath()), problem, AGAIN)
        joints, weights = joints.reshape(rows, width), weights.reshape(rows, width)
        if not np.isfinite(weights).all():
            raise FileError.of(opened.path, str(prim.GetPath()), "has a joint weight that is not finite", AGAIN)
        used = np.where(weights > 0, joints, 0)
        if not (used.min(initial=0) >= 0 and used.max(initial=0) < len(space.joints)):
            problem = f"names joint {used.max() if used.min() >= 0 else used.min()} of {len(space.joints)}"
            raise FileError.of(opened.path, str(prim.GetPath()), problem, AGAIN)
        joints = np.broadcast_to(space.joints[used], (count, width))
        return Skin(joints.copy(), np.broadcast_to(weights, (count, width)).copy())

    def _skin(self, prim: Any) -> StoredSkin | None:
        """The skin of a mesh that has joint weights and a skeleton; None for any other."""
        skel = self.opened.usd.UsdSkel
        binding = skel.BindingAPI(prim)
        skeleton = binding.GetInheritedSkeleton()
        weights = binding.GetJointWeightsPrimvar()
        if not skeleton or not (weights and weights.HasAuthoredValue()):
            return None
        method = skel.BindingAPI(prim).GetSkinningMethodAttr().Get()
        if method == skel.Tokens.dualQuaternion:
            self.notes.append(f"{prim.GetName()} asks for dual quaternions; joints are blended linearly here.")
        first, names, binds = self._skeleton(skeleton)
        order = [str(name) for name in binding.GetJointsAttr().Get() or names]
        absent = [name for name in order if name not in names]
        if absent:
            problem = f"is bound to the joint {absent[0]!r}, which {skeleton.GetPath()} does not have"
            raise FileError.of(self.opened.path, str(prim.GetPath()), problem, AGAIN)
        geometry = binding.GetGeomBindTransformAttr().Get(self.opened.time)
        to_bind = np.eye(4) if geometry is None else matrix_of(geometry)
        ranks = [names.index(name) for name in order]
        return StoredSkin(tuple(first + rank for rank in ranks), np.linalg.inv(binds[ranks]) @ to_bind)

    def _skeleton(self, skeleton: Any) -> tuple[int, list[str], np.ndarray]:
        """Number of the first joint among the nodes, the joints' paths and their bind transforms, (J, 4, 4)."""
        opened, place = self.opened, str(skeleton.GetPath())
        names = [str(name) for name in skeleton.GetJointsAttr().Get() or ()]
        topology = opened.usd.UsdSkel.Topology(skeleton.GetJointsAttr().Get() or [])
        is_valid, reason = topology.Validate()
        binds = matrices_of(skeleton.GetBindTransformsAttr().Get() or [])
        if not is_valid or not names or len(set(names)) != len(names):
            raise FileError.of(opened.path, place, reason or "has no joints, or two of one name", AGAIN)
        if len(binds) != len(names):
            problem = f"has {len(binds)} bind transforms for {len(names)} joints"
            raise FileError.of(opened.path, place, problem, "Export the skeleton with its bind pose")
        if not np.isfinite(binds).all() or not (np.abs(np.linalg.det(binds)) > np.finfo(float).tiny).all():
            raise FileError.of(opened.path, place, "has a bind transform without an inverse", AGAIN)
        if place in self._first:
            return self._first[place], names, binds
        self._first[place] = first = len(self._names)
        to_world = matrix_of(opened.usd.UsdGeom.Xformable(skeleton.GetPrim()).ComputeLocalToWorldTransform(opened.time))
        labels = [str(name) for name in skeleton.GetJointNamesAttr().Get() or ()]
        if len(labels) != len(names):
            labels = [name.rpartition("/")[2] for name in names]
        for rank, label in enumerate(labels):
            parent = topology.GetParent(rank)
            self._tree.worlds[first + rank] = to_world @ binds[rank]
            self._tree.parents[first + rank] = first + parent if parent >= 0 else -1
            self._names[first + rank] = label
        self._note_pose(skeleton, binds, topology)
        return first, names, binds

    def _note_pose(self, skeleton: Any, binds: np.ndarray, topology: Any) -> None:
        rest = matrices_of(skeleton.GetRestTransformsAttr().Get() or [])
        if len(rest) == len(binds):
            for rank in range(len(rest)):
                parent = topology.GetParent(rank)
                rest[rank] = rest[parent] @ rest[rank] if parent >= 0 else rest[rank]
            if np.abs(rest - binds).max() > SAME_POSE * np.abs(binds).max():
                self.notes.append(
                    "The joints rest in another pose than the bind pose; the mesh was read in its bind pose."
                )
