"""How far rounding can shift a vertex that an engine morphs and then blends by its joints in float32."""

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from jaxtyping import Float

from dressform.body.range import Range
from dressform.body.skeleton import Skeleton, Skin
from dressform.body.stance import Stance
from dressform.body.stances.following_joints import JointMoves
from dressform.body.stances.turns import modelled_worlds
from dressform.fit.corrective import Corrective
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
TWIST = 40
"""Steps by which the angle of a driver may be off, radians: two stored quaternions and their product, 9 steps in each
of four numbers at most, so 18 in length and twice that in the angle, where the twist has length 1; its arctangent."""
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


def posed_slack(
    mesh: LinearMesh,
    box: Range,
    skin: Skin,
    skeleton: Skeleton,
    stance: Stance,
    moves: JointMoves | None = None,
    correctives: Sequence[Corrective] = (),
) -> float:
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
        moves: How they follow the morphs: the engine then makes local transforms and bind matrices of the moved places.
        correctives: Targets that joints drive; an engine computes their weights of the quaternions that it blends with.

    Proof: tests/proof/test_posed_slack.py, against skinning in float32
    """
    reach = np.maximum(np.abs(box.low), np.abs(box.high))
    moved = np.einsum("m,vm->v", reach, np.linalg.norm(mesh.terms[:, 1:], axis=2))
    start = np.linalg.norm(mesh.terms[:, 0], axis=1)
    added, astray = _of_correctives(correctives, skeleton, stance, len(start))
    moved += added
    far = start + moved
    wander, bind = _wander(skeleton, reach, moves), skeleton.inverse_bind
    strays = chain_strays(skeleton, stance, wander)
    errors = np.zeros(len(far))
    size = np.linalg.norm(stance.worlds[:, :3, :3], axis=(1, 2))
    lifted = np.linalg.norm(stance.worlds[:, :3, 3], axis=1) + _placed(skeleton, stance, wander)
    shrunk, shifted = np.linalg.norm(bind[:, :3, :3], axis=(1, 2)), np.linalg.norm(bind[:, :3, 3], axis=1)
    shifted += shrunk * wander
    morphing = _gamma(len(reach) + len(correctives) + 2)
    if moves is not None:  # places of joints are sums of morphs too: at the stance, and in the bind matrix
        own = wander + np.linalg.norm(modelled_worlds(skeleton)[:, :3, 3], axis=1)
        strays = Strays(strays.turn, strays.place + morphing * (_placed(skeleton, stance, own) + size * shrunk * own))
    for slot in range(skin.joints.shape[1]):
        j, share = skin.joints[:, slot], skin.weights[:, slot]
        from_joint = np.einsum("vij,vj->vi", bind[j, :3, :3], mesh.terms[:, 0]) + bind[j, :3, 3]
        near = np.linalg.norm(from_joint, axis=1) + shrunk[j] * (moved + wander[j])
        whole = size[j] * (shrunk[j] * far + shifted[j]) + lifted[j]
        rounded = _gamma(PRODUCT + BLENDED) * whole + size[j] * shrunk[j] * (morphing * far + astray)
        errors += share * (strays.turn[j] * near + strays.place[j] + rounded)
    return SECOND_ORDER * float(errors.max(initial=0.0))


def _of_correctives(
    correctives: Sequence[Corrective], skeleton: Skeleton, stance: Stance, count: int
) -> tuple[Float[np.ndarray, " V"], Float[np.ndarray, " V"]]:
    """How far correctives move each vertex at most, (V,), and by how much their weights let it stray, (V,), metres."""
    added, astray = np.zeros(count), np.zeros(count)
    for one in correctives:
        _, certain = one.driver.twist(skeleton, stance.worlds)
        wrong = min(one.driver.slope * TWIST * FLOAT32_STEP / max(certain, FLOAT32_STEP) + 4 * FLOAT32_STEP, 1.0)
        added += one.lengths
        astray += wrong * one.lengths
    return added, astray


def _wander(skeleton: Skeleton, reach: Float[np.ndarray, " K"], moves: JointMoves | None) -> Float[np.ndarray, " J"]:
    """How far each joint goes with the morphs at most, (J,), metres."""
    if moves is None:
        return np.zeros(len(skeleton.names))
    return np.tensordot(reach, np.linalg.norm(moves, axis=2), axes=1)


def _placed(skeleton: Skeleton, stance: Stance, wander: Float[np.ndarray, " J"]) -> Float[np.ndarray, " J"]:
    """How far that takes each joint at the stance at most, (J,), metres: its own way and that of all above it."""
    linear = np.linalg.norm((stance.worlds @ skeleton.inverse_bind)[:, :3, :3], 2, axis=(1, 2))
    placed = wander.copy()
    for joint, parent in enumerate(skeleton.parents):
        if parent >= 0:
            placed[joint] = placed[parent] + linear[parent] * (wander[joint] + wander[parent])
    return placed


def chain_strays(skeleton: Skeleton, stance: Stance, wander: Float[np.ndarray, " J"] | None = None) -> Strays:
    """How far float32 can be off along the chain down to each joint. Errors add up, as rotations keep lengths.

    Args:
        skeleton: The joints.
        stance: Where they are.
        wander: How far each joint goes with the morphs at most, (J,), metres; nowhere where it is left out.
    """
    worlds = stance.worlds
    wander = np.zeros(len(worlds)) if wander is None else wander
    placed = _placed(skeleton, stance, wander)
    turn, place = np.zeros(len(worlds)), np.zeros(len(worlds))
    for joint, parent in enumerate(skeleton.parents):
        above = np.eye(4) if parent < 0 else worlds[parent]
        local = np.linalg.solve(above, worlds[joint])
        scale, offset = np.linalg.norm(local[:3, :3], 2), float(np.linalg.norm(local[:3, 3]))
        held, lifted = np.linalg.norm(above[:3, :3], 2), float(np.linalg.norm(above[:3, 3]))
        if parent < 0:
            offset += float(wander[joint])
        else:
            # In axes of the joint above, which its bind matrix makes of those of the body.
            offset += float((wander[joint] + wander[parent]) * np.linalg.norm(skeleton.inverse_bind[parent, :3, :3], 2))
            lifted += float(placed[parent])
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
