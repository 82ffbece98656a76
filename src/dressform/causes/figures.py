"""The figures that one cause's explanation rests on, taken at the cluster; their names are those of `EVIDENCE`."""

from collections.abc import Callable, Mapping

import numpy as np
from scipy.sparse import csr_array, eye_array
from scipy.sparse.csgraph import dijkstra

from dressform.causes import should_not_follow, too_few_vertices, too_tight
from dressform.causes.case import Case
from dressform.causes.evidence import OF
from dressform.causes.results import (
    AMBIGUOUS_FOOT,
    ANOTHER_SHAPE,
    BEYOND_EXTREMITY,
    RIGID_PATCH,
    SHOULD_NOT_FOLLOW,
    TOO_FEW_VERTICES,
    TOO_TIGHT,
)
from dressform.faults.broken import hard_bends
from dressform.mesh.nearest import signed_clearance
from dressform.repair.footprint import footprints

FLATTEST = 1e-3  # 1/m; skin that bends less is flat


def gather_figures(case: Case, cause: str) -> dict[str, float]:
    """Figures of every cause, and those of the one that is named, if any."""
    figures = _common(case)
    if cause in _OF_CAUSE:
        figures |= _OF_CAUSE[cause](case)
    return figures


def _common(case: Case) -> dict[str, float]:
    """Clearance at the cluster at the base and on its worst, and the heights between which it lies."""
    tree = case.ground.at(case.weights)
    cloth = case.fit.at(case.weights)
    now, _ = signed_clearance(tree, cloth[case.near])
    floor = float(tree.vertices[:, 1].min())
    heights = cloth[case.near, 1] - floor
    return {
        "clearance": float(now.min()),
        "clearance_base": float(case.clearance[case.near].min()),
        "margin": case.wearing.margin,
        "height_low": float(heights.min()),
        "height_high": float(heights.max()),
    }


def _too_few(case: Case) -> dict[str, float]:
    """The triangles there against the bend under them."""
    tested, failing = case.resolution, too_few_vertices.failing(case)
    cloth = case.fit.at(case.weights)
    corners = cloth[case.fit.garment.faces[failing]]
    edges = np.linalg.norm(corners - np.roll(corners, -1, axis=1), axis=2)
    worst = int(np.argmax(np.where(failing, tested.index, -1.0)))
    curvature = max(float(tested.curvature[worst]), FLATTEST)
    heights = corners[..., 1] - float(case.ground.at(case.weights).vertices[:, 1].min())
    return {
        "clearance": float(tested.room[worst]) + case.wearing.margin,
        "edge_length": float(edges.max()),
        "bend_radius": 1.0 / curvature,
        "resolution": float(tested.index[worst]),
        "triangles_failing": float(failing.sum()),
        "repair_vertices": float(too_few_vertices.split(case, case.fit.garment).added),
        "height_low": float(heights.min()),
        "height_high": float(heights.max()),
    }


def _rigid_patches(case: Case) -> dict[str, float]:
    """Step, strain and area of the rigid patches of every morph that has some under the cluster."""
    body, weights = case.wearing.ground.body, case.cluster.worst.weights
    feet = np.zeros(len(body.vertices), dtype=bool)
    feet[case.wearing.foot_vertices[case.vertices]] = True
    figures = {}
    for morph in np.flatnonzero(weights):
        found = case.wearing.ground.rigid_patches(int(morph))
        here = [rigid_patch for rigid_patch in found.rigid_patches if found.found and feet[rigid_patch.vertices].any()]
        if here:
            name = OF + body.morph_names[morph]
            worst = max(here, key=lambda rigid_patch: rigid_patch.step)
            figures["rim_step" + name] = worst.step
            figures["patch_strain" + name] = worst.strain
            figures["patch_area" + name] = sum(rigid_patch.area for rigid_patch in here)
            figures["plate_weight" + name] = float(weights[morph])
    return figures


def _ambiguous(case: Case) -> dict[str, float]:
    """Two feet: how far from the cloth each is, how far apart along the skin, how far they part on the shape."""
    wearing, gates = case.wearing, case.wearing.gates
    chosen = case.vertices[case.near & gates.gated[case.vertices]]
    if not chosen.size:
        return {}
    worst = int(chosen[np.argmax(gates.strays[chosen] - gates.limits[chosen])])
    body, delta = case.ground.body, case.ground.body.deltas[0]
    own, other = int(gates.source[worst]), int(wearing.foot_vertices[worst])
    point = wearing.fit.garment.vertices[worst]
    figures = {
        "foot_distance": float(abs(wearing.feet.clearance[worst])),
        "other_foot_distance": float(np.linalg.norm(point - body.vertices[own])),
        "feet_part": float(np.linalg.norm(delta[own] - delta[other])),
    }
    apart = float(dijkstra(wearing.ground.paths, directed=False, indices=np.array([own]))[0, other])
    return figures | ({"feet_apart": apart} if np.isfinite(apart) else {})


def _beyond(case: Case) -> dict[str, float]:
    """The smallest footprint there, and the radius of the skin under it."""
    vertices = case.vertices[case.near]
    small = footprints(case.wearing.factors[vertices])
    worst = int(vertices[np.argmin(small)])
    clearance = max(float(case.wearing.feet.clearance[worst]), 0.0)
    growth = float(case.wearing.factors[worst].prod() ** 0.5) - 1.0
    figures = {"footprint": float(small.min()), "limb_width": float(case.wearing.thickness[vertices].min())}
    if growth > 0.0 and clearance > 0.0:
        figures["tip_radius"] = clearance / growth
    return figures


def _should_not_follow(case: Case) -> dict[str, float]:
    """How far stiff parts bend and are led from the way of their seat, or how far off the cloth is."""
    hard = case.pieces.hard_vertices()
    if not (hard & case.near).any():
        return {"far_clearance": float(case.clearance[case.near].max())}
    cloth, garment = case.fit.at(case.weights), case.fit.garment
    stiff = should_not_follow.left_alone(case, case.fit, csr_array(eye_array(len(cloth)))).at(case.weights)
    off = np.linalg.norm(stiff - cloth, axis=1) * hard
    parts = garment.vertex_parts()
    paths = {garment.part_names[part]: float(off[parts == part].max()) for part in np.unique(parts[hard & case.near])}
    return {
        "hard_bend": float(hard_bends(case.pieces, garment.vertices, cloth)[hard].max()),
        "repair_move": max(paths.values()),
        **{"hard_way" + OF + part: way for part, way in paths.items()},
    }


def _too_tight(case: Case) -> dict[str, float]:
    """What is missing at the base."""
    return {"missing_clearance": too_tight.missing(case)}


def _another_shape(case: Case) -> dict[str, float]:
    """How far the shape lies that the garment was modelled on, and the room that it has there."""
    origin = case.wearing.origin
    if origin is None:
        return {}
    here = case.vertices[case.near]
    return {
        "shape_distance": float(np.linalg.norm(origin.moves[here], axis=1).max()),
        "clearance_there": float(np.median(origin.meant[here])),
        "clearance_base": float(np.median(case.wearing.feet.clearance[here])),
        **origin.figures,
    }


_OF_CAUSE: Mapping[str, Callable[[Case], dict[str, float]]] = {
    TOO_FEW_VERTICES: _too_few,
    RIGID_PATCH: _rigid_patches,
    AMBIGUOUS_FOOT: _ambiguous,
    BEYOND_EXTREMITY: _beyond,
    SHOULD_NOT_FOLLOW: _should_not_follow,
    TOO_TIGHT: _too_tight,
    ANOTHER_SHAPE: _another_shape,
}
