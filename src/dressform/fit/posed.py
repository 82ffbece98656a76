"""A body and a fit at a stance: again a base plus morphs, since one affine map carries each vertex.

`A (X + Σ w_k D_k) = A X + Σ w_k Â D_k`, with Â the linear part of A [glTF2 3.7.3.3: morphs first, then joints].
"""

from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Float

from dressform.body.body import Body
from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stance import Stance, carry
from dressform.errors import ArgumentError
from dressform.fit.fit import Fit


@dataclass(frozen=True, eq=False)
class Posing:
    """How a stance carries a fit.

    Attributes:
        stance: The stance.
        body: The map of each vertex of the body, (B, 3, 4), metres.
        cloth: The map of each vertex of the cloth, (G, 3, 4), metres.
    """

    stance: Stance
    body: Float[np.ndarray, "B 3 4"]
    cloth: Float[np.ndarray, "G 3 4"]


def posing_of(fit: Fit, stance: Stance) -> Posing:
    """The maps of body and cloth at a stance; see `body_maps` and `cloth_maps` for what is refused."""
    return Posing(stance, body_maps(fit.body, stance), cloth_maps(fit, stance))


def body_maps(body: Body, stance: Stance) -> Float[np.ndarray, "B 3 4"]:
    """The map of each vertex of a body at a stance, (B, 3, 4), metres.

    Raises:
        ArgumentError: the body has no joints, or no joint weights.
        MatchError: the stance is of another skeleton.
    """
    return stance.maps(*_jointed("body_maps", body))


def cloth_maps(fit: Fit, stance: Stance) -> Float[np.ndarray, "G 3 4"]:
    """The map of each vertex of the cloth at a stance, (G, 3, 4), metres.

    Raises:
        ArgumentError: the body has no joints, or the fit has no joint weights.
        MatchError: the stance is of another skeleton.
    """
    _, skeleton = _jointed("cloth_maps", fit.body)
    if fit.skin is None:
        rule, observed = "of a garment with joint weights", f"{fit.garment.name!r} without"
        raise ArgumentError.of("cloth_maps", "fit", rule, observed, "Fit it with joint_weights='lifted'")
    return stance.maps(fit.skin, skeleton)


def posed_body(body: Body, stance: Stance) -> Body:
    """The body at a stance: its base and its morphs carried there. It has no joints any more.

    Raises: As `body_maps`.

    Proof: tests/fit/test_posed.py::test_posed_body_and_fit_are_what_the_stance_makes_of_a_shape
    """
    maps = body_maps(body, stance)
    return replace(
        body, vertices=carry(maps, body.vertices), deltas=turned(maps, body.deltas), skeleton=None, skin=None
    )


def posed_fit(fit: Fit, stance: Stance, *, body: Body | None = None) -> Fit:
    """The fit at a stance: base and displacements carried there; the garment itself stays as its maker modelled it.

    Args:
        fit: The fit.
        stance: The stance.
        body: The body at that stance, if it is known already, so that several fits share it.

    Raises: As `cloth_maps`.
    """
    maps = cloth_maps(fit, stance)
    there = posed_body(fit.body, stance) if body is None else body
    return replace(fit, body=there, base=carry(maps, fit.base), deltas=turned(maps, fit.deltas), skin=None)


def turned(maps: Float[np.ndarray, "V 3 4"], deltas: Float[np.ndarray, "K V 3"]) -> Float[np.ndarray, "K V 3"]:
    """Displacements under the linear part of the maps, (K, V, 3), metres."""
    linear = maps[:, :, :3]
    return np.array([np.einsum("vij,vj->vi", linear, delta) for delta in deltas]).reshape(deltas.shape)


def _jointed(function: str, body: Body) -> tuple[Skin, Skeleton]:
    """The joint weights and the joints of a body."""
    if body.skin is None or body.skeleton is None:
        raise ArgumentError.of(
            function, "body", "of joints and joint weights", f"{body.name!r} without", "Leave stances out"
        )
    return body.skin, body.skeleton
