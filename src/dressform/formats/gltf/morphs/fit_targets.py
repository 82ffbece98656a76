"""The attributes and morph targets that a fit puts into the primitives of a garment's file."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.fit.fit import Fit
from dressform.formats.gltf.accessors import read_floats
from dressform.formats.gltf.builder import Builder
from dressform.formats.gltf.fit_source import FitPrimitive, FitSource, stored_directions
from dressform.formats.gltf.morphs.planned import PlannedTargets
from dressform.formats.gltf.morphs.tangents import carried_tangents
from dressform.formats.gltf.morphs.target_style import SPARSE, TargetStyle
from dressform.formats.gltf.morphs.targets import add_morph
from dressform.formats.gltf.normals import Shading, unit_rows


@dataclass(frozen=True)
class TargetWriter:
    """What turns the base and each displacement of a fit into attributes and targets of a garment's primitives.

    Attributes:
        builder: The glTF under construction.
        source: The garment's own glTF.
        fit: The fit.
        primitives: Where its targets go.
        style: How they are written.
        planned: Which they are.
    """

    builder: Builder
    source: FitSource
    fit: Fit
    primitives: list[FitPrimitive]
    style: TargetStyle
    planned: PlannedTargets

    def write(self) -> None:
        """The base where it moved, its normals and tangents, and one target per morph and corrective."""
        stored = stored_directions(self.source, "NORMAL")
        tangents = stored_directions(self.source, "TANGENT")
        shading = Shading.of(self.source.file_to_cloth, self.source.stored.faces, stored)
        moved = self.fit.base - self.fit.garment.vertices
        base = shading.normals(self.fit.base)
        turned = base - shading.normals(self.fit.garment.vertices) if np.any(moved) else np.zeros_like(base)
        if np.any(moved):
            tangents = self._carried(tangents, self.fit.garment.vertices, self.fit.base, unit_rows(stored + turned))
        for primitive in self.primitives:
            _set_base(self.builder, self.source, primitive, moved)
            if primitive.rows is not None:
                rows = primitive.rows
                _set_normals(self.builder, primitive, stored[rows] + turned[rows], base, turned)
                if np.any(turned[rows]):
                    self._set_tangents(primitive, tangents[rows])
        for delta in self.planned.deltas:
            for primitive, normals, along in self._turns(shading, base, tangents, delta):
                shift = primitive.inward(primitive.picked(delta))
                sparse = self.style.encoding == SPARSE
                primitive.targets.append(add_morph(self.builder, shift, normals, along, sparse=sparse))
        self._turn_own(shading, base, tangents)

    def _turns(
        self,
        shading: Shading,
        base: Float[np.ndarray, "N 3"],
        tangents: Float[np.ndarray, "N 3"],
        delta: Float[np.ndarray, "G 3"],
    ) -> list[tuple[FitPrimitive, Float[np.ndarray, "n 3"] | None, Float[np.ndarray, "n 3"] | None]]:
        """How each primitive's normals and tangents change at weight 1, None where nothing is to be written."""
        if not self.style.normals:
            return [(primitive, None, None) for primitive in self.primitives]
        after = shading.normals(self.fit.base + delta)
        carried = self._carried(tangents, self.fit.base, self.fit.base + delta, after)
        found: list[tuple[FitPrimitive, Float[np.ndarray, "n 3"] | None, Float[np.ndarray, "n 3"] | None]] = []
        for primitive in self.primitives:
            rows = primitive.rows
            normals = along = None
            if rows is not None:
                normals = primitive.unit_normals(after[rows]) - primitive.unit_normals(base[rows])
                if "TANGENT" in primitive.entry["attributes"]:
                    along = unit_rows(primitive.inward(carried[rows])) - unit_rows(primitive.inward(tangents[rows]))
            found.append((primitive, normals, along))
        return found

    def _carried(
        self,
        tangents: Float[np.ndarray, "N 3"],
        before: Float[np.ndarray, "G 3"],
        after: Float[np.ndarray, "G 3"],
        normals: Float[np.ndarray, "N 3"],
    ) -> Float[np.ndarray, "N 3"]:
        """The tangents once the cloth has moved; zero where the file has none."""
        if not np.any(tangents):
            return tangents
        places, faces = self.source.file_to_cloth, self.source.stored.faces
        carried = carried_tangents(tangents, before[places], after[places], faces, normals)
        return np.where(np.any(tangents, axis=1)[:, None], carried, 0.0)

    def _set_tangents(self, primitive: FitPrimitive, tangents: Float[np.ndarray, "n 3"]) -> None:
        attributes = primitive.entry["attributes"]
        if "TANGENT" in attributes:
            signs = read_floats(self.source.document, attributes["TANGENT"], "TANGENT", ("VEC4",))[:, 3:]
            values = np.concatenate([unit_rows(primitive.inward(tangents)), signs], axis=1)
            attributes["TANGENT"] = self.builder.add_floats(values)

    def _turn_own(self, shading: Shading, base: Float[np.ndarray, "N 3"], tangents: Float[np.ndarray, "N 3"]) -> None:
        """Find how the garment's own targets turn it, for those that do not say.

        Engines ask for the same attributes in every target of a mesh: where one lacks normals, some drop all of them
        and some take the base normal for the missing difference.
        """
        for name, delta in zip(self.source.stored.morph_names, self.source.stored.deltas):
            if name in self.planned.names:
                continue
            cloth = np.zeros_like(self.fit.base)
            used = self.source.file_to_cloth >= 0
            cloth[self.source.file_to_cloth[used]] = delta[used]
            for primitive, normals, along in self._turns(shading, base, tangents, cloth):
                primitive.own_turns[name] = {"NORMAL": normals, "TANGENT": along}


def _set_base(builder: Builder, source: FitSource, primitive: FitPrimitive, moved: Float[np.ndarray, "G 3"]) -> None:
    shift = primitive.inward(primitive.picked(moved))
    if not np.any(shift):
        return
    attributes = primitive.entry["attributes"]
    stored = read_floats(source.document, attributes["POSITION"], "POSITION", ("VEC3",))
    attributes["POSITION"] = builder.add_floats(stored + shift, bounds=True)


def _set_normals(
    builder: Builder,
    primitive: FitPrimitive,
    wanted: Float[np.ndarray, "n 3"],
    base: Float[np.ndarray, "N 3"],
    turned: Float[np.ndarray, "N 3"],
) -> None:
    """Base normals where the file has none (those of the smooth mesh) or where a repair turned them."""
    attributes = primitive.entry["attributes"]
    if "NORMAL" not in attributes:
        attributes["NORMAL"] = builder.add_floats(primitive.unit_normals(base[primitive.rows]))
    elif np.any(turned[primitive.rows]):
        attributes["NORMAL"] = builder.add_floats(primitive.unit_normals(wanted))
