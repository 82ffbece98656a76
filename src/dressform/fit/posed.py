"""A body and a fit at a stance: again a base plus morphs, since one affine map carries each vertex.

`A (X + Σ w_k D_k) = A X + Σ w_k Â D_k`, with Â the linear part of A [glTF2 3.7.3.3: morphs first, then joints].
Where joints follow morphs, each morph gains an offset c_k at each vertex, `A X + Σ w_k (Â D_k + c_k)`: affine again.
Corrective targets, which joints drive, are constant at a stance and stand in A.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from jaxtyping import Float

from dressform.arrays import Weights
from dressform.body.body import Body
from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stance import Stance, carry
from dressform.body.stances.following_joints import joint_offsets
from dressform.body.stances.slider_ends import modelled_stance
from dressform.body.stances.sliders import slid_stance
from dressform.errors import ArgumentError
from dressform.fit.corrective import corrective_shift
from dressform.fit.fit import Fit
from dressform.fit.shaped import ShapedFit, carried_to


@dataclass(frozen=True, eq=False)
class Posing:
    """How a stance carries a fit.

    Attributes:
        stance: The stance.
        body: The map of each vertex of the body, (B, 3, 4), metres.
        cloth: The map of each vertex of the cloth, (G, 3, 4), metres.
        body_offsets: What each morph adds to the body because joints follow it, (K, B, 3), or None where they stay.
        cloth_offsets: The same of the cloth, (K, G, 3).
    """

    stance: Stance
    body: Float[np.ndarray, "B 3 4"]
    cloth: Float[np.ndarray, "G 3 4"]
    body_offsets: Float[np.ndarray, "K B 3"] | None = None
    cloth_offsets: Float[np.ndarray, "K G 3"] | None = None


def posing_of(fit: Fit, stance: Stance) -> Posing:
    """The maps of body and cloth at a stance; see `body_maps` and `cloth_maps` for what is refused."""
    maps = body_maps(fit.body, stance), cloth_maps(fit, stance)
    return Posing(stance, *maps, offsets_of(fit.body, fit.body.skin, stance), offsets_of(fit.body, fit.skin, stance))


def body_maps(body: Body, stance: Stance) -> Float[np.ndarray, "B 3 4"]:
    """The map of each vertex of a body at a stance, (B, 3, 4), metres.

    Raises:
        ArgumentError: the body has no joints, or no joint weights.
        MatchError: the stance is of another skeleton.
    """
    return stance.maps(*_jointed("body_maps", body))


def cloth_maps(fit: Fit, stance: Stance) -> Float[np.ndarray, "G 3 4"]:
    """The map of each vertex of the cloth at a stance, (G, 3, 4), metres; what correctives add there is in it.

    At a stance a corrective c is constant: A (x + c) = A x + Â c, so it only moves the map's translation.

    Raises:
        ArgumentError: the body has no joints, or the fit has no joint weights.
        MatchError: the stance is of another skeleton.
    """
    _, skeleton = _jointed("cloth_maps", fit.body)
    if fit.skin is None:
        rule, observed = "of a garment with joint weights", f"{fit.garment.name!r} without"
        raise ArgumentError.of("cloth_maps", "fit", rule, observed, "Fit it with joint_weights='lifted'")
    maps = stance.maps(fit.skin, skeleton)
    shift = corrective_shift(fit.correctives, skeleton, stance.worlds)
    if shift is not None:
        maps[:, :, 3] += np.einsum("vij,vj->vi", maps[:, :, :3], shift)
    return maps


def offsets_of(body: Body, skin: Skin | None, stance: Stance) -> Float[np.ndarray, "K V 3"] | None:
    """What each morph moves the vertices of a skin further at a stance as joints follow it; None where they stay."""
    moves = body.joint_moves
    if moves is None or skin is None or body.skeleton is None or not moves.any():
        return None
    return joint_offsets(stance, skin, body.skeleton, moves)


def shifted(
    maps: Float[np.ndarray, "V 3 4"], offsets: Float[np.ndarray, "K V 3"] | None, weights: Weights
) -> Float[np.ndarray, "V 3 4"]:
    """The maps on one shape: joints that follow its morphs have moved them along, (V, 3, 4)."""
    if offsets is None or not np.any(weights):
        return maps
    moved = maps.copy()
    moved[:, :, 3] += np.tensordot(weights, offsets, axes=1)
    return moved


def posed_body(body: Body, stance: Stance) -> Body:
    """The body at a stance: its base and its morphs carried there. It has no joints any more.

    Raises: As `body_maps`.

    Proof: tests/fit/test_posed.py::test_posed_body_and_fit_are_what_the_stance_makes_of_a_shape
    """
    maps = body_maps(body, stance)
    deltas = turned(maps, body.deltas, offsets_of(body, body.skin, stance))
    return replace(body, vertices=carry(maps, body.vertices), deltas=deltas, skeleton=None, skin=None, joint_moves=None)


def slid_body(body: Body, values: Mapping[str, float]) -> Body:
    """The body as sliders that move joints leave it: modelled anew there, with the same joints and morphs.

    Raises:
        ArgumentError: a name is no such slider, a value lies outside its ends, or as `body_maps`.

    Proof: tests/jobs/test_measure_sliders.py
    """
    skin, skeleton = _jointed("slid_body", body)
    stance = slid_stance(modelled_stance(skeleton), skeleton, body.joint_sliders, values)
    there = posed_body(body, stance)
    joints = Skeleton(skeleton.names, skeleton.parents, skeleton.local(stance.worlds), np.linalg.inv(stance.worlds))
    return replace(there, skeleton=joints, skin=skin, joint_sliders=())


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
    deltas = turned(maps, fit.deltas, offsets_of(fit.body, fit.skin, stance))
    posed = replace(fit, body=there, base=carry(maps, fit.base), deltas=deltas, skin=None, correctives=())
    return carried_to(fit, posed, stance, lambda cloth: carry(maps, cloth)) if isinstance(fit, ShapedFit) else posed


def turned(
    maps: Float[np.ndarray, "V 3 4"],
    deltas: Float[np.ndarray, "K V 3"],
    offsets: Float[np.ndarray, "K V 3"] | None = None,
) -> Float[np.ndarray, "K V 3"]:
    """Displacements under the linear part of the maps, and what joints that follow add, (K, V, 3), metres."""
    linear = maps[:, :, :3]
    found = np.array([np.einsum("vij,vj->vi", linear, delta) for delta in deltas]).reshape(deltas.shape)
    return found if offsets is None else found + offsets


def _jointed(function: str, body: Body) -> tuple[Skin, Skeleton]:
    """The joint weights and the joints of a body."""
    if body.skin is None or body.skeleton is None:
        raise ArgumentError.of(
            function, "body", "of joints and joint weights", f"{body.name!r} without", "Leave stances out"
        )
    return body.skin, body.skeleton
