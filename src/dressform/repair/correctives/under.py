"""Cloth under its own skin on single shapes at a stance: demands beside those of the proof."""

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import Weights
from dressform.fit.contact import blended_maps
from dressform.mesh.nearest import signed_clearance
from dressform.proof.at_stance import PosedPair
from dressform.proof.folds import folding_at
from dressform.proof.linear_mesh import LinearMesh
from dressform.repair.clear.programme import Constraints

OWN_REACH = 0.10
"""Skin nearer than this to the foot, at rest at the base, is the cloth's own even across a crease, metres."""
MOST_CORNERS = 5
SHARE = 0.7
"""A corner of the range speaks for the vertices that it takes this share of their worst depth."""
NEARLY = 5e-4
"""Vertices this near to falling short are held too, metres."""
ASKED_MORE = 1e-4


def threatening_corners(pair: PosedPair, cloth: LinearMesh, vertices: Int[np.ndarray, " N"]) -> list[Weights]:
    """The base, and the corners of the range that press most of some vertices deepest under the skin at their feet.

    Along the skin's normal at the base the height over the foot is affine in the weights, so its corner is known.
    """
    feet, box = pair.case.feet, pair.case.box
    corners, share = pair.body.faces[feet.faces[vertices]], feet.barycentric[vertices]
    foot = np.einsum("vc,vcmx->vmx", share, pair.body.terms[corners])
    normals = pair.body.tree.pseudonormals[2][feet.faces[vertices]]
    heights = np.einsum("vmx,vx->vm", cloth.terms[vertices] - foot, normals)
    slopes = heights[:, 1:]
    ends = np.where(slopes * box.low < slopes * box.high, box.low, box.high)
    least = heights[:, 0] + (ends * slopes).sum(axis=1)
    found, left = [np.zeros(len(box.low))], np.minimum(least, 0.0)
    for _ in range(MOST_CORNERS):
        if not left.min(initial=0.0) < 0:
            break
        corner = ends[int(np.argmin(left))]
        found.append(corner)
        left = np.where(heights[:, 0] + slopes @ corner < SHARE * least, 0.0, left)
    return found


def demands_on(
    pair: PosedPair,
    start: LinearMesh,
    cloth: LinearMesh,
    weights: Weights,
    vertices: Int[np.ndarray, " N"],
    room: Float[np.ndarray, " N"],
) -> tuple[Constraints, Float[np.ndarray, " R"]]:
    """Vertices that must be lifted off the skin at one shape: demands at rest on a displacement, and their depths.

    Left out are vertices whose nearest skin is folded by the blend, or lies far from their foot at rest.

    Args:
        pair: Body and cloth at the stance.
        start: The cloth at the stance without the displacement.
        cloth: The same with it.
        weights: The shape.
        vertices: Cloth vertices that are looked at.
        room: What each must keep, metres.
    """
    case = pair.case
    tree = pair.body.tree.refit(pair.body.at(weights))
    now = cloth.at(weights)[vertices]
    signed, found = signed_clearance(tree, now)
    asked = np.flatnonzero(signed < room + NEARLY)
    asked = asked[_own(pair, vertices[asked], found.faces[asked], weights)]
    faces, share = found.faces[asked], found.barycentric[asked]
    normals = np.einsum("sc,scx->sx", share, tree.pseudonormals[0][tree.faces[faces]])
    normals /= np.maximum(np.linalg.norm(normals, axis=1, keepdims=True), 1e-12)
    at = vertices[asked]
    height = np.einsum("sx,sx->s", start.at(weights)[at] - found.points[asked], normals)
    back = np.einsum("sij,si->sj", pair.maps[at, :, :3], normals)
    length = np.maximum(np.linalg.norm(back, axis=1), 1e-12)
    rows = Constraints(at, back / length[:, None], (height / length)[:, None], (room[asked] + ASKED_MORE) / length)
    assert len(case.box.low) == len(weights)
    return rows, np.maximum(room[asked] - signed[asked], 0.0)


def _own(
    pair: PosedPair, vertices: Int[np.ndarray, " N"], faces: Int[np.ndarray, " N"], weights: Weights
) -> Bool[np.ndarray, " N"]:
    """Whether faces of the body are skin near the feet of the vertices that the blend does not fold over, (N,)."""
    body, feet = pair.case.body, pair.case.feet
    signs = folding_at(body, pair.body, blended_maps(pair.body_maps, body.faces), weights)
    rest = body.tree.vertices
    foot = np.einsum("vc,vcx->vx", feet.barycentric[vertices], rest[body.faces[feet.faces[vertices]]])
    apart = np.linalg.norm(rest[body.faces[faces]].mean(axis=1) - foot, axis=1)
    return (apart < OWN_REACH) & (signs[faces] > 0)
