"""Where blending of joints folds the skin itself, and how a pose stretches cloth that follows it smoothly."""

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import BodyPoints, Faces
from dressform.fit.contact import folding_sign


def turned_inside_out(
    blended: Float[np.ndarray, "N 3 3"],
    shaped: BodyPoints,
    posed: BodyPoints,
    faces: Faces,
    asked: Int[np.ndarray, " N"],
) -> Bool[np.ndarray, " F"]:
    """Triangles, among those asked, that blending folds: where det F < 0 for the gradient F of the posed map, (F,).

    Args:
        blended: From `blended_maps`, of the triangles asked.
        shaped: The body on the shape at rest, (B, 3), metres.
        posed: The same at the stance.
        faces: Its triangles.
        asked: Which of them.

    Source: own derivation, see `fit/contact.py`. Proof: tests/faults/posed/test_blend.py
    """
    corners = faces[asked]
    folded = np.zeros(len(faces), dtype=bool)
    folded[asked] = folding_sign(shaped[corners], posed[corners], blended) < 0.0
    return folded


def carried_on(
    skin: Float[np.ndarray, "F 3"], shaped: Float[np.ndarray, "F 3"], posed: Float[np.ndarray, "F 3"]
) -> Float[np.ndarray, "F 3"]:
    """The skin's metric after a pose that takes the cloth's metric from `shaped` to `posed`, (F, 3): xx, xy, yy.

    With U = (shaped⁻¹ posed)^½, so that posed = Uᵀ shaped U, it is Uᵀ skin U. So cloth that is stretched against the
    skin before the pose is stretched as much after it, and cloth that is not stays so.

    Args:
        skin: Metric of the skin at rest, in the tangents of the cloth's triangles.
        shaped: Metric of the cloth at rest, the same way.
        posed: Metric of that cloth where it follows the posed body smoothly.

    Source: own derivation. Proof: tests/faults/posed/test_blend.py
    """
    xx, xy, yy = shaped.T
    flat = ~(xx * yy - xy * xy > np.finfo(float).tiny)
    determinant = np.where(flat, 1.0, xx * yy - xy * xy)
    a, b, c = posed.T
    # shaped⁻¹ posed, row by row; its root by Cayley and Hamilton.
    m11, m12 = (yy * a - xy * b) / determinant, (yy * b - xy * c) / determinant
    m21, m22 = (xx * b - xy * a) / determinant, (xx * c - xy * b) / determinant
    root = np.sqrt(np.maximum(m11 * m22 - m12 * m21, 0.0))
    size = np.sqrt(np.maximum(m11 + m22 + 2.0 * root, np.finfo(float).tiny))
    u11, u12, u21, u22 = (m11 + root) / size, m12 / size, m21 / size, (m22 + root) / size
    p, q, r = skin.T
    first, second = (p * u11 + q * u21, q * u11 + r * u21), (p * u12 + q * u22, q * u12 + r * u22)
    entries = (u11 * first[0] + u21 * first[1], u12 * first[0] + u22 * first[1], u12 * second[0] + u22 * second[1])
    return np.where(flat[:, None], skin, np.stack(entries, axis=1))
