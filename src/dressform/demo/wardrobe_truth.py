"""The written ground truth of the wardrobe, as data that tests read."""

import tomllib
from dataclasses import dataclass, field
from importlib.resources import files

import msgspec

from dressform.garment.following import DEFAULT_METHOD

TRUTH_FILE = "truth.toml"


@dataclass(frozen=True)
class GoodGarment:
    """A garment without a fault of its own.

    Attributes:
        name: Its name in the wardrobe.
        body: `woman` or `man`.
        openings: Boundary loops of its cloth, hard parts left out.
        hard_parts: Closed pieces that must not bend.
        ease: Per tape level the least and the greatest girth ease at the base, centimetres.
        slight_at: Morphs under which something is seen all the same, for a reason that `FaultyGarment` names or
            because the morph is extreme; at full weight of every other morph the garment is clean.
    """

    name: str
    body: str
    openings: int
    hard_parts: int = 0
    ease: dict[str, tuple[float, float]] = field(default_factory=dict)
    slight_at: tuple[str, ...] = ()


@dataclass(frozen=True)
class FaultyGarment:
    """A garment and a body that do not go together, and why.

    Attributes:
        name: The garment's name in the wardrobe.
        body: `woman`, or `faulty` for the woman with the morphs that are wrong.
        cause: Why, in the words of the causes.
        shape: Weights of a shape that shows it.
        regions: Regions of the body where it shows.
        heights: Lowest and highest place where it shows at that shape, metres.
        wrong: Faults that must show at `shape`, over the whole cloth or at a place.
        stays_clean: Faults that must stay clean there.
        wrong_at_base: What is wrong at the base already: `ease`, `clearance` or `own_inside`.
        made_at: Weights of the shape that the garment was cut for, where that is the cause.
        method: The method under which it shows, where it is not the default.
    """

    name: str
    body: str
    cause: str
    shape: dict[str, float]
    regions: tuple[str, ...]
    heights: tuple[float, float]
    wrong: tuple[str, ...] = ()
    stays_clean: tuple[str, ...] = ()
    wrong_at_base: tuple[str, ...] = ()
    made_at: dict[str, float] = field(default_factory=dict)
    method: str = DEFAULT_METHOD


@dataclass(frozen=True)
class Truth:
    """Everything that is known about the wardrobe.

    Attributes:
        good: Garments without a fault of their own.
        fault: Pairs of garment and body with one.
    """

    good: tuple[GoodGarment, ...]
    fault: tuple[FaultyGarment, ...]


def read_truth() -> Truth:
    """The ground truth that comes with the demo."""
    return msgspec.convert(tomllib.loads(files("dressform.demo").joinpath(TRUTH_FILE).read_text("utf-8")), Truth)
