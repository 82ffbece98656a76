"""How strongly a garment follows: on or off, per part, or painted, with a soft rim."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
from jaxtyping import Float

from dressform.arrays import VertexScalars
from dressform.errors import ArgumentError
from dressform.garment.along import distance_along
from dressform.garment.following import DEFAULT_FALLOFF_MM, Following
from dressform.garment.garment import FULL_STRENGTH, NO_STRENGTH, Garment
from dressform.units import MM_PER_M

DEFAULT_FALLOFF = DEFAULT_FALLOFF_MM / MM_PER_M  # metres along the cloth over which one strength passes into another


def follow_as(garment: Garment, following: Following) -> Garment:
    """The garment with the strength that `following` sets; the garment itself where nothing differs from the default.

    A mask given by name has been read already: it is the garment's own strength.

    Raises:
        ArgumentError: a part that the garment does not have, or a mask of another length.
    """
    painted = following.mask if isinstance(following.mask, np.ndarray) else None
    if painted is None and following.strength == FULL_STRENGTH and not following.parts:
        return garment
    return with_strength(
        garment,
        overall=float(following.strength),
        parts={name: float(strength) for name, strength in following.parts.items()},
        mask=garment.strength if painted is None else painted,
        falloff=following.falloff,
    )


def with_strength(
    garment: Garment,
    *,
    overall: float = FULL_STRENGTH,
    parts: Mapping[str, float] | None = None,
    mask: Float[np.ndarray, " G"] | None = None,
    falloff: float = DEFAULT_FALLOFF,
) -> Garment:
    """The same garment with another strength: `overall` × `mask`, and in named parts the part's own value.

    A named part keeps its value throughout; around it the strength passes into that of the rest by a smoothstep over
    `falloff` metres along the cloth. Around places where the mask is 0, the strength rises by the same smoothstep. The
    lift stays linear: its rows are multiplied by the strength.

    Args:
        garment: The garment; its own strength is replaced.
        overall: 1 on, 0 off, or between, for every vertex.
        parts: Strength by part name. 0 for a part that should not follow.
        mask: Painted strength per vertex, (G,).
        falloff: Width of the soft rim, metres along the cloth; 0 for a sharp one.

    Raises:
        ArgumentError: a strength outside [0, 1], a part that the garment does not have (its parts are listed), a mask
            of another length, or a falloff that is negative or not finite.

    Proof: tests/garment/test_strength.py::test_strength_rises_by_a_smoothstep_over_the_falloff
    """
    if not 0 <= falloff < np.inf:
        raise ArgumentError.of("with_strength", "falloff", "at least 0 m and finite", f"{falloff:g}", "Give a width")
    strength = np.full(len(garment.vertices), _checked("overall", overall))
    if mask is not None:
        strength *= _painted(garment, mask, falloff)
    for name, value in (parts or {}).items():
        rim = _rim(garment, _part_vertices(garment, name), falloff)
        strength += rim * (_checked(name, value) - strength)
    return replace(garment, strength=strength)


def _painted(garment: Garment, mask: Float[np.ndarray, " G"], falloff: float) -> VertexScalars:
    """The mask, rising softly around the places where it is 0."""
    if len(mask) != len(garment.vertices):
        raise ArgumentError.of(
            "with_strength",
            "mask",
            f"one value for each of {len(garment.vertices)} vertices",
            f"{len(mask)}",
            "Paint the mask on this garment",
        )
    outside = np.flatnonzero(~((mask >= NO_STRENGTH) & (mask <= FULL_STRENGTH)))
    if outside.size:
        _checked(f"mask[{outside[0]}]", float(mask[outside[0]]))
    return mask * (1.0 - _rim(garment, mask == NO_STRENGTH, falloff))


def _part_vertices(garment: Garment, name: str) -> np.ndarray:
    """Which vertices belong to the part's triangles."""
    if name not in garment.part_names:
        valid = ", ".join(garment.part_names)
        raise ArgumentError.of("with_strength", "parts", f"parts of {garment.name!r}: {valid}", repr(name), "Use these")
    inside = np.zeros(len(garment.vertices), dtype=bool)
    inside[garment.faces[garment.face_parts == garment.part_names.index(name)]] = True
    return inside


def _rim(garment: Garment, inside: np.ndarray, falloff: float) -> VertexScalars:
    """1 inside, falling by a smoothstep to 0 at `falloff` along the cloth."""
    if falloff == 0:
        return inside.astype(np.float64)
    distance = distance_along(garment.vertices, garment.faces, inside, within=falloff)
    share = np.minimum(distance / falloff, 1.0)
    return 1.0 - share * share * (3.0 - 2.0 * share)


def _checked(argument: str, strength: float) -> float:
    """The strength, refused outside [0, 1]."""
    if not NO_STRENGTH <= strength <= FULL_STRENGTH:
        raise ArgumentError.of("with_strength", argument, "in [0, 1]", f"{strength:g}", "Scale it into that interval")
    return strength
