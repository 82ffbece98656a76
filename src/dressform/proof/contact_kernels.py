"""Compiled branch and bound over shapes and contact together; see `shape_contact.py`.

What `fit/contact_kernels.py` decides on one shape is decided here on a whole piece of the range, by affine forms: a
piece counts as contact only where it is so on every shape in it.
"""

from typing import Any, no_type_check

import numpy as np

from dressform.fit.contact_kernels import CLOSED, NEARER, UNDER, closes
from dressform.mesh.geometry_kernels import dot
from dressform.mesh.jit import jit
from dressform.proof.bound_kernels import apart, corners_at, unit_normal_of, worst_corner
from dressform.proof.direction_kernels import widest_gap
from dressform.proof.form_kernels import dot_form, least, most, normal_form, over_piece, spread
from dressform.proof.split_kernels import first_way

OPEN, CERTIFIED, CONTACT, UNDECIDED = 0, 1, 2, 3
"""A shape violates the pair; it is clear on all; clear or contact on all; the budget was spent."""
FEW = 1
"""Corners of a cloth triangle that may be no contact: as for a measure, more than half of a triangle decides."""
ACROSS, FOLDED = 1, 2
"""What contact it is: bits."""


@jit
@no_type_check
def face_forms(terms: Any, face: Any, low: Any, high: Any, out: Any) -> None:
    """Forms of a face's corners, (3, M, 3)."""
    for i in range(3):
        over_piece(terms[face[i]], low, high, out[i])


@jit
@no_type_check
def folds_over(rest: Any, posed: Any, face: Any, blend: Any, low: Any, high: Any, work: Any, number: Any) -> bool:
    """Whether blending folds a face on every shape of a piece."""
    corners, old, new, turned = work[0:3], work[3], work[4], work[5]
    face_forms(rest, face, low, high, corners)
    rest_old = normal_form(corners, old)
    face_forms(posed, face, low, high, corners)
    rest_new = normal_form(corners, new)
    size = 0.0
    for i in range(3):
        size += dot(blend[i], blend[i])
        for m in range(len(old)):
            turned[m, i] = dot(blend[i], old[m])
    rest_turned = np.sqrt(size) * rest_old
    rest_sign = dot_form(new, rest_new, turned, rest_turned, number)
    return most(number, rest_sign) < 0.0


@jit
@no_type_check
def way_form(terms: Any, foot: Any, share: Any, face: Any, low: Any, high: Any, work: Any, out: Any) -> None:
    """Form of the way from a foot to the middle of a face, (M, 3)."""
    out[:] = 0.0
    for i in range(3):
        over_piece(terms[face[i]], low, high, work)
        out += work / 3.0
        over_piece(terms[foot[i]], low, high, work)
        out -= share[i] * work


@jit
@no_type_check
def closes_over(
    rest: Any, posed: Any, foot: Any, share: Any, face: Any, low: Any, high: Any, work: Any, numbers: Any
) -> bool:
    """Whether skin has closed with a foot on every shape of a piece; `closes` of `fit/contact_kernels.py`, bounded."""
    corners, now, old, up, toward = work[0:3], work[3], work[4], work[5], work[6]
    a, b, c = numbers[0], numbers[1], numbers[2]
    way_form(posed, foot, share, face, low, high, work[7], now)
    way_form(rest, foot, share, face, low, high, work[7], old)
    rest_was = dot_form(old, 0.0, old, 0.0, a)
    if least(a, rest_was) < UNDER * UNDER:
        return False
    rest_near = dot_form(now, 0.0, now, 0.0, b)
    c[:] = NEARER * NEARER * a - b
    if least(c, NEARER * NEARER * rest_was + rest_near) <= 0.0:
        return False
    c[:] = CLOSED * CLOSED * a - b
    if least(c, CLOSED * CLOSED * rest_was + rest_near) > 0.0:
        return True
    face_forms(posed, foot, low, high, corners)
    rest_up = normal_form(corners, up)
    rest_over = dot_form(up, rest_up, now, 0.0, c)
    if least(c, rest_over) <= 0.0:
        return False
    face_forms(posed, face, low, high, corners)
    rest_toward = normal_form(corners, toward)
    rest_facing = dot_form(up, rest_up, toward, rest_toward, a)
    if most(a, rest_facing) >= 0.0:
        return False
    rest_down = dot_form(toward, rest_toward, now, 0.0, a)
    return most(a, rest_down) < 0.0


@jit
@no_type_check
def longest(form: Any) -> float:
    """Upper bound of the length of a vector."""
    return np.sqrt(dot(form[0], form[0])) + spread(form)


