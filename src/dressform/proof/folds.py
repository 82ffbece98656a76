"""Where blending folds the skin at a stance: there cloth that follows exactly comes to lie under it."""

import numpy as np
from jaxtyping import Bool, Float

from dressform.body.range import Range
from dressform.body.shapes import distinct, end_shapes, shape_at_base
from dressform.fit.contact import blended_maps, folding_sign
from dressform.proof.linear_mesh import LinearMesh


def folded_faces(
    body: LinearMesh, posed_body: LinearMesh, maps: Float[np.ndarray, "V 3 4"], box: Range
) -> tuple[Bool[np.ndarray, " F"], Bool[np.ndarray, " F"]]:
    """Faces of the body that a stance folds over at the base, and on some shape of the range beside, (F,) each.

    Cloth with the weights of the skin under it is above that skin exactly while det F > 0; see `fit/contact.py`. Shapes
    tried are the ends of every morph and, for each face, the corner of the range to which these lead.

    Args:
        body: The body at rest.
        posed_body: It at the stance.
        maps: The affine map of each body vertex at the stance.
        box: The range.

    Proof: tests/proof/test_folds.py, against the closed form of a bent cylinder
    """
    blend = blended_maps(maps, body.faces)
    at_base = folding_at(body, posed_body, blend, np.zeros(len(box.low)))
    least = at_base.copy()
    worst = np.zeros((len(at_base), len(box.low)))
    best = np.repeat(at_base[:, None], len(box.low), axis=1)
    for shape in distinct([shape_at_base(box), *end_shapes(box)])[1:]:
        found = folding_at(body, posed_body, blend, shape.weights)
        least = np.minimum(least, found)
        for morph in np.flatnonzero(shape.weights):
            lower = found < best[:, morph]
            best[lower, morph], worst[lower, morph] = found[lower], shape.weights[morph]
    least = np.minimum(least, _sign_at_corners(body, posed_body, blend, worst))
    return at_base < 0, (least < 0) & ~(at_base < 0)


def folding_at(
    body: LinearMesh, posed_body: LinearMesh, blend: Float[np.ndarray, "F 3 3"], weights: Float[np.ndarray, " K"]
) -> Float[np.ndarray, " F"]:
    """`folding_sign` of every face on one shape, (F,).

    Args:
        body: The body at rest.
        posed_body: It at the stance.
        blend: Linear part of the joints' blend in the middle of each face; see `blended_maps`.
        weights: The shape.
    """
    faces = body.faces
    return folding_sign(body.at(weights)[faces], posed_body.at(weights)[faces], blend)


def _sign_at_corners(
    body: LinearMesh, posed_body: LinearMesh, blend: Float[np.ndarray, "F 3 3"], weights: Float[np.ndarray, "F K"]
) -> Float[np.ndarray, " F"]:
    """The same, at weights of each face's own."""
    faces = body.faces
    full = np.concatenate([np.ones((len(weights), 1)), weights], axis=1)
    rest, moved = (np.einsum("fm,fcmx->fcx", full, mesh.terms[faces]) for mesh in (body, posed_body))
    return folding_sign(rest, moved, blend)
