"""Where blending folds the skin at a stance: there cloth that follows exactly comes to lie under it."""

import numpy as np
from jaxtyping import Bool, Float

from dressform.body.range import Range
from dressform.body.shapes import distinct, end_shapes, shape_at_base
from dressform.proof.linear_mesh import LinearMesh


def folded_faces(
    body: LinearMesh, posed_body: LinearMesh, maps: Float[np.ndarray, "V 3 4"], box: Range
) -> tuple[Bool[np.ndarray, " F"], Bool[np.ndarray, " F"]]:
    """Faces of the body that a stance folds over at the base, and on some shape of the range beside, (F,) each.

    Skin is folded where the gradient F of the posed map turns space inside out: det F < 0. Joint weights do not change
    along the normal N, which the blend A of the joints therefore carries to A N; so the sign of det F is that of the
    posed face's normal along A N. Cloth with the weights of the skin under it is above that skin exactly while
    det F > 0. Shapes tried are the ends of every morph and, for each face, the corner of the range to which these lead.

    Args:
        body: The body at rest.
        posed_body: It at the stance.
        maps: The affine map of each body vertex at the stance.
        box: The range.

    Proof: tests/proof/test_folds.py, against the closed form of a bent cylinder
    """
    at_base = folding_sign(body.at(np.zeros(len(box.low))), posed_body, maps, np.zeros(len(box.low)))
    least = at_base.copy()
    worst = np.zeros((len(at_base), len(box.low)))
    best = np.repeat(at_base[:, None], len(box.low), axis=1)
    for shape in distinct([shape_at_base(box), *end_shapes(box)])[1:]:
        found = folding_sign(body.at(shape.weights), posed_body, maps, shape.weights)
        least = np.minimum(least, found)
        for morph in np.flatnonzero(shape.weights):
            lower = found < best[:, morph]
            best[lower, morph], worst[lower, morph] = found[lower], shape.weights[morph]
    least = np.minimum(least, _at_corners(body, posed_body, maps, worst))
    return at_base < 0, (least < 0) & ~(at_base < 0)


def folding_sign(
    rest: Float[np.ndarray, "V 3"],
    posed_body: LinearMesh,
    maps: Float[np.ndarray, "V 3 4"],
    weights: Float[np.ndarray, " K"],
) -> Float[np.ndarray, " F"]:
    """Normal of each posed face along where the blend takes its normal at rest, (F,): negative where it is folded."""
    faces = posed_body.faces
    return _signs(rest[faces], posed_body.at(weights)[faces], maps[faces, :, :3].mean(axis=1))


def _at_corners(
    body: LinearMesh, posed_body: LinearMesh, maps: Float[np.ndarray, "V 3 4"], weights: Float[np.ndarray, "F K"]
) -> Float[np.ndarray, " F"]:
    """As `folding_sign`, at weights of each face's own."""
    faces = body.faces
    full = np.concatenate([np.ones((len(weights), 1)), weights], axis=1)
    rest, moved = (np.einsum("fm,fcmx->fcx", full, mesh.terms[faces]) for mesh in (body, posed_body))
    return _signs(rest, moved, maps[faces, :, :3].mean(axis=1))


def _signs(
    rest: Float[np.ndarray, "F 3 3"], moved: Float[np.ndarray, "F 3 3"], blend: Float[np.ndarray, "F 3 3"]
) -> Float[np.ndarray, " F"]:
    before = np.cross(rest[:, 1] - rest[:, 0], rest[:, 2] - rest[:, 0])
    after = np.cross(moved[:, 1] - moved[:, 0], moved[:, 2] - moved[:, 0])
    return np.einsum("fi,fij,fj->f", after, blend, before)