@jit
@no_type_check
def closed_if_near(
    cloth: Any, rest: Any, posed: Any, faces: Any, on: Any, shares: Any, vertices: Any, face: Any, need: float,
    low: Any, high: Any, work: Any, number: Any,
) -> bool:  # fmt: skip
    """Whether skin has closed with the feet of a cloth triangle wherever the two come nearer than `need`.

    Then the way from each foot to the skin is no longer than the cloth is high over its foot, and the triangles are
    large; where that is less than the share `CLOSED` of the way at rest, on every shape, nothing else need be asked.
    """
    way, one, other, middle = work[3], work[4], work[5], work[6]
    size, wide, none = 0.0, 0.0, 0
    middle[:] = 0.0
    for i in range(3):
        over_piece(posed[face[i]], low, high, one)
        middle += one / 3.0
    for i in range(3):
        over_piece(posed[face[i]], low, high, one)
        one -= middle
        size = max(size, longest(one))
        over_piece(cloth[vertices[i]], low, high, one)
        over_piece(cloth[vertices[(i + 1) % 3]], low, high, other)
        one -= other
        wide = max(wide, longest(one))
    for i in range(3):
        under, share = faces[on[vertices[i]]], shares[vertices[i]]
        over_piece(cloth[vertices[i]], low, high, one)
        for j in range(3):
            over_piece(posed[under[j]], low, high, other)
            one -= share[j] * other
        far = size + need + wide + longest(one)
        way_form(rest, under, share, face, low, high, one, way)
        rest_was = dot_form(way, 0.0, way, 0.0, number)
        none += int(least(number, rest_was) < max(UNDER * UNDER, (far / CLOSED) ** 2))
    return none <= FEW


@jit
@no_type_check
def size_of(terms: Any, face: Any) -> float:
    """Longest edge of a face at the base."""
    longest_edge = 0.0
    for i in range(3):
        edge = terms[face[i], 0] - terms[face[(i + 1) % 3], 0]
        longest_edge = max(longest_edge, np.sqrt(dot(edge, edge)))
    return longest_edge


@jit
@no_type_check
def contact_over(
    rest: Any, posed: Any, faces: Any, blend: Any, folding: Any, on: Any, shares: Any, vertices: Any, other: int,
    low: Any, high: Any, work: Any, numbers: Any,
) -> int:  # fmt: skip
    """What contact a cloth triangle has with a body face on every shape of a piece; 0 where most corners have none."""
    if folding[other] and folds_over(rest, posed, faces[other], blend[other], low, high, work, numbers[0]):
        return FOLDED
    kind, none = 0, 0
    for i in range(3):
        v = vertices[i]
        under = on[v]
        if folding[under] and folds_over(rest, posed, faces[under], blend[under], low, high, work, numbers[0]):
            kind |= FOLDED
        elif closes_over(rest, posed, faces[under], shares[v], faces[other], low, high, work, numbers):
            kind |= ACROSS
        else:
            none += 1
    return kind if none <= FEW else 0


@jit
@no_type_check
def sign_at(rest: Any, posed: Any, face: Any, blend: Any, weights: Any, work: Any) -> float:
    """Negative where blending folds a face on one shape."""
    corners, old, new = work[0:3], work[3], work[4]
    corners_at(rest, face, weights, corners)
    unit_normal_of(corners, old)
    corners_at(posed, face, weights, corners)
    unit_normal_of(corners, new)
    return dot(blend[0], old) * new[0] + dot(blend[1], old) * new[1] + dot(blend[2], old) * new[2]


@jit
@no_type_check
def contact_at(
    rest: Any, posed: Any, faces: Any, blend: Any, folding: Any, on: Any, shares: Any, vertices: Any, other: int,
    weights: Any, work: Any,
) -> int:  # fmt: skip
    """The same on one shape. `work` is (17, 3)."""
    if folding[other] and sign_at(rest, posed, faces[other], blend[other], weights, work) < 0.0:
        return FOLDED
    there, here, was, before = work[0:3], work[3:6], work[6], work[7]
    toward, up, middle, way = work[8], work[9], work[10], work[11]
    corners_at(posed, faces[other], weights, there)
    unit_normal_of(there, toward)
    middle[:] = (there[0] + there[1] + there[2]) / 3.0
    corners_at(rest, faces[other], weights, there)
    was[:] = (there[0] + there[1] + there[2]) / 3.0
    kind, none = 0, 0
    for i in range(3):
        under, share = on[vertices[i]], shares[vertices[i]]
        corners_at(rest, faces[under], weights, here)
        before[:] = was - share[0] * here[0] - share[1] * here[1] - share[2] * here[2]
        corners_at(posed, faces[under], weights, here)
        unit_normal_of(here, up)
        way[:] = middle - share[0] * here[0] - share[1] * here[1] - share[2] * here[2]
        if closes(up, toward, way, before):
            kind |= ACROSS
        elif folding[under] and sign_at(rest, posed, faces[under], blend[under], weights, work[12:17]) < 0.0:
            kind |= FOLDED
        else:
            none += 1
    return kind if none <= FEW else 0


@jit
@no_type_check
def widest(spread_of: Any, more: Any) -> int:
    """The morph with the largest sum of two spreads."""
    best, largest = 0, -1.0
    for k in range(len(spread_of)):
        if spread_of[k] + more[k] > largest:
            best, largest = k, spread_of[k] + more[k]
    return best


@jit
@no_type_check
def gap_spreads(along_a: Any, along_b: Any, low: Any, high: Any, out: Any) -> None:
    """How far each morph's interval moves two triangles relative to each other along a direction, (K,)."""
    for k in range(len(low)):
        out[k] = 0.0
        for i in range(3):
            for j in range(3):
                out[k] = max(out[k], abs(along_a[i, k + 1] - along_b[j, k + 1]) * (high[k] - low[k]))


