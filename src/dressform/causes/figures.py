"""Measures the figures that an explanation rests on, at the cluster; names as in `EVIDENCE`."""

from collections.abc import Callable, Mapping

import numpy as np
from scipy.sparse import csr_array, eye_array
from scipy.sparse.csgraph import dijkstra

from dressform.arrays import ClothPoints
from dressform.body.stance import carry
from dressform.causes.evidence import OF
from dressform.causes.patch import Patch
from dressform.causes.results import (
    AMBIGUOUS_FOOT,
    ANOTHER_SHAPE,
    BEYOND_EXTREMITY,
    JOINT_WEIGHTS,
    RIGID_PATCH,
    ROUGH_MORPH,
    SHOULD_NOT_FOLLOW,
    TOO_FEW_VERTICES,
    TOO_TIGHT,
)
from dressform.causes.roughness import MIN_NOISE
from dressform.causes.swaps import joint_weights, rough_morph, should_not_follow, too_few_vertices
from dressform.faults.broken import hard_bends
from dressform.mesh.nearest import signed_clearance
from dressform.repair.whole.footprint import footprints

MEDIAN = 50.0  # per cent
FLATTEST = 1e-3  # 1/m; skin that bends less is flat


def gather_figures(patch: Patch, cause: str) -> dict[str, float]:
    """Figures of every cause, and those of the one that is named, if any."""
    figures = _common(patch)
    if cause in _OF_CAUSE:
        figures |= _OF_CAUSE[cause](patch)
    return figures


def _common(patch: Patch) -> dict[str, float]:
    """Clearance at the cluster at the base and on its worst shape, and its lowest and highest point."""
    tree = patch.context.at(patch.weights, patch.stance)
    cloth = _cloth(patch)
    now, _ = signed_clearance(tree, cloth[patch.near])
    floor = float(tree.vertices[:, 1].min())
    heights = cloth[patch.near, 1] - floor
    return {
        "clearance": float(now.min()),
        "clearance_base": float(patch.clearance[patch.near].min()),
        "margin": patch.worn.margin,
        "height_low": float(heights.min()),
        "height_high": float(heights.max()),
    }


def _cloth(patch: Patch) -> ClothPoints:
    """The patch on its shape, at its stance."""
    cloth, skeleton = patch.fit.at(patch.weights), patch.context.body.skeleton
    if patch.stance is None or patch.fit.skin is None or skeleton is None:
        return cloth
    return carry(patch.stance.maps(patch.fit.skin, skeleton), cloth)


def _too_few(patch: Patch) -> dict[str, float]:
    """The size of the triangles there compared with the bend under them."""
    tested, failing = patch.resolution, too_few_vertices.failing(patch)
    faces = patch.fit.garment.faces[failing]
    corners, modelled = _cloth(patch)[faces], patch.fit.base[faces]
    edges = np.linalg.norm(modelled - np.roll(modelled, -1, axis=1), axis=2)
    worst = int(np.argmax(np.where(failing, tested.index, -1.0)))
    curvature = max(float(tested.curvature[worst]), FLATTEST)
    heights = corners[..., 1] - float(patch.context.at(patch.weights, patch.stance).vertices[:, 1].min())
    return {
        "clearance": float(tested.room[worst]) + patch.worn.margin,
        "edge_length": float(edges.max()),
        "bend_radius": 1.0 / curvature,
        "resolution": float(tested.index[worst]),
        "triangles_failing": float(failing.sum()),
        "repair_vertices": float(too_few_vertices.split(patch, patch.fit.garment).added),
        "height_low": float(heights.min()),
        "height_high": float(heights.max()),
    }


def _rigid_patches(patch: Patch) -> dict[str, float]:
    """Step, strain and area of the rigid patches of every morph that has some under the cluster."""
    body, weights = patch.worn.context.body, patch.cluster.worst.weights
    feet = np.zeros(len(body.vertices), dtype=bool)
    feet[patch.worn.foot_vertices[patch.vertices]] = True
    figures = {}
    for morph in np.flatnonzero(weights):
        found = patch.worn.context.rigid_patches(int(morph))
        here = [rigid_patch for rigid_patch in found.rigid_patches if found.found and feet[rigid_patch.vertices].any()]
        if here:
            name = OF + body.morph_names[morph]
            worst = max(here, key=lambda rigid_patch: rigid_patch.step)
            figures["rim_step" + name] = worst.step
            figures["patch_strain" + name] = worst.strain
            figures["patch_area" + name] = sum(rigid_patch.area for rigid_patch in here)
            figures["plate_weight" + name] = float(weights[morph])
    return figures


