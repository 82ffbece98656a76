"""Compiled affine forms: what polynomials in the weights can be over a piece of the range.

A form is centre + Σ e_k slope_k + rest with every e_k between −1 and 1 and a rest no longer than a bound: row 0 of an
array is the centre, row k + 1 the slope of morph k times half its interval; the bound goes beside. Products keep their
linear part, so that what cancels there cancels; only the quadratic part is bounded by lengths [Stolfi2003].
"""

from typing import Any, no_type_check

import numpy as np

from dressform.mesh.geometry_kernels import dot
from dressform.mesh.jit import jit


@jit
@no_type_check
def over_piece(terms: Any, low: Any, high: Any, out: Any) -> None:
    """The form of affine terms (M, 3), base then morphs, over a piece of the range."""
    out[0] = terms[0]
    for k in range(len(low)):
        for x in range(3):
            out[0, x] += 0.5 * (low[k] + high[k]) * terms[k + 1, x]
            out[k + 1, x] = 0.5 * (high[k] - low[k]) * terms[k + 1, x]


@jit
@no_type_check
def spread(form: Any) -> float:
    """How far the linear part of a vector form can lead from its centre."""
    total = 0.0
    for k in range(1, len(form)):
        total += np.sqrt(dot(form[k], form[k]))
    return total


@jit
@no_type_check
def cross_add(a: Any, b: Any, out: Any) -> None:
    """Add a × b to `out`."""
    out[0] += a[1] * b[2] - a[2] * b[1]
    out[1] += a[2] * b[0] - a[0] * b[2]
    out[2] += a[0] * b[1] - a[1] * b[0]


@jit
@no_type_check
def normal_form(corners: Any, out: Any) -> float:
    """Form of a triangle's normal, not of unit length, from the forms of its corners (3, M, 3); returns its bound."""
    u, v = corners[1] - corners[0], corners[2] - corners[0]
    out[:] = 0.0
    cross_add(u[0], v[0], out[0])
    for k in range(1, len(u)):
        cross_add(u[k], v[0], out[k])
        cross_add(u[0], v[k], out[k])
    return spread(u) * spread(v)


@jit
@no_type_check
def dot_form(a: Any, rest_a: float, b: Any, rest_b: float, out: Any) -> float:
    """Form of a · b, (M,), and its bound."""
    out[0] = dot(a[0], b[0])
    for k in range(1, len(a)):
        out[k] = dot(a[k], b[0]) + dot(a[0], b[k])
    wide_a, wide_b = spread(a) + rest_a, spread(b) + rest_b
    size_a, size_b = np.sqrt(dot(a[0], a[0])), np.sqrt(dot(b[0], b[0]))
    return wide_a * wide_b + rest_a * size_b + rest_b * size_a


@jit
@no_type_check
def least(form: Any, rest: float) -> float:
    """Lower bound of a number over the piece."""
    total = form[0] - rest
    for k in range(1, len(form)):
        total -= abs(form[k])
    return total


@jit
@no_type_check
def most(form: Any, rest: float) -> float:
    """Upper bound of a number over the piece."""
    total = form[0] + rest
    for k in range(1, len(form)):
        total += abs(form[k])
    return total