@jit
@no_type_check
def way_spreads(posed: Any, foot: Any, share: Any, face: Any, low: Any, high: Any, forms: Any, out: Any) -> None:
    """How far each morph's interval moves a face against a foot, (K,)."""
    way_form(posed, foot, share, face, low, high, forms[7], forms[3])
    for k in range(len(low)):
        out[k] = np.sqrt(dot(forms[3, k + 1], forms[3, k + 1]))


@jit
@no_type_check
def contact_in(
    cloth: Any, rest: Any, posed: Any, faces: Any, blend: Any, folding: Any, on: Any, shares: Any, vertices: Any,
    other: int, need: float, size: float, low: Any, high: Any, centre: Any, forms: Any, numbers: Any, points: Any,
) -> int:  # fmt: skip
    """What contact excuses a pair on a whole piece of the range; 0 where none does. Cheap tests come first."""
    kind = contact_at(rest, posed, faces, blend, folding, on, shares, vertices, other, centre, points)
    if kind > 0:
        kind = contact_over(rest, posed, faces, blend, folding, on, shares, vertices, other, low, high, forms, numbers)
    if kind > 0 or CLOSED * np.sqrt(dot(points[7], points[7])) <= size:
        return kind
    near = closed_if_near(
        cloth, rest, posed, faces, on, shares, vertices, faces[other], need, low, high, forms, numbers[0]
    )
    return ACROSS if near else 0


@jit
@no_type_check
def decide(
    cloth: Any, cloth_faces: Any, rest: Any, posed: Any, faces: Any, blend: Any, folding: Any, on: Any, shares: Any,
    pairs: Any, low: Any, high: Any, needed: Any, provable: Any, budget: int,
) -> Any:  # fmt: skip
    """For every pair: its status, (P,), what contact it has, (P,), and a shape that shows why it is open, (P, K).

    A piece of the range is done where one direction keeps `needed`, or where the pair is contact on every shape of it.
    Else it is halved. A pair is given up where it comes too near at a shape at which it is no contact.
    """
    count, amount, morphs = len(pairs), cloth.shape[1], len(low)
    status, kinds = np.zeros(count, dtype=np.int64), np.zeros(count, dtype=np.int64)
    shapes = np.zeros((count, morphs))
    work, along_a, along_b, n = np.zeros((4, 3, 3)), np.zeros((3, amount)), np.zeros((3, amount)), np.zeros(3)
    forms, numbers, points = np.zeros((8, amount, 3)), np.zeros((3, amount)), np.zeros((17, 3))
    lows, highs = np.zeros((budget + 2, morphs)), np.zeros((budget + 2, morphs))
    hull, corners = np.zeros((5, 3)), np.zeros(4)
    tried, m, gaps, ways = np.zeros((2, morphs)), np.zeros(3), np.zeros(morphs), np.zeros(morphs)
    for p in range(count):
        t, other, need = cloth_faces[pairs[p, 0]], pairs[p, 1], needed[p]
        s = faces[other]
        lows[0], highs[0] = low, high
        top, pieces, status[p] = 1, 0, CERTIFIED
        size = size_of(posed, s) + size_of(cloth, t)
        while top > 0 and status[p] != OPEN:
            top -= 1
            pieces += 1
            first, last = lows[top], highs[top]
            centre = tried[1]
            centre[:] = 0.5 * (first + last)
            first_way(cloth, posed, t, s, centre, work, m)
            value = widest_gap(cloth, posed, t, s, first, last, need, along_a, along_b, n, m, hull, corners)
            if value >= need and provable[p]:
                continue
            kind = contact_in(
                cloth, rest, posed, faces, blend, folding, on, shares, t, other, need, size, first, last, centre,
                forms, numbers, points,
            )  # fmt: skip
            if kind > 0:
                status[p], kinds[p] = CONTACT, kinds[p] | kind
                continue
            worst_corner(cloth, posed, t, s, n, first, last, along_a, along_b, tried[0])
            gap_spreads(along_a, along_b, first, last, gaps)
            ways[:] = 0.0
            for trial in range(2):
                corners_at(cloth, t, tried[trial], work[0])
                corners_at(posed, s, tried[trial], work[1])
                if provable[p] and apart(work[0], work[1], m, work[2, 2]) >= need:
                    continue
                shapes[p] = tried[trial]
                kind = contact_at(rest, posed, faces, blend, folding, on, shares, t, other, tried[trial], points)
                if kind == 0:
                    status[p] = OPEN
                    break
                kinds[p] |= kind
                way_spreads(posed, faces[on[t[0]]], shares[t[0]], s, first, last, forms, ways)
            if status[p] != OPEN and (pieces + top >= budget or morphs == 0):
                status[p] = UNDECIDED
                break
            k = widest(gaps, ways)
            lows[top + 1], highs[top + 1] = lows[top], highs[top]
            highs[top, k], lows[top + 1, k] = centre[k], centre[k]
            top += 2
    return status, kinds, shapes