def _ambiguous(patch: Patch) -> dict[str, float]:
    """Two feet: how far from the cloth each is, how far apart along the skin, how far they part on the shape."""
    worn, gates = patch.worn, patch.worn.gates
    chosen = patch.vertices[patch.near & gates.gated[patch.vertices]]
    if not chosen.size:
        return {}
    worst = int(chosen[np.argmax(gates.strays[chosen] - gates.limits[chosen])])
    body, delta = patch.context.body, patch.context.body.deltas[0]
    own, other = int(gates.source[worst]), int(worn.foot_vertices[worst])
    point = worn.fit.garment.vertices[worst]
    figures = {
        "foot_distance": float(abs(worn.feet.clearance[worst])),
        "other_foot_distance": float(np.linalg.norm(point - body.vertices[own])),
        "feet_part": float(np.linalg.norm(delta[own] - delta[other])),
    }
    apart = float(dijkstra(worn.context.paths, directed=False, indices=np.array([own]))[0, other])
    return figures | ({"feet_apart": apart} if np.isfinite(apart) else {})


def _beyond(patch: Patch) -> dict[str, float]:
    """The smallest footprint there, and the radius of the skin under it."""
    vertices = patch.vertices[patch.near]
    small = footprints(patch.worn.factors[vertices])
    worst = int(vertices[np.argmin(small)])
    clearance = max(float(patch.worn.feet.clearance[worst]), 0.0)
    growth = float(patch.worn.factors[worst].prod() ** 0.5) - 1.0
    figures = {"footprint": float(small.min()), "limb_width": float(patch.worn.thickness[vertices].min())}
    if growth > 0.0 and clearance > 0.0:
        figures["tip_radius"] = clearance / growth
    return figures


def _should_not_follow(patch: Patch) -> dict[str, float]:
    """How far stiff parts bend and depart from the motion of their seat, or how far off the cloth is."""
    hard = patch.pieces.hard_vertices()
    if not (hard & patch.near).any():
        return {"far_clearance": float(patch.clearance[patch.near].max())}
    cloth, garment = patch.fit.at(patch.weights), patch.fit.garment
    stiff = should_not_follow.left_alone(patch, patch.fit, csr_array(eye_array(len(cloth)))).at(patch.weights)
    off = np.linalg.norm(stiff - cloth, axis=1) * hard
    parts = garment.vertex_parts()
    paths = {garment.part_names[part]: float(off[parts == part].max()) for part in np.unique(parts[hard & patch.near])}
    return {
        "hard_bend": float(hard_bends(patch.pieces, garment.vertices, cloth)[hard].max()),
        "repair_move": max(paths.values()),
        **{"hard_way" + OF + part: way for part, way in paths.items()},
    }


def _too_tight(patch: Patch) -> dict[str, float]:
    """How far the cloth must come out at the base, and the room that it then has."""
    near = patch.vertices[patch.near]
    lack = patch.worn.room[near] - patch.worn.clearance[near]
    worst = int(np.argmax(lack))
    return {"missing_clearance": float(lack[worst]), "room_around": float(patch.worn.room[near[worst]])}


def _another_shape(patch: Patch) -> dict[str, float]:
    """How far away the shape is that the garment was modelled on, and the clearance there."""
    origin = patch.worn.origin
    if origin is None:
        return {}
    here = patch.vertices[patch.near]
    return {
        "shape_distance": float(np.linalg.norm(origin.moves[here], axis=1).max()),
        "clearance_there": float(np.median(origin.meant[here])),
        "clearance_base": float(np.median(patch.worn.feet.clearance[here])),
        **origin.figures,
    }


def _rough(patch: Patch) -> dict[str, float]:
    """Noise of every morph that is rough under the cluster."""
    body, weights, under = patch.worn.context.body, patch.cluster.worst.weights, rough_morph.under_patch(patch)
    noise = {
        body.morph_names[morph]: rough_morph.noise_of(patch, body.deltas[morph], under, share=MEDIAN)
        for morph in np.flatnonzero(weights)
    }
    return {"morph_noise" + OF + name: level for name, level in noise.items() if level > MIN_NOISE}


_OF_CAUSE: Mapping[str, Callable[[Patch], dict[str, float]]] = {
    TOO_FEW_VERTICES: _too_few,
    RIGID_PATCH: _rigid_patches,
    AMBIGUOUS_FOOT: _ambiguous,
    BEYOND_EXTREMITY: _beyond,
    SHOULD_NOT_FOLLOW: _should_not_follow,
    TOO_TIGHT: _too_tight,
    ANOTHER_SHAPE: _another_shape,
    ROUGH_MORPH: _rough,
    JOINT_WEIGHTS: joint_weights.figures,
}
