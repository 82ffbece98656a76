"""The blend shapes of a USD mesh as displacements, and the weights that its file shows."""

from typing import Any

import numpy as np
from jaxtyping import Float

from dressform.errors import FileError
from dressform.formats.gltf.reading.scene import distinct
from dressform.formats.usd.stage import AGAIN, OpenedStage

STRAIGHT = 1e-4
"""An in-between that lies within this share of the largest displacement of the straight line changes nothing."""


def blend_shapes_of(opened: OpenedStage, prim: Any, count: int) -> dict[str, Float[np.ndarray, "N 3"]]:
    """Displacement at weight 1 of each blend shape of a mesh, in its own space, (N, 3) each.

    Args:
        opened: The file.
        prim: The mesh.
        count: Its vertices.

    Raises:
        FileError: a shape is missing, its counts or indices disagree with the mesh, or an in-between bends its way.
    """
    skel = opened.usd.UsdSkel
    binding = skel.BindingAPI(prim)
    names = list(binding.GetBlendShapesAttr().Get(opened.time) or ())
    targets = binding.GetBlendShapeTargetsRel().GetForwardedTargets()
    if len(names) != len(targets):
        problem = f"names {len(names)} blend shapes, but leads to {len(targets)}"
        raise FileError.of(opened.path, str(prim.GetPath()), problem, AGAIN)
    found = {}
    for name, target in zip(distinct([str(name) for name in names]), targets):
        shape = skel.BlendShape(opened.stage.GetPrimAtPath(target))
        if not shape:
            raise FileError.of(opened.path, str(target), "is no blend shape, though a mesh names it as one", AGAIN)
        found[name] = _displacement(opened, shape, count)
    return found


def shown_weights(opened: OpenedStage, prim: Any) -> dict[str, float]:
    """Weight of each blend shape at the first moment, by name; none where no animation moves the mesh."""
    skel = opened.usd.UsdSkel
    source = skel.BindingAPI(prim).GetInheritedAnimationSource()
    if not source:
        skeleton = skel.BindingAPI(prim).GetInheritedSkeleton()
        source = skel.BindingAPI(skeleton.GetPrim()).GetInheritedAnimationSource() if skeleton else None
    animation = skel.Animation(source) if source else None
    if not animation:
        return {}
    names = animation.GetBlendShapesAttr().Get() or ()
    weights = animation.GetBlendShapeWeightsAttr().Get(opened.time) or ()
    pairs = ((str(name), float(weight)) for name, weight in zip(names, weights))
    return {name: weight for name, weight in pairs if np.isfinite(weight)}


def _displacement(opened: OpenedStage, shape: Any, count: int) -> Float[np.ndarray, "N 3"]:
    path = shape.GetPath()
    offsets = np.array(shape.GetOffsetsAttr().Get() or (), dtype=np.float64).reshape(-1, 3)
    told = shape.GetPointIndicesAttr().Get()
    rows = None if told is None or not len(told) else np.array(told, dtype=np.int64)
    straight = _spread(opened, path, offsets, rows, count)
    reach = np.abs(straight).max(initial=0.0)
    for between in shape.GetInbetweens():
        weight = between.GetWeight()
        there = _spread(opened, between.GetAttr().GetPath(), np.array(between.GetOffsets() or ()), rows, count)
        if weight is None or not np.abs(there - weight * straight).max(initial=0.0) <= STRAIGHT * reach:
            at = "no weight" if weight is None else f"weight {weight:g}"
            problem = f"has an in-between at {at} beside its straight line: it would not be linear in its weight"
            advice = "Remove its in-betweens, or export each as a blend shape of its own"
            raise FileError.of(opened.path, str(path), problem, advice)
    return straight


def _spread(
    opened: OpenedStage, place: Any, offsets: Float[np.ndarray, "M 3"], rows: np.ndarray | None, count: int
) -> Float[np.ndarray, "N 3"]:
    """Offsets at the vertices that they are for, zero elsewhere, (N, 3)."""
    offsets = np.array(offsets, dtype=np.float64).reshape(-1, 3)
    expected = count if rows is None else len(rows)
    if len(offsets) != expected:
        problem = f"has {len(offsets)} offsets for {expected} vertices"
        raise FileError.of(opened.path, str(place), problem, AGAIN)
    if not np.isfinite(offsets).all():
        raise FileError.of(opened.path, str(place), "has an offset that is not finite", AGAIN)
    if rows is None:
        return offsets
    if len(rows) and not (rows.min() >= 0 and rows.max() < count):
        raise FileError.of(opened.path, str(place), f"moves a vertex of {count} that is not there", AGAIN)
    if len(np.unique(rows)) != len(rows):
        raise FileError.of(opened.path, str(place), "moves a vertex twice", AGAIN)
    whole = np.zeros((count, 3))
    whole[rows] = offsets
    return whole
