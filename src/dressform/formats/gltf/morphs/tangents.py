"""Tangents carried along as a surface moves: by the gradient of the movement within each triangle."""

import numpy as np
from jaxtyping import Float, Int

from dressform.formats.gltf.normals import unit_rows

FLAT = 1e-12
"""A triangle whose squared area is below this share of its longest edge to the fourth says nothing of a direction."""


def carried_tangents(
    tangents: Float[np.ndarray, "N 3"],
    before: Float[np.ndarray, "N 3"],
    after: Float[np.ndarray, "N 3"],
    faces: Int[np.ndarray, "F 3"],
    normals: Float[np.ndarray, "N 3"],
) -> Float[np.ndarray, "N 3"]:
    """Unit tangents of a surface that has moved, at right angles to its normals there, (N, 3).

    A tangent points along growing u: it is dP/du without its part along the normal. If x carries the surface to f(x),
    dP/du becomes F dP/du with F the gradient of f. On each triangle F is constant, so the tangent's part in its plane
    is written in its two edges before and put together from the same edges after; a vertex takes the mean over its
    triangles, each weighed by its area before. Exact for every affine map. No texture coordinate is read.

    Args:
        tangents: Unit tangents before.
        before: Positions before; copies of one vertex along a seam stay apart, as their tangents do.
        after: Positions after.
        faces: Triangles.
        normals: Unit normals after.

    Proof: tests/formats/gltf/morphs/test_tangents.py
    """
    start = before[faces]
    first, second = start[:, 1] - start[:, 0], start[:, 2] - start[:, 0]
    end = after[faces]
    first_after, second_after = end[:, 1] - end[:, 0], end[:, 2] - end[:, 0]
    a, b, c = (np.einsum("fi,fi->f", *pair) for pair in ((first, first), (first, second), (second, second)))
    area = a * c - b * b
    usable = area > FLAT * np.maximum(a, c) ** 2
    safe = np.where(usable, area, 1.0)
    weight = np.where(usable, np.sqrt(np.maximum(area, 0.0)), 0.0)
    total = np.zeros_like(tangents)
    for corner in range(3):
        own = tangents[faces[:, corner]]
        along, across = np.einsum("fi,fi->f", own, first), np.einsum("fi,fi->f", own, second)
        share_first, share_second = (c * along - b * across) / safe, (a * across - b * along) / safe
        moved = share_first[:, None] * first_after + share_second[:, None] * second_after
        np.add.at(total, faces[:, corner], weight[:, None] * moved)
    flat = total - np.einsum("ni,ni->n", total, normals)[:, None] * normals
    lost = np.linalg.norm(flat, axis=1) < FLAT
    fallback = tangents - np.einsum("ni,ni->n", tangents, normals)[:, None] * normals
    return unit_rows(np.where(lost[:, None], fallback, flat))
