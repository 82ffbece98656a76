"""A mesh as a file stores it: split at seams, in the file's own units. What every reader returns."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.body.skeleton import Skeleton, Skin


@dataclass(frozen=True)
class Piece:
    """One glTF primitive under one node: where its vertices stand in the merged arrays.

    Attributes:
        node: Node that holds the mesh.
        mesh: Mesh of that node.
        primitive: Primitive of that mesh.
        start: First vertex in the merged arrays.
        stop: One past the last vertex.
        matrix: From the primitive's own space to the merged space, (4, 4).
    """

    node: int
    mesh: int
    primitive: int
    start: int
    stop: int
    matrix: Float[np.ndarray, "4 4"]


@dataclass(frozen=True)
class Prim:
    """One mesh of a USD stage: where its vertices stand in the merged arrays.

    Attributes:
        path: Its path in the stage.
        start: First vertex in the merged arrays.
        stop: One past the last vertex.
        matrix: From its own space to the merged space, (4, 4).
    """

    path: str
    start: int
    stop: int
    matrix: Float[np.ndarray, "4 4"]


@dataclass(frozen=True)
class FileMesh:
    """One mesh, merged from all that a file (or one scene of it) holds.

    Attributes:
        name: Scene or file name.
        vertices: As stored, after node transforms, (N, 3).
        faces: Triangles, (F, 3).
        part_names: Names of the parts.
        face_parts: Part of each triangle, (F,).
        morph_names: Names of the morphs, in the order of the file.
        deltas: Displacement per morph at weight 1, (K, N, 3).
        default_weights: Weights that the file shows first, (K,).
        skeleton: Joints at rest, or None.
        skin: Joint weights per vertex, or None.
        loose: Vertices to which the file gives no joint, (N,), though `skin` puts them on the first; None for none.
        scalars: Per-vertex numbers by attribute name, channels as `COLOR_0.r`, each (N,).
        corner_uv: Texture coordinates per corner, (F, 3, 2), where the file is not glTF and has them.
        corner_normals: Normals per corner, (F, 3, 3), likewise.
        pieces: Where each glTF primitive went; empty for other files.
        prims: Where each mesh of a USD stage went; empty for other files.
        extras: What files that are not glTF tell as glTF does in `extras`, each with its place.
        metres_per_unit: What the file says one unit is, or None where it says nothing.
        up: Axis that the file says is up ("x", "y", "z"), or None.
        notes: What was found on the way, one sentence each.
        scene: Scene of the glTF that was read.
        chosen: Nodes of that scene whose meshes were read; None for all.
    """

    name: str
    vertices: Float[np.ndarray, "N 3"]
    faces: Int[np.ndarray, "F 3"]
    part_names: tuple[str, ...]
    face_parts: Int[np.ndarray, " F"]
    morph_names: tuple[str, ...]
    deltas: Float[np.ndarray, "K N 3"]
    default_weights: Float[np.ndarray, " K"]
    skeleton: Skeleton | None = None
    skin: Skin | None = None
    scalars: Mapping[str, Float[np.ndarray, " N"]] = field(default_factory=dict)
    corner_uv: Float[np.ndarray, "F 3 2"] | None = None
    corner_normals: Float[np.ndarray, "F 3 3"] | None = None
    pieces: tuple[Piece, ...] = ()
    metres_per_unit: float | None = None
    up: str | None = None
    notes: tuple[str, ...] = ()
    scene: int = 0
    chosen: frozenset[int] | None = None
    loose: Bool[np.ndarray, " N"] | None = None
    prims: tuple[Prim, ...] = ()
    extras: tuple[tuple[str, Any], ...] = ()

    @classmethod
    def plain(
        cls, name: str, vertices: Float[np.ndarray, "N 3"], faces: Int[np.ndarray, "F 3"], *, part: str | None = None
    ) -> "FileMesh":
        """A mesh of one part without morphs."""
        return cls(
            name,
            vertices,
            faces,
            (part or name,),
            np.zeros(len(faces), dtype=np.int64),
            (),
            np.zeros((0, len(vertices), 3)),
            np.zeros(0),
        )

    def turned(self, linear: Float[np.ndarray, "3 3"]) -> "FileMesh":
        """The same mesh after a uniform scale and rotation, skeleton included.

        A joint keeps its own frame free of the scale, so that posing by rotations goes on as before:
        with world W, inverse bind I, change A and its uniform scale s, W' = A W s⁻¹ and I' = s I A⁻¹.
        """
        matrix = np.eye(4)
        matrix[:3, :3] = linear
        turn = linear / np.cbrt(np.linalg.det(linear))
        skeleton = None if self.skeleton is None else turned_skeleton(self.skeleton, matrix)
        return replace(
            self,
            vertices=self.vertices @ linear.T,
            deltas=self.deltas @ linear.T,
            skeleton=skeleton,
            corner_normals=None if self.corner_normals is None else self.corner_normals @ turn.T,
            pieces=tuple(replace(piece, matrix=matrix @ piece.matrix) for piece in self.pieces),
            prims=tuple(replace(prim, matrix=matrix @ prim.matrix) for prim in self.prims),
        )


def turned_skeleton(skeleton: Skeleton, matrix: Float[np.ndarray, "4 4"]) -> Skeleton:
    """The joints after a uniform scale and rotation, see `FileMesh.turned`."""
    size = float(np.cbrt(np.linalg.det(matrix[:3, :3])))
    shrink, grow = np.diag([1 / size, 1 / size, 1 / size, 1.0]), np.diag([size, size, size, 1.0])
    worlds = matrix @ skeleton.world() @ shrink
    return Skeleton(
        skeleton.names,
        skeleton.parents,
        local_transforms(worlds, skeleton.parents),
        grow @ skeleton.inverse_bind @ np.linalg.inv(matrix),
    )


def local_transforms(worlds: Float[np.ndarray, "J 4 4"], parents: Int[np.ndarray, " J"]) -> Float[np.ndarray, "J 4 4"]:
    """Each joint's transform relative to its parent, from the joints' world transforms."""
    locals_ = worlds.copy()
    below = parents >= 0
    locals_[below] = np.linalg.inv(worlds[parents[below]]) @ worlds[below]
    return locals_
