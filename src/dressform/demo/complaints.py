"""The complaints of the Saltmarsh keepers, and the truth about them, which nothing that judges complaints reads."""

import tomllib
from dataclasses import dataclass
from importlib.resources import files
from typing import Literal

import msgspec

COMPLAINTS_FILE = "complaints.csv"
COMPLAINTS_TRUTH_FILE = "complaints_truth.toml"


@dataclass(frozen=True)
class TrueMatter:
    """What some complaints are truly about.

    Attributes:
        name: Its name in the truth.
        owner: Whose it is, in the words of the causes.
    """

    name: str
    owner: str


@dataclass(frozen=True)
class TrueComplaint:
    """The truth about one complaint.

    Attributes:
        ticket: Its number in the list.
        outcome: `found` where there is what it says, `not found` where there is not, `unclear` where it says nothing.
        matter: Name of its matter, or empty.
        kind: `right`, `wrong`, `doubled`, `vague` or `already cured`.
        held: Whether it was set aside while the words were chosen.
        doubles: The ticket in which the same person said it before, or empty.
    """

    ticket: str
    outcome: Literal["found", "not found", "unclear"]
    matter: str
    kind: Literal["right", "wrong", "doubled", "vague", "already cured"]
    held: bool
    doubles: str = ""


@dataclass(frozen=True)
class ComplaintsTruth:
    """The truth about all complaints.

    Attributes:
        matter: What they are about.
        complaint: One per row of the list.
    """

    matter: tuple[TrueMatter, ...]
    complaint: tuple[TrueComplaint, ...]


def complaints_text() -> bytes:
    """The list of complaints as its file has it."""
    return files("dressform.demo").joinpath(COMPLAINTS_FILE).read_bytes()


def complaints_truth() -> ComplaintsTruth:
    """The truth about the complaints."""
    text = files("dressform.demo").joinpath(COMPLAINTS_TRUTH_FILE).read_text(encoding="utf-8")
    return msgspec.convert(tomllib.loads(text), ComplaintsTruth)
