"""How garments should follow, as records, in the units that people read: mm, cm², per cent."""

from typing import Any, Literal

from dressform.faults.results import Severity
from dressform.formats.results.failed import FailedGarment
from dressform.formats.results.record import Count, NonNegative, Record, Source

SUGGESTION_SCHEMA = "dressform-suggestion/1"
TriedVerdict = Literal["taken", "eases", "trades", "no better", "graver"]


class LeftFault(Record, frozen=True):
    """One fault at its worst over all shapes and stances that a check looks at.

    Attributes:
        fault: Key of the fault; `stiff` for the bend of parts that are likely stiff, which a check does not grade.
        words: Its name for people.
        value: Worst value, in `unit`.
        unit: Unit of `value`; empty for a pure number.
        severity: How bad it is there.
        shape: The shape.
        stance: Its stance; empty at rest.
    """

    fault: str
    words: str
    value: float
    unit: str
    severity: Severity
    shape: str
    stance: str


class TriedChange(Record, frozen=True):
    """How one fault differs from that of the garment as it follows now.

    Attributes:
        fault: Key of the fault; `stiff` for the bend of parts that are likely stiff.
        words: Its name for people.
        before: Its value as the garment follows now, in `unit`.
        after: Its value if it follows so.
        unit: Unit of both.
        severity_before: How bad `before` is.
        severity_after: How bad `after` is.
    """

    fault: str
    words: str
    before: float
    after: float
    unit: str
    severity_before: Severity
    severity_after: Severity


class TriedWay(Record, frozen=True):
    """One way of following that was tried.

    Attributes:
        words: What was changed.
        verdict: Taken, eases something, trades it for clearance, is no better, or makes something graver.
        changes: What it eases, each at its worst; or what it makes graver, on the first shape that showed it.
        price: What is graver where it trades: clearance, for a person to weigh.
        shape: The shape that shows what is graver; empty where nothing is.
        stance: Its stance; empty at rest.
        shapes: So many shapes it was measured on: no more than needed to see that something is graver.
    """

    words: str
    verdict: TriedVerdict
    changes: tuple[TriedChange, ...]
    price: tuple[TriedChange, ...]
    shape: str
    stance: str
    shapes: Count


class SuggestedLine(Record, frozen=True):
    """One setting that should differ from how the garment follows now.

    Attributes:
        key: The setting as a settings file names it; `parts.collar` for a part.
        value: Its value; of a painted mask how many numbers there are.
        reason: Why, with figures.
    """

    key: str
    value: str
    reason: str


class SuggestedGarment(Record, frozen=True):
    """How one garment should follow.

    Attributes:
        name: Name of the garment.
        source: Its file.
        differs: Whether it should follow differently than it does.
        now: How it follows now, as a settings file says it.
        should: How it should follow.
        lines: What differs, line by line; none where nothing does.
        signs: Parts that are likely stiff, each with the sign.
        severity_before: Its worst severity as it follows now.
        severity_after: Its worst severity as it should follow.
        before: Every fault at its worst as it follows now.
        after: Every fault at its worst as it should follow: just what a check with the settings file says.
        tried: What was tried, in that order.
        shapes: Shapes and stances of that check.
        seconds: What the search took, without both checks.
    """

    name: str
    source: Source
    differs: bool
    now: dict[str, Any]
    should: dict[str, Any]
    lines: tuple[SuggestedLine, ...]
    signs: dict[str, str]
    severity_before: Severity
    severity_after: Severity
    before: tuple[LeftFault, ...]
    after: tuple[LeftFault, ...]
    tried: tuple[TriedWay, ...]
    shapes: Count
    seconds: NonNegative


class StoredSuggestions(Record, frozen=True, tag_field="schema", tag=SUGGESTION_SCHEMA):
    """What one run of `dressform suggest-following` found.

    Attributes:
        schema: Name and version of this format.
        made: When it was made, ISO 8601.
        versions: What it was computed with.
        body: Name of the body.
        source: Its file.
        shapes: Evenly spread shapes of the checks, as `--shapes` says it.
        stances: Stances beside rest.
        garments: One entry per garment.
        failed: Garments of which nothing is known.
    """

    made: str
    versions: dict[str, str]
    body: str
    source: Source
    shapes: Count
    stances: tuple[str, ...]
    garments: tuple[SuggestedGarment, ...]
    failed: tuple[FailedGarment, ...] = ()

    @property
    def differing(self) -> tuple[SuggestedGarment, ...]:
        """Garments that should follow differently."""
        return tuple(one for one in self.garments if one.differs)
