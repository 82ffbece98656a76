"""How far rounding can shift a vertex that an engine morphs and then blends by its joints in float32."""

from typing import NamedTuple

import numpy as np
from jaxtyping import Float

from dressform.body.range import Range
from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stance import Stance
from dressform.proof.certificate import FLOAT32_STEP
from dressform.proof.linear_mesh import LinearMesh

PRODUCT = 5
"""Roundings of a number on its way through a product of 4 × 4 matrices: its product, three sums, one as it is kept."""
FROM_TURN = 28
"""Steps by which a rotation made of a stored quaternion may be off, as the root of its squared entries: 13 on the
diagonal and 6 beside it, as entries are sums of products of two numbers that are off by a step or two each."""
BLENDED = 12
"""Roundings of the blend: the joint weight stored and divided by the sum (3), weighted matrices summed (4), the vertex
multiplied in (4), the result stored (1)."""
SECOND_ORDER = 1.01
"""What products of errors can add at most, as these are below 1e-4."""


class Strays(NamedTuple):
    """Bounds of how far the joint-to-world transform of each joint is off, computed along its chain in float32.

    Attributes:
        turn: Its linear part, (J,), as the root of the squared entries.
        place: Its translation, (J,), metres.
    """

    turn: Float[np.ndarray, " J"]
    place: Float[np.ndarray, " J"]


def posed_slack(mesh: LinearMesh, box: Range, skin: Skin, skeleton: Skeleton, stance: Stance) -> float:
    """Largest error of a posed vertex when all is stored, multiplied and summed in float32, metres.

    The engine sums the morphs, makes local transforms of quaternions, multiplies them along the chain to each joint
    and with its inverse bind matrix, then blends. A sum of products in which each number is rounded at most n times is
    off by at most γ_n = n u / (1 − n u) times the same sum of absolute values [Higham2002], where u is half the spacing
    of float32 next to 1. What is off in a joint's transform acts over the distance from that joint; the roundings of
    the last product and of the blend act over the distance from the origin. Engines that multiply the chain in double
    precision stay far below.

    Args:
        mesh: The mesh at rest.
        box: The range of the weights.
        skin: Its joint weights.
        skeleton: The joints.
        stance: Where they are.

    Proof: tests/proof/test_posed_slack.py, against skinning in float32
    """
    reach = np.maximum(np.abs(box.low), np.abs(box.high))
    moved = np.einsum("m,vm->v", reach, np.linalg.norm(mesh.terms[:, 1:], axis=2))
    start = np.linalg.norm(mesh.terms[:, 0], axis=1)
    far = start + moved
    strays, bind = chain_strays(skeleton, stance), skeleton.inverse_bind
    errors = np.zeros(len(far))
    size = np.linalg.norm(stance.worlds[:, :3, :3], axis=(1, 2))
    lifted = np.linalg.norm(stance.worlds[:, :3, 3], axis=1)
    shrunk, shifted = np.linalg.norm(bind[:, :3, :3], axis=(1, 2)), np.linalg.norm(bind[:, :3, 3], axis=1)
    morphing = _gamma(len(reach) + 2)
    for slot in range(skin.joints.shape[1]):
        j, share = skin.joints[:, slot], skin.weights[:, slot]
        from_joint = np.einsum("vij,vj->vi", bind[j, :3, :3], mesh.terms[:, 0]) + bind[j, :3, 3]
        near = np.linalg.norm(from_joint, axis=1) + shrunk[j] * moved
        whole = size[j] * (shrunk[j] * far + shifted[j]) + lifted[j]
        rounded = _gamma(PRODUCT + BLENDED) * whole + morphing * size[j] * shrunk[j] * far
        errors += share * (strays.turn[j] * near + strays.place[j] + rounded)
    return SECOND_ORDER * float(errors.max(initial=0.0))


def chain_strays(skeleton: Skeleton, stance: Stance) -> Strays:
    """How far float32 can be off along the chain down to each joint. Errors add up, as rotations keep lengths."""
    worlds = stance.worlds
    turn, place = np.zeros(len(worlds)), np.zeros(len(worlds))
    for joint, parent in enumerate(skeleton.parents):
        above = np.eye(4) if parent < 0 else worlds[parent]
        local = np.linalg.solve(above, worlds[joint])
        scale, offset = np.linalg.norm(local[:3, :3], 2), float(np.linalg.norm(local[:3, 3]))
        held, lifted = np.linalg.norm(above[:3, :3], 2), float(np.linalg.norm(above[:3, 3]))
        own = (FROM_TURN + 1) * FLOAT32_STEP * scale
        if parent < 0:
            turn[joint], place[joint] = own, FLOAT32_STEP * offset
            continue
        entries = float(np.linalg.norm(above[:3, :3]))
        product = _gamma(PRODUCT) * entries
        turn[joint] = turn[parent] * scale + held * own + product * float(np.linalg.norm(local[:3, :3]))
        place[joint] = place[parent] + turn[parent] * offset + product * offset + _gamma(PRODUCT) * lifted
    return Strays(turn, place)


def _gamma(count: int) -> float:
    """γ_n of that many roundings."""
    share = count * FLOAT32_STEP
    return share / (1.0 - share)
