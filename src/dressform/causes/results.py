"""Frozen results of an explanation: clusters of places, causes with their shares, and advice."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from jaxtyping import Int
from msgspec import Struct

from dressform.arrays import Weights
from dressform.body.stance import Stance
from dressform.causes.action import Action
from dressform.faults.results import Place

ANOTHER_SHAPE = "modelled on another shape"
TOO_FEW_VERTICES = "too few vertices where the body bends"
RIGID_PATCH = "the morph shifts a patch rigidly"
AMBIGUOUS_FOOT = "ambiguous foot"
BEYOND_EXTREMITY = "beyond an extremity"
SHOULD_NOT_FOLLOW = "should not follow"
TOO_TIGHT = "too tight by design"
ROUGH_MORPH = "rough morph"
METHOD = "the method"
LAYER_BELOW = "layer below"
JOINT_WEIGHTS = "joint weights"

CAUSES = (
    ANOTHER_SHAPE,
    TOO_FEW_VERTICES,
    RIGID_PATCH,
    AMBIGUOUS_FOOT,
    BEYOND_EXTREMITY,
    SHOULD_NOT_FOLLOW,
    TOO_TIGHT,
    ROUGH_MORPH,
    METHOD,
    LAYER_BELOW,
    JOINT_WEIGHTS,
)
"""Every cause that a counterfactual can show."""

GARMENT, BODY, FOLLOWING = "the garment", "the body", "the way it follows"

OWNERS: Mapping[str, str] = {
    ANOTHER_SHAPE: GARMENT,
    TOO_FEW_VERTICES: GARMENT,
    RIGID_PATCH: BODY,
    AMBIGUOUS_FOOT: FOLLOWING,
    BEYOND_EXTREMITY: FOLLOWING,
    SHOULD_NOT_FOLLOW: FOLLOWING,
    TOO_TIGHT: GARMENT,
    ROUGH_MORPH: BODY,
    METHOD: FOLLOWING,
    LAYER_BELOW: FOLLOWING,
    JOINT_WEIGHTS: FOLLOWING,
}
"""With whom each cause lies: who can take it away."""


@dataclass(frozen=True)
class Sighting:
    """A place of a cluster on one shape.

    Attributes:
        label: Label of the shape.
        weights: The shape, (K,).
        place: What was found there.
        stance: The stance, or None at rest.
    """

    label: str
    weights: Weights
    place: Place
    stance: Stance | None = None

    @property
    def seen_at(self) -> tuple[bytes, str]:
        """Tells the shape and the stance from all others."""
        return self.weights.tobytes(), "" if self.stance is None else self.stance.name


@dataclass(frozen=True)
class Cluster:
    """One fault at one connected place of one garment, over shapes.

    Attributes:
        name: Unique in its garment: `1` for the one that a wearer would notice most, then `2`, ...
        garment: Key of the garment's fit.
        sightings: Where it was seen, the worst first; at least one.
        vertices: Vertices that belong to it at its worst: of the body for `exposed`, of the cloth for every other
            fault, (N,).
        noticed: How much a wearer sees of it: ranks clusters, larger first, no unit.
    """

    name: str
    garment: str
    sightings: tuple[Sighting, ...]
    vertices: Int[np.ndarray, " N"]
    noticed: float

    @property
    def worst(self) -> Sighting:
        """The sighting where it is worst."""
        return self.sightings[0]

    @property
    def fault(self) -> str:
        """Which fault it is: one of `FAULTS`."""
        return self.worst.place.fault


@dataclass(frozen=True)
class Share:
    """The share of one cause in a cluster.

    Attributes:
        cause: One of `CAUSES`.
        share: Part of the fault that goes away with this cause, 0 to 1, averaged over the orders in which ingredients
            are swapped.
        alone: The fault at the cluster with only this ingredient swapped, in the unit of its band.
        counterfactual: What was swapped, in words.
    """

    cause: str
    share: float
    alone: float
    counterfactual: str


class Advice(Struct, frozen=True):
    """What a maker can act on.

    Attributes:
        where: Region, side, height above the ground, distance from a tape line.
        what: What to change, with figures.
        repair: Which repair of this program does it instead, and what that costs; empty where none does.
    """

    where: str
    what: str
    repair: str

    @property
    def sentence(self) -> str:
        """Where and what in one sentence."""
        return f"{self.where}: {self.what}"


@dataclass(frozen=True)
class Explanation:
    """A cluster with its causes.

    Attributes:
        cluster: The cluster.
        measured: The fault at the cluster's worst shape as it is, in the unit of its band: what shares are shares of.
        shares: One per counterfactual that was tried, the largest first.
        cause: The cause with the largest share, or empty where none explains enough.
        owner: `OWNERS` of the cause, or empty.
        advice: What to do, or None where there is no cause.
        evidence: The figures that advice and reasoning rest on, by name: metres, m², no unit where it is a count.
    """

    cluster: Cluster
    measured: float
    shares: tuple[Share, ...]
    cause: str
    owner: str
    advice: Advice | None
    evidence: Mapping[str, float]


@dataclass(frozen=True)
class SharedPlace:
    """A place where several garments fail: then the body or the following is the suspect.

    Attributes:
        fault: One of `FAULTS`.
        region: Region of the body, or empty.
        side: Side, as in `Place`.
        height: Mean height above ground, metres.
        clusters: (garment key, cluster name) of each.
        suspect: One of `GARMENT`, `BODY`, `FOLLOWING`.
        sentence: What it says.
    """

    fault: str
    region: str
    side: str
    height: float
    clusters: tuple[tuple[str, str], ...]
    suspect: str
    sentence: str


@dataclass(frozen=True)
class Causes:
    """Every explanation of one check.

    Attributes:
        of_garment: Explanations by garment key, the most noticed cluster first; empty where a garment is clean.
        shared: Places where several garments fail.
        seconds: What explaining took, by garment key.
        actions: What to do, by garment key, the action first of whose places a wearer sees most.
    """

    of_garment: Mapping[str, tuple[Explanation, ...]]
    shared: tuple[SharedPlace, ...]
    seconds: Mapping[str, float]
    actions: Mapping[str, tuple[Action, ...]] = field(default_factory=dict)
