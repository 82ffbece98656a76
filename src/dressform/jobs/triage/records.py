"""What a triage keeps of finished work, so that it goes on where it was interrupted."""

from msgspec import Struct

from dressform.faults.results import Place
from dressform.formats.results.triage_schema import Outcome, TriageRemedy, TriageWord


class SeenCase(Struct, frozen=True):
    """A case measured again and compared with its note.

    Attributes:
        outcome: One of the outcomes of `TriageCase`.
        words: What was understood of the note, and what of it was found.
        place: What was found, or None.
        label: Label of the shape where.
        weights: That shape, one weight per morph.
        stance: Its stance; empty at rest.
        vague: Whether the note names neither fault, place nor part.
        reason: As in `TriageCase`.
    """

    outcome: Outcome
    words: tuple[TriageWord, ...]
    place: Place | None = None
    label: str = ""
    weights: tuple[float, ...] = ()
    stance: str = ""
    vague: bool = False
    reason: str = ""


class CausedCase(Struct, frozen=True):
    """Why what a case found is there.

    Attributes:
        key: What it has in common with others of its garment: an action, else a place.
        subject: Morph or part that the action is about, or empty.
        where: Places of the action, or the place, in words.
        cause: As in `TriageMatter`.
        owner: As in `TriageMatter`.
        share: As in `TriageMatter`.
        because: As in `TriageMatter`.
        remedies: As in `TriageMatter`.
        tried: As in `TriageMatter`.
    """

    key: str
    subject: str
    where: str
    cause: str = ""
    owner: str = ""
    share: float = 0.0
    because: str = ""
    remedies: tuple[TriageRemedy, ...] = ()
    tried: str = ""


class CausedGarment(Struct, frozen=True):
    """Why what is complained about of one garment is there.

    Attributes:
        cases: By the file of the case.
        pictures: PNG by `CausedCase.key`: the gravest place of it that was complained about.
        problem: Why nothing is known of them; empty where all went well.
    """

    cases: dict[str, CausedCase]
    pictures: dict[str, bytes]
    problem: str = ""
