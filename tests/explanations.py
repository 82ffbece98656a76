"""Hand-made clusters and explanations, for tests of what is said about them."""

from collections.abc import Mapping

import msgspec
import numpy as np

from dressform.causes.results import (
    CAUSES,
    OWNERS,
    TOO_FEW_VERTICES,
    TOO_TIGHT,
    Advice,
    Causes,
    Cluster,
    Explanation,
    Share,
    SharedPlace,
    Sighting,
)
from dressform.faults.places import band_value
from dressform.faults.results import Place
from findings import place


def cluster(
    name: str = "1",
    *,
    garment: str = "guernsey smooth",
    fault: str = "exposed",
    label: str = "belly=1",
    weights: tuple[float, ...] = (1.0, 0.0, 0.0),
    at: Place | None = None,
) -> Cluster:
    worst = at or place(fault)
    less = msgspec.structs.replace(worst, value=worst.value / 2, severity="slight")
    half = tuple(weight / 2 for weight in weights)
    seen = (Sighting(label, np.array(weights), worst), Sighting("belly=0.5", np.array(half), less))
    return Cluster(name, garment, seen, np.array([5, 6, 7]), 0.012)


def shares(cause: str, *, of: float = 12e-4) -> tuple[Share, ...]:
    """Three counterfactuals of which the first takes away nearly all."""
    others = [one for one in CAUSES if one != cause][:2]
    tried = ((cause, 0.9), (others[0], 0.08), (others[1], 0.02))
    return tuple(
        Share(one, share, of * (1.0 - share), f"with another {number}") for number, (one, share) in enumerate(tried)
    )


def explanation(
    cause: str = TOO_FEW_VERTICES,
    *,
    of: Cluster | None = None,
    evidence: Mapping[str, float] | None = None,
    advice: Advice | None = None,
) -> Explanation:
    about = of or cluster()
    said = advice or Advice("torso, front left, 112 cm above the ground", "split the edges", "`refine` splits them")
    found = {"edge_length": 0.041, "bend_radius": 0.092, "triangles_failing": 12.0, "margin": 0.002}
    return Explanation(
        about,
        band_value(about.worst.place),
        shares(cause, of=band_value(about.worst.place)) if cause else shares(TOO_TIGHT),
        cause,
        OWNERS[cause] if cause else "",
        said if cause else None,
        found if evidence is None else evidence,
    )


def causes(*explained: Explanation, shared: tuple[SharedPlace, ...] = (), garment: str = "guernsey smooth") -> Causes:
    return Causes({garment: explained or (explanation(),)}, shared, {garment: 1.5})
