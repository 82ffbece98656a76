"""A garment: cloth modelled at the base, its parts, and how strongly each vertex follows."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import ClothPoints, Faces
from dressform.calls import refuse_misfit
from dressform.errors import ArgumentError, MatchError
from dressform.garment.choices import FULL_STRENGTH as FULL_STRENGTH
from dressform.garment.choices import NO_STRENGTH as NO_STRENGTH
from dressform.garment.own_joints import OwnJoints
from dressform.mesh.flat import flat_mesh, read_only
from dressform.units import counted


@dataclass(frozen=True, repr=False)
class Garment:
    """A cloth mesh, metres, +Y up, +Z front, welded.

    Vertices that the file splits for UVs or normals are one vertex here, so that seams cannot open.

    Attributes:
        name: Name of the garment.
        vertices: Base positions, (G, 3).
        faces: Triangles, (F, 3).
        part_names: Names of the parts (a glTF primitive or node, an OBJ group, else a connected piece).
        face_parts: Part of each triangle, (F,).
        strength: How strongly each vertex follows the body, 0 (not at all) to 1 (fully), (G,).
        notes: Irregularities found when the garment was read, one sentence each.
        source: What it was read from, for whoever writes it again; nothing is computed with it.
        own_joints: Joint weights that its file holds, or None.
        stiffness: How stiff the file says that a part is, by its name: 0 cloth, 1 rigid. Parts of which it says nothing
            are left out.

    Raises:
        MatchError: counts disagree.
        ArgumentError: there are no triangles, a position is not finite, a face names no vertex or no part, or a
            strength lies outside [0, 1]; or an array is of another shape or kind.
    """

    name: str
    vertices: ClothPoints
    faces: Faces
    part_names: tuple[str, ...]
    face_parts: Int[np.ndarray, " F"]
    strength: Float[np.ndarray, " G"]
    notes: tuple[str, ...] = ()
    source: object = field(default=None, compare=False)
    own_joints: OwnJoints | None = None
    stiffness: Mapping[str, float] = field(default_factory=dict)

    def __post_init__(self) -> None:
        refuse_misfit("Garment", "name", self.name, str)
        refuse_misfit("Garment", "part_names", self.part_names, tuple[str, ...])
        refuse_misfit("Garment", "stiffness", self.stiffness, Mapping[str, float])
        object.__setattr__(self, "part_names", tuple(self.part_names))
        for name, shape, kind in (
            ("vertices", ("G", 3), np.float64),
            ("faces", ("F", 3), np.int64),
            ("face_parts", ("F",), np.int64),
            ("strength", ("G",), np.float64),
        ):
            object.__setattr__(self, name, read_only("Garment", name, getattr(self, name), shape, kind))
        if len(self.face_parts) != len(self.faces) or len(self.strength) != len(self.vertices):
            raise MatchError(
                f"Garment: {self.name!r} must have one part per face and one strength per vertex, got "
                f"{len(self.face_parts)} parts for {len(self.faces)} faces and {len(self.strength)} strengths for "
                f"{len(self.vertices)} vertices. Give each its own."
            )
        if self.own_joints is not None and len(self.own_joints.joints) != len(self.vertices):
            raise MatchError(
                f"Garment: `own_joints` of {self.name!r} must have one row per vertex ({len(self.vertices)}), got "
                f"{len(self.own_joints.joints)}. Carry them to its vertices, or leave them out."
            )
        if not len(self.faces):
            raise ArgumentError.of("Garment", "faces", "one triangle or more", "none", "Give a mesh with faces")
        flat_mesh("Garment", self.vertices, self.faces)
        if self.face_parts.min() < 0 or self.face_parts.max() >= len(self.part_names):
            rule = f"parts 0..{len(self.part_names) - 1}"
            observed = f"{self.face_parts.min()}..{self.face_parts.max()}"
            raise ArgumentError.of("Garment", "face_parts", rule, observed, "Name every part")
        outside = np.flatnonzero(~((self.strength >= NO_STRENGTH) & (self.strength <= FULL_STRENGTH)))
        if outside.size:
            raise ArgumentError.of(
                "Garment",
                "strength",
                "in [0, 1]",
                f"{self.strength[outside[0]]:g} at vertex {outside[0]}",
                "Scale the mask into that interval",
            )

    def __repr__(self) -> str:
        """Its name and size; no arrays."""
        return f"<Garment {self.name!r}: {len(self.vertices)} vertices, {counted(len(self.part_names), 'part')}>"

    def __getstate__(self) -> dict[str, object]:
        """The state to pickle: the source is left out, so other processes do not get it."""
        return {**self.__dict__, "source": None}

    @classmethod
    def of(cls, name: str, vertices: ClothPoints, faces: Faces) -> "Garment":
        """Make a garment of one part that follows fully."""
        return cls(
            name,
            vertices,
            faces,
            (name,),
            np.zeros(len(faces), dtype=np.int64),
            np.full(len(vertices), FULL_STRENGTH),
        )

    def vertex_parts(self) -> Int[np.ndarray, " G"]:
        """Part of each vertex, (G,): that of its first triangle; -1 where no triangle uses the vertex."""
        parts = np.full(len(self.vertices), -1, dtype=np.int64)
        parts[self.faces[::-1].ravel()] = np.repeat(self.face_parts[::-1], 3)
        return parts
