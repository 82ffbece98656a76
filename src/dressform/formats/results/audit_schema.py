"""An audit as records, in the units that people read; the one source of `audit.schema.json` and of its tables."""

from typing import Annotated, Any

from msgspec import Meta

from dressform.audit.results import BODY_FAULTS, SIDES
from dressform.faults.results import Place, Severity
from dressform.formats.results.record import Count, Interval, NonNegative, Record, Sha256

AUDIT_SCHEMA_NAME = "dressform-audit/2"

BodyFault = Annotated[str, Meta(title="BodyFault", extra_json_schema={"enum": list(BODY_FAULTS)})]
"""One of `BODY_FAULTS`."""
Sides = Annotated[str, Meta(title="Sides", extra_json_schema={"enum": list(SIDES)})]
"""One of `SIDES`."""


class AuditedBody(Record, frozen=True):
    """The body.

    Attributes:
        name: Name of the base body.
        file: Path as it was given.
        sha256: Hash of the file's content.
        vertices: Count, welded.
        triangles: Count.
        stature_mm: Height of the base body, mm.
        notes: Untidiness found in the file.
    """

    name: str
    file: str
    sha256: Sha256
    vertices: Count
    triangles: Count
    stature_mm: NonNegative
    notes: tuple[str, ...]


class AuditedPlace(Record, frozen=True):
    """One of the places of a finding, with the skin that belongs to it.

    Attributes:
        place: Where it is, at the base; its finding says what is wrong there.
        vertex_count: How many vertices it has.
        vertices: Its vertices, the first 200.
    """

    place: Place
    vertex_count: Count
    vertices: tuple[Count, ...]


class AuditedFinding(Record, frozen=True):
    """One fault of a morph or of a pair.

    Attributes:
        fault: Which fault.
        severity: How bad it is.
        value: How much, in `unit`.
        unit: Unit of `value`; empty for an index.
        weight: Weight of the morph at which it was seen; of a pair that of the first.
        partner: Another morph that it is about, or empty.
        sentence: Where, how much, and what to do.
        figures: What else the sentence rests on; `docs/audit.md` explains each. Units stand at the end of their names.
        places: Where, the worst first.
    """

    fault: BodyFault
    severity: Severity
    value: NonNegative
    unit: str
    weight: float
    partner: str
    sentence: str
    figures: dict[str, float]
    places: Annotated[tuple[AuditedPlace, ...], Meta(min_length=1)]


class AuditedMorph(Record, frozen=True):
    """One morph; figures hold at the end of its interval that lies farther from 0.

    Attributes:
        name: The morph.
        severity: The worst severity of its findings.
        interval: Smallest and largest weight that a wearer may reach.
        weight: The end at which the figures hold.
        moved_cm2: Area that moves by more than a twentieth of the farthest move, cm².
        move_max_mm: Farthest move, mm.
        move_p95_mm: 95th percentile by area of the moves of that area, mm.
        roughness_p99: 99th percentile by area of the pucker index of the moved skin, what other findings explain left
            out.
        folded_faces: Triangles turned over at the worse end and not at the base.
        crossing_pairs: Pairs of triangles that cross at the worse end and not at the base.
        patch_percent: Share of the moved area that lies in rigid patches.
        sides: How it treats the two sides: alike, one only, one against the other, differently, or not known.
        asymmetry: 0 where left and right move as mirror images, 1 where one side stays still, √2 where they oppose.
        partner: The morph that does the same on the other side, or empty.
        picture: File name of its picture in the folder of results, or empty.
        sentences: What to do, one sentence per finding.
        findings: What is wrong, the gravest first.
    """

    name: str
    severity: Severity
    interval: Interval
    weight: float
    moved_cm2: NonNegative
    move_max_mm: NonNegative
    move_p95_mm: NonNegative
    roughness_p99: NonNegative
    folded_faces: Count
    crossing_pairs: Count
    patch_percent: NonNegative
    sides: Sides
    asymmetry: NonNegative
    partner: str
    picture: str
    sentences: tuple[str, ...]
    findings: tuple[AuditedFinding, ...]


class AuditedPair(Record, frozen=True):
    """Two morphs together.

    Attributes:
        weights: Weight of each of the two.
        severity: The worst severity of its findings.
        overlap_cm3: Skin that both move: area times the shorter of the two moves, cm³.
        picture: File name of its picture in the folder of results, or empty.
        findings: What is wrong, the gravest first.
    """

    weights: Annotated[dict[str, float], Meta(min_length=2, max_length=2)]
    severity: Severity
    overlap_cm3: NonNegative
    picture: str
    findings: tuple[AuditedFinding, ...]


class StoredAudit(Record, frozen=True, tag_field="schema", tag=AUDIT_SCHEMA_NAME):
    """What one run of `dressform audit` found.

    Attributes:
        schema: Name and version of this format. The number grows when a reader of the old format would misread the new
            one.
        made: When the run ended, ISO 8601 with its time zone.
        seconds: From reading the file to the last finding, s.
        versions: Version of dressform and of what it computes with.
        settings: What was asked for, by the name of the option.
        severity: The worst severity of all morphs and pairs.
        body: The body.
        base_crossing_pairs: Pairs of triangles that cross at the base; no morph is blamed for them.
        base_folded_faces: Triangles that are turned over at the base.
        mirror_gap_mm: 95th percentile by area of how far a mirrored point of the base body lies from it, mm.
        pairs_looked_at: How many pairs of morphs were taken to their ends together.
        pairs_that_overlap: How many pairs move some skin together.
        sentences: What holds for the body as a whole.
        morphs: One entry per morph, the worst first.
        pairs: Pairs that break what is whole with either morph alone, the worst first.
    """

    made: str
    seconds: NonNegative
    versions: dict[str, str]
    settings: dict[str, Any]
    severity: Severity
    body: AuditedBody
    base_crossing_pairs: Count
    base_folded_faces: Count
    mirror_gap_mm: NonNegative
    pairs_looked_at: Count
    pairs_that_overlap: Count
    sentences: tuple[str, ...]
    morphs: tuple[AuditedMorph, ...]
    pairs: tuple[AuditedPair, ...]
