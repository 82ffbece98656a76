"""Compiled bound of how fast a triangle of cloth and one of skin can move against each other."""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.jit import jit


@jit
@no_type_check
def corner_speed(
    g: int, b: int, cloth: Any, body: Any, joints_a: Any, weights_a: Any, joints_b: Any, weights_b: Any, reach: Any,
    turning: Any, moving: Any, radius: Any, share: Any, other: Any,
) -> float:  # fmt: skip
    """Bound for a vertex of each, in the frame of the joint that is heaviest in both together.

    Σ_j≠k w_j Ω_jk ‖x_g − x_b‖ + |u_j − w_j| ‖velocity of x_g with joint j‖. `share` and `other` are zero on entry and
    on leaving, one value per joint.
    """
    for s in range(joints_a.shape[1]):
        share[joints_a[g, s]] += weights_a[g, s]
    for s in range(joints_b.shape[1]):
        other[joints_b[b, s]] += weights_b[b, s]
    heaviest, most = 0, -1.0
    for j in range(len(share)):
        if share[j] + other[j] > most:
            heaviest, most = j, share[j] + other[j]
    apart = 0.0
    for m in range(cloth.shape[1]):
        length = 0.0
        for x in range(3):
            length += (cloth[g, m, x] - body[b, m, x]) ** 2
        apart += reach[m] * np.sqrt(length)
    speed = 0.0
    for j in range(len(share)):
        if j != heaviest and share[j] + other[j] > 0.0:
            angle = turning[j, heaviest]
            speed += other[j] * angle * apart
            speed += abs(share[j] - other[j]) * (moving[j, heaviest] + angle * radius[g, j])
    for s in range(joints_a.shape[1]):
        share[joints_a[g, s]] = 0.0
    for s in range(joints_b.shape[1]):
        other[joints_b[b, s]] = 0.0
    return speed


@jit
@no_type_check
def pair_speeds(
    pairs: Any, faces_a: Any, faces_b: Any, cloth: Any, body: Any, joints_a: Any, weights_a: Any, joints_b: Any,
    weights_b: Any, reach: Any, turning: Any, moving: Any, radius: Any,
) -> Any:  # fmt: skip
    """The largest of the nine corners' bounds for each pair of triangles, (P,), metres a second.

    `radius` is the farthest that each cloth vertex lies from each joint over the range, (G, J), metres.
    """
    speeds = np.zeros(len(pairs))
    share, other = np.zeros(len(turning)), np.zeros(len(turning))
    for p in range(len(pairs)):
        for i in range(3):
            for j in range(3):
                speed = corner_speed(
                    faces_a[pairs[p, 0], i], faces_b[pairs[p, 1], j], cloth, body, joints_a, weights_a, joints_b,
                    weights_b, reach, turning, moving, radius, share, other,
                )  # fmt: skip
                speeds[p] = max(speeds[p], speed)
    return speeds


@jit
@no_type_check
def pair_bends(
    pairs: Any, faces_a: Any, faces_b: Any, cloth: Any, body: Any, joints_a: Any, weights_a: Any, joints_b: Any,
    weights_b: Any, reach: Any, turn: Any, far: Any,
) -> Any:  # fmt: skip
    """The largest of the nine corners' Σ_j w_j turn_j ‖x_g − x_b‖ + |u_j − w_j| far_gj of each pair, (P,), metres.

    `turn` bounds the second derivative of each joint's transform, (J,), `far` that of each cloth vertex carried by each
    joint, (G, J), both times h² / 8.
    """
    found = np.zeros(len(pairs))
    share, other = np.zeros(len(turn)), np.zeros(len(turn))
    for p in range(len(pairs)):
        for i in range(3):
            for k in range(3):
                g, b = faces_a[pairs[p, 0], i], faces_b[pairs[p, 1], k]
                for s in range(joints_a.shape[1]):
                    share[joints_a[g, s]] += weights_a[g, s]
                for s in range(joints_b.shape[1]):
                    other[joints_b[b, s]] += weights_b[b, s]
                apart = 0.0
                for m in range(len(reach)):
                    length = 0.0
                    for x in range(3):
                        length += (cloth[g, m, x] - body[b, m, x]) ** 2
                    apart += reach[m] * np.sqrt(length)
                bend = 0.0
                for j in range(len(turn)):
                    bend += other[j] * turn[j] * apart + abs(share[j] - other[j]) * far[g, j]
                found[p] = max(found[p], bend)
                share[:], other[:] = 0.0, 0.0
    return found
