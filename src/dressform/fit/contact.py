"""Contact: skin that a stance brings against other skin, or folds over. Cloth there is told, and blamed on nobody.

The one definition, for faults and proof alike. Of a place where cloth stands (its *foot*) and another place of the skin
it says whether a stance brings the two together; of a place of the skin alone whether blending folds it.

- *Closed*: the stance brings two places nearer than at rest and turns them to face each other (their normals make more
  than a right angle, each lies above the other's plane), or brings them nearer than `CLOSED` of their distance at rest,
  however they face. Skin within `UNDER` of the foot at rest always stays under the cloth.
- *Folded*: det F < 0 for the gradient F of the posed map. Joint weights do not change along the normal N, which the
  blend A of the joints therefore carries to A N; so the sign of det F is that of the posed face's normal along A N.

Both are judged on one shape. A measure asks on the shape that it looks at; a proof at the base and at the corner of the
range that brings the two nearest along the line between them.

Rejected: skin is foreign where the way to it along the rest body, from the foot, is longer than 10 cm and than π times
the way through the air, foot to cloth to skin. It needs geodesics, knows no crease narrower than 10 cm, so a proof
cannot use it, and loose cloth has so long a way through the air that nothing is foreign to it: behind a bent knee the
room over the thigh counted as clearance of cloth that stands on the calf.
"""

import numpy as np
from jaxtyping import Bool, Float, Int

from dressform.arrays import BodyPoints, Faces
from dressform.fit.contact_kernels import closing


def closed(
    rest: BodyPoints,
    posed: BodyPoints,
    faces: Faces,
    feet: tuple[Int[np.ndarray, " N"], Float[np.ndarray, "N 3"]],
    others: Int[np.ndarray, " N"],
) -> Bool[np.ndarray, " N"]:
    """Whether a stance closes the skin at each foot with another triangle, on one shape, (N,).

    Args:
        rest: The body on this shape at rest, (B, 3), metres.
        posed: The same at the stance.
        faces: Its triangles.
        feet: Triangle and barycentric coordinates of each foot.
        others: The triangle asked about, of each.

    Proof: tests/fit/test_contact.py
    """
    on, shares = feet
    return np.asarray(closing(rest, posed, faces, on, shares, others))


def folding_sign(
    rest: Float[np.ndarray, "F 3 3"], posed: Float[np.ndarray, "F 3 3"], blend: Float[np.ndarray, "F 3 3"]
) -> Float[np.ndarray, " F"]:
    """Normal of each posed triangle along where the blend takes its normal at rest, (F,): negative where it is folded.

    Args:
        rest: Corners at rest, metres.
        posed: Corners at the stance, metres.
        blend: Linear part of the joints' blend in the middle of each triangle.

    Proof: tests/fit/test_contact.py, against the closed form of a bent cylinder
    """
    return np.einsum("fi,fij,fj->f", _normals(posed), blend, _normals(rest))


def blended_maps(maps: Float[np.ndarray, "B 3 4"], corners: Int[np.ndarray, "N 3"]) -> Float[np.ndarray, "N 3 3"]:
    """The linear part of the map in the middle of each triangle, (N, 3, 3)."""
    linear = maps[:, :, :3]
    return np.asarray((linear[corners[:, 0]] + linear[corners[:, 1]] + linear[corners[:, 2]]) / 3.0)


def _normals(corners: Float[np.ndarray, "F 3 3"]) -> Float[np.ndarray, "F 3"]:
    return np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
