"""What a triage found, as records: every complaint, the matters they are merged into, and drafted answers."""

from typing import Final, Literal

import msgspec

from dressform.faults.results import FaultName, Place, Severity
from dressform.formats.results.record import Cause, Count, NonNegative, Owner, Record

TRIAGE_SCHEMA = "dressform-triage/1"
Outcome = Literal["found", "elsewhere", "not found", "unclear", "failed"]
FOUND: Final = "found"
ELSEWHERE: Final = "elsewhere"
NOT_FOUND: Final = "not found"
UNCLEAR: Final = "unclear"
FAILED: Final = "failed"
ShapeKnown = Literal["weights", "tape", "searched"]
ChangeKind = Literal["cured", "still there", "worse", "new", "not judged"]
CURED: Final = "cured"
STILL: Final = "still there"
WORSE: Final = "worse"
NEW: Final = "new"
UNJUDGED: Final = "not judged"


class TriageWord(Record, frozen=True):
    """A word or phrase of a note that the vocabulary knows.

    Attributes:
        text: As it was written.
        kind: `fault`, `place`, `side`, `part`, `stance`, or `plain` where it only says that something is wrong.
        means: What it stands for.
        denied: Whether the note says that it is not so.
        read_as: What a misspelt word was taken for; empty where it was written right.
        matched: Whether what was found fits it; of a denied word, whether it is indeed not there.
    """

    text: str
    kind: str
    means: tuple[str, ...]
    denied: bool = False
    read_as: str = ""
    matched: bool = False


class TriageCase(Record, frozen=True):
    """One complaint, measured again.

    Attributes:
        file: Path of the case below the folder.
        sha256: Hash of the case, whenever and by whatever version it was saved.
        garment: Name of the garment.
        body: Name of the base body.
        method: How the garment follows.
        note: What the person says; addresses, links and names are left out unless asked.
        where: The place in the person's words, in the same way.
        known_by: How the shape is known: told as weights, found by tape measures, or searched over the whole range.
        shape: Label of the shape at which it was looked for; empty where it was searched.
        weights: Its weights that are not 0.
        stance: Name of the stance, or empty at rest.
        outcome: `found` at its shape (or over the range, where it has none); found `elsewhere` in the range alone;
            `not found`; `unclear`, since the note does not say what is wrong; `failed`, with the reason.
        words: What was understood of the note.
        place: What was found, or null.
        found_at: Label of the shape where it was found.
        found_weights: Its weights that are not 0.
        found_stance: Its stance; empty at rest.
        matter: Name of the matter that it belongs to, or empty.
        sure: Whether the note names what was found, and its cause carries at least half of the fault.
        reason: Why it is not found, unclear or failed; what was found instead.
        answer: The drafted answer where it belongs to no matter, else empty; Markdown.
        who: Who said it; empty unless asked for.
        link: Where it was said; empty unless asked for.
    """

    file: str
    sha256: str
    garment: str
    body: str
    method: str
    note: str
    where: str
    known_by: ShapeKnown
    shape: str
    weights: dict[str, float]
    stance: str
    outcome: Outcome
    words: tuple[TriageWord, ...] = ()
    place: Place | None = None
    found_at: str = ""
    found_weights: dict[str, float] = msgspec.field(default_factory=dict)
    found_stance: str = ""
    matter: str = ""
    sure: bool = False
    reason: str = ""
    answer: str = ""
    who: str = ""
    link: str = ""


class TriageRemedy(Record, frozen=True):
    """Something that was done to the whole garment, literally as worded, and measured again.

    Attributes:
        words: What to do.
        by: Whose work it is.
        effect: What it did, in words.
        share: How much of the fault goes away, 0 to 1.
    """

    words: str
    by: str
    effect: str
    share: float


class TriageMatter(Record, frozen=True):
    """Complaints that are one matter: one garment, place and action, or one place of the body over garments.

    Attributes:
        name: Its rank: `1` for what most complain about most gravely.
        garments: Names of the garments.
        body: Name of the base body.
        fault: The gravest fault of it.
        where: Its places in words.
        place: The gravest place that was complained about.
        shape: Label of the shape where that was found.
        weights: Its weights that are not 0.
        stance: Its stance; empty at rest.
        severity: How bad it is there.
        cause: Why it is so; empty where no swap took enough away.
        owner: Whose it is: of the garment, the body or the way it follows; empty where not known.
        share: Share of the fault that goes with the cause, 0 to 1.
        sure: Whether the cause carries at least half of the fault, and a note names what was found.
        because: The reasoning in one sentence.
        remedies: What to do, tried and measured again, the best first.
        tried: What was tried in vain, in words; empty where something helps or nothing was tried.
        complaints: How many cases belong to it.
        people: How many people complain: who says it twice counts once.
        rank: `people` times the weight of the severity.
        cases: Their files.
        picture: File name of its picture, or empty.
        answer: The drafted answer, paragraphs in Markdown.
    """

    name: str
    garments: tuple[str, ...]
    body: str
    fault: FaultName
    where: str
    place: Place
    shape: str
    weights: dict[str, float]
    stance: str
    severity: Severity
    cause: Cause
    owner: Owner
    share: float
    sure: bool
    because: str
    remedies: tuple[TriageRemedy, ...]
    tried: str
    complaints: Count
    people: Count
    rank: NonNegative
    cases: tuple[str, ...]
    picture: str
    answer: str


class TriageChange(Record, frozen=True):
    """What became of a matter since an earlier triage.

    Attributes:
        kind: `cured`, `still there`, `worse`, `new`, or `not judged`, where none of its cases was measured again.
        before: Name of the matter then; empty where it is new.
        after: Name of the matter now; empty where it is gone.
        garments: Names of its garments.
        words: What changed, in one sentence.
    """

    kind: ChangeKind
    before: str
    after: str
    garments: tuple[str, ...]
    words: str


class StoredTriage(Record, frozen=True, tag_field="schema", tag=TRIAGE_SCHEMA):
    """What one run of `dressform triage` found.

    Attributes:
        schema: Name and version of this format.
        made: When it was made, ISO 8601.
        versions: What it was computed with.
        garments: SHA-256 of each garment's file, by name.
        bodies: SHA-256 of each body's file, by the name of the base body.
        matters: What is complained about, the first to see to first.
        cases: Every complaint.
        unread: Files that could not be read, one sentence each.
        notes: What could not be done, one sentence each.
        against: When the earlier triage was made; empty where there is none.
        changes: What became of the matters since then.
        release_note: A note to the wearers, drafted from the changes; Markdown.
    """

    made: str
    versions: dict[str, str]
    garments: dict[str, str]
    bodies: dict[str, str]
    matters: tuple[TriageMatter, ...]
    cases: tuple[TriageCase, ...]
    unread: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    against: str = ""
    changes: tuple[TriageChange, ...] = ()
    release_note: str = ""

    def of(self, outcome: str) -> tuple[TriageCase, ...]:
        """Cases of one outcome."""
        return tuple(one for one in self.cases if one.outcome == outcome)
