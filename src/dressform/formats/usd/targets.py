"""The blend shapes of a fit, and the base where a repair moved it, in the meshes of a stage."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from jaxtyping import Float

from dressform.body.skeleton import Skeleton
from dressform.fit.fit import Fit
from dressform.formats.gltf.morphs.basis import BASIS, basis_entry, basis_ranges
from dressform.formats.gltf.morphs.planned import PlannedTargets
from dressform.formats.gltf.morphs.slider_ranges import RANGES, STILL, ranges_entry
from dressform.formats.gltf.morphs.target_names import basis_words
from dressform.formats.gltf.morphs.target_style import SPARSE, TargetStyle
from dressform.formats.gltf.morphs.targets import ZERO_LENGTH, ZERO_TURN
from dressform.formats.gltf.normals import Shading
from dressform.formats.moving.correctives import CORRECTIVES, correctives_table
from dressform.formats.usd.fresh import distinct_name, vectors
from dressform.formats.usd.places import UsdPlace, UsdTarget
from dressform.formats.usd.read import EXTRAS

INDEX_BYTES, ROW_BYTES = 4, 12


@dataclass(frozen=True)
class UsdShapes:
    """What writes blend shapes.

    Attributes:
        target: The stage.
        fit: The fit.
        style: How targets are written.
        planned: Which they are.
        left_out: Morphs that get none, as they do not move the garment.
    """

    target: UsdTarget
    fit: Fit
    style: TargetStyle
    planned: PlannedTargets
    left_out: tuple[str, ...]

    @classmethod
    def of(cls, target: UsdTarget, fit: Fit, style: TargetStyle, planned: PlannedTargets) -> "UsdShapes":
        """For a fit: morphs that do not move it are left out where the style says so."""
        pairs = zip(fit.morph_names, fit.deltas) if not style.still and planned.basis is None else ()
        left = tuple(name for name, delta in pairs if np.abs(delta).max(initial=0.0) <= ZERO_LENGTH)
        return cls(target, fit, style, planned, left)

    @property
    def names(self) -> tuple[str, ...]:
        """The blend shapes that are written."""
        return tuple(name for name in self.planned.names if name not in self.left_out)

    def write(self) -> tuple[list[str], list[str]]:
        """Write them; the names of all blend shapes that the stage has now, and what to say aloud."""
        shading = Shading.of(self.target.file_to_cloth, self.target.stored.faces, self.target.normals)
        base = shading.normals(self.fit.base)
        was = shading.normals(self.fit.garment.vertices)
        stated = np.where(np.any(self.target.normals, axis=1)[:, None], self.target.normals, was)
        moved = self.fit.base - self.fit.garment.vertices
        for place in self.target.places:
            self._set_base(place, moved, stated + base - was)
        shapes: dict[str, list[tuple[Any, Float[np.ndarray, "n 3"] | None]]] = {}
        for name, delta in zip(self.planned.names, self.planned.deltas):
            if name not in self.left_out:
                turned = shading.normals(self.fit.base + delta) if self.style.normals else None
                shapes[name] = [self._moves(place, delta, turned, base) for place in self.target.places]
        every: dict[str, None] = {}
        notes: list[str] = []
        for number, place in enumerate(self.target.places):
            own = self._set_shapes(place, {name: found[number] for name, found in shapes.items()})
            kept = [name for name in own if name not in shapes]
            notes += [f"The garment's own blend shapes stay in front of the body's: {', '.join(kept)}."] if kept else []
            every |= dict.fromkeys([*own, *shapes])
        if self.planned.basis is not None:
            notes.append(basis_words(self.planned.basis, len(self.fit.morph_names)).capitalize())
        if self.left_out:
            notes.append(f"Left out, as they do not move the garment: {', '.join(self.left_out)}.")
        return list(every), list(dict.fromkeys(notes))

    def tell(self, place: UsdPlace, skeleton: Skeleton | None) -> None:
        """What glTF keeps in `extras`, as JSON in the `customData` of a mesh."""
        told: dict[str, Any] = {RANGES: ranges_entry(self.fit.body.range)}
        if self.left_out:
            told[STILL] = list(self.left_out)
        if self.planned.basis is not None:
            told[RANGES] |= basis_ranges(self.planned.basis, self.fit.body.range)
            told[BASIS] = basis_entry(self.planned.basis, self.fit.morph_names)
        if self.fit.correctives and skeleton is not None:
            ranks = range(len(skeleton.names))
            names = [str(name) for name in place.prim.GetAttribute("skel:blendShapes").Get()]
            told[CORRECTIVES] = correctives_table(self.fit.correctives, skeleton.names, ranks, names)
        place.prim.SetCustomDataByKey(EXTRAS, json.dumps(told, ensure_ascii=False))

    def _set_base(self, place: UsdPlace, moved: Float[np.ndarray, "G 3"], normals: Float[np.ndarray, "N 3"]) -> None:
        """Positions where a repair moved them; normals then too, and where the mesh has none but may."""
        usd, mesh = self.target.usd, self.target.usd.UsdGeom.Mesh(place.prim)
        shift = place.inward(place.picked(moved))
        points = np.array(mesh.GetPointsAttr().Get(usd.Usd.TimeCode.EarliestTime()), dtype=np.float64) + shift
        if np.any(shift):
            place.prim.RemoveProperty("points")
            mesh.CreatePointsAttr(vectors(usd, points))
            mesh.CreateExtentAttr(vectors(usd, np.stack([points.min(axis=0), points.max(axis=0)])))
        if place.has_normals:
            for name in ("normals", "primvars:normals", "primvars:normals:indices"):
                place.prim.RemoveProperty(name)
            mesh.CreateNormalsAttr(vectors(usd, place.unit_normals(normals[place.rows])))
            mesh.SetNormalsInterpolation(usd.UsdGeom.Tokens.vertex)

    def _moves(
        self,
        place: UsdPlace,
        delta: Float[np.ndarray, "G 3"],
        turned: Float[np.ndarray, "N 3"] | None,
        base: Float[np.ndarray, "N 3"],
    ) -> tuple[Float[np.ndarray, "n 3"], Float[np.ndarray, "n 3"] | None]:
        """Displacement of a mesh's vertices at weight 1, and how its normals change."""
        turn = None
        if turned is not None and place.has_normals:
            turn = place.unit_normals(turned[place.rows]) - place.unit_normals(base[place.rows])
        return place.inward(place.picked(delta)), turn

    def _set_shapes(self, place: UsdPlace, shapes: dict[str, Any]) -> Sequence[str]:
        """Blend shapes of one mesh: its own stay in front, one of ours takes the place of its like; its own names."""
        usd, stage = self.target.usd, self.target.stage
        binding = usd.UsdSkel.BindingAPI.Apply(place.prim)
        own = [str(name) for name in binding.GetBlendShapesAttr().Get() or ()]
        paths = dict(zip(own, binding.GetBlendShapeTargetsRel().GetForwardedTargets()))
        taken = {str(child.GetName()) for child in place.prim.GetChildren()}
        for name, (moves, turns) in shapes.items():
            path = place.prim.GetPath().AppendChild(distinct_name(usd, name, taken))
            self._write_shape(usd.UsdSkel.BlendShape.Define(stage, path), moves, turns)
            paths[name] = path
        if paths:
            binding.CreateBlendShapesAttr(list(paths))
            binding.CreateBlendShapeTargetsRel().SetTargets(list(paths.values()))
        return own

    def _write_shape(self, shape: Any, moves: Float[np.ndarray, "n 3"], turns: Float[np.ndarray, "n 3"] | None) -> None:
        usd = self.target.usd
        is_moved = np.abs(moves).max(axis=1) > ZERO_LENGTH * self._scale
        if turns is not None:
            is_moved |= np.abs(turns).max(axis=1) > ZERO_TURN
        rows = np.flatnonzero(is_moved)
        attributes = 1 if turns is None else 2
        sparse_bytes = len(rows) * (INDEX_BYTES + ROW_BYTES * attributes)
        if self.style.encoding == SPARSE and sparse_bytes < len(moves) * ROW_BYTES * attributes:
            rows = rows if len(rows) else np.zeros(1, dtype=np.int64)  # without indices it would be all vertices
            shape.CreatePointIndicesAttr(usd.Vt.IntArray.FromNumpy(rows.astype(np.int32)))
        else:
            rows = np.arange(len(moves))
        shape.CreateOffsetsAttr(vectors(usd, moves[rows]))
        if turns is not None:
            shape.CreateNormalOffsetsAttr(vectors(usd, turns[rows]))

    @property
    def _scale(self) -> float:
        """Units of the stage in a metre."""
        return float(np.cbrt(abs(np.linalg.det(self.target.to_stage))))
