"""Morphs that are wrong on purpose, kept apart from the clean body."""

import numpy as np
from jaxtyping import Float

from dressform.body.body import Body

PATCH_CENTRE = (0.07, 0.70)
"""Centre of the rigid patch on the back: metres from the midline to the body's left, and share of the stature."""
PATCH_HALF = (0.055, 0.07)
"""Half-width and half-height of the rigid patch, metres."""
PATCH_STEP = 0.012
"""How far the rigid patch moves outward, metres."""
PATCH_TILT = np.radians(4.0)
CURL = np.radians(60.0)
"""Bend of each finger at the knuckle, and again at the middle joint."""
CURLED = ("index", "middle", "ring", "little")


def faulty_morphs(body: Body) -> dict[str, Float[np.ndarray, "B 3"]]:
    """Displacements of `patch` (a rectangle of the back moves rigidly, with a step at its rim) and `curl`."""
    return {"patch": _rigid_patch(body), "curl": _curl(body)}


def _rigid_patch(body: Body) -> Float[np.ndarray, "B 3"]:
    """A patch of the back that turns and moves as one stiff piece; nothing around it moves."""
    centre_x, centre_y = PATCH_CENTRE[0], PATCH_CENTRE[1] * body.stature
    offset = body.vertices[:, :2] - np.array([centre_x, centre_y])
    inside = (np.abs(offset) < np.array(PATCH_HALF)).all(axis=1) & body.regions["back"]
    delta = np.zeros_like(body.vertices)
    delta[inside, 2] = -PATCH_STEP + np.tan(PATCH_TILT) * offset[inside, 1]
    return delta


def _curl(body: Body) -> Float[np.ndarray, "B 3"]:
    """Fingers bent into the palm by their own joints, as a straight displacement."""
    if body.skeleton is None or body.skin is None:
        return np.zeros_like(body.vertices)
    skeleton = body.skeleton
    local = skeleton.rest.copy()
    positions = dict(zip(skeleton.names, skeleton.positions))
    for side, sign in (("l", -1.0), ("r", 1.0)):
        across = positions[f"index_1_{side}"] - positions[f"little_1_{side}"]
        axis = sign * across / np.linalg.norm(across)
        for finger in CURLED:
            for joint in (1, 2):
                local[skeleton.names.index(f"{finger}_{joint}_{side}"), :3, :3] = _turn(axis, CURL)
    posed = body.skin.pose(body.vertices, skeleton.world(local) @ skeleton.inverse_bind)
    return posed - body.vertices


def _turn(axis: Float[np.ndarray, "3"], angle: float) -> Float[np.ndarray, "3 3"]:
    """Rotation about a unit axis by Rodrigues' formula."""
    x, y, z = axis
    cross = np.array([[0.0, -z, y], [z, 0.0, -x], [-y, x, 0.0]])
    return np.eye(3) + np.sin(angle) * cross + (1.0 - np.cos(angle)) * cross @ cross
