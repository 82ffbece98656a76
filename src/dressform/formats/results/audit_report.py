"""An audit of a body, gathered for the reader."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from dressform.audit.results import BodyAudit, MorphAudit, PairAudit
from dressform.faults.results import SEVERITIES
from dressform.formats.results.check_report import FAULTY, BodyReport


@dataclass(frozen=True)
class AuditReport:
    """Everything that one run of an audit says.

    Attributes:
        made: When the run ended, ISO 8601 with its time zone.
        versions: Version of this program and of what it computes with.
        settings: What was asked for, by name.
        body: The body.
        audit: What was found.
        seconds: The whole run.
        pictures: File name of the picture of each morph or pair, by `picture_key`.
    """

    made: str
    versions: Mapping[str, str]
    settings: Mapping[str, object]
    body: BodyReport
    audit: BodyAudit
    seconds: float
    pictures: Mapping[str, str] = field(default_factory=dict)

    @property
    def faulty(self) -> bool:
        """Whether anything is moderate or grave."""
        return SEVERITIES.index(self.audit.severity) >= SEVERITIES.index(FAULTY)


def name_of(one: MorphAudit | PairAudit) -> str:
    """A morph's name, or both names of a pair."""
    return one.name if isinstance(one, MorphAudit) else " + ".join(one.names)


def weights_of(one: MorphAudit | PairAudit) -> dict[str, float]:
    """The weights at which a morph's figures hold, or those of a pair."""
    return {one.name: one.weight} if isinstance(one, MorphAudit) else dict(zip(one.names, one.weights))
