"""Levels of detail that were fitted together, as records, in the units that people read: mm, cm², per cent."""

from typing import Literal

from dressform.formats.results.record import Count, NonNegative, Record


class LevelBeside(Record, frozen=True):
    """A level beside the next finer one.

    Attributes:
        finer: Name of the finer level.
        shapes: Shapes on which the two were compared, in the modelled pose.
        outline_modelled_mm: How far their outlines are apart as they were modelled, from where they are farthest, mm.
        outline_mm: How far they are apart on the worst shape, mm.
        outline_within_mm: The outlines are known to within so much, mm.
        outline_shape: That shape.
        outline_seen: Where that is seen from.
        pop_mm: How much farther apart they are there than as modelled, mm; 0 where they are nearer.
        clearance_mm: By no more than this does the clearance of 95 % of the cloth differ, on the worst shape, mm.
        clearance_shape: That shape.
        clearance_most_mm: Largest difference of the clearance on any shape, mm.
    """

    finer: str
    shapes: Count
    outline_modelled_mm: NonNegative
    outline_mm: NonNegative
    outline_within_mm: NonNegative
    outline_shape: str
    outline_seen: str
    pop_mm: NonNegative
    clearance_mm: NonNegative
    clearance_shape: str
    clearance_most_mm: NonNegative


class StoredLevel(Record, frozen=True):
    """One level of detail.

    Attributes:
        name: Name of its garment.
        level: Its number from the finest, which is 0.
        body: Name of the level of the body that it is worn on.
        vertices: Its vertices.
        triangles: Its triangles.
        file: The file that it was written to, in the folder of this record; empty where there is none.
        sha256: SHA-256 of that file; its receipt lies beside it.
        seen_wrong: Whether skin that should be covered, or cloth in the body, is still seen on some shape.
        stances: Stances at which it is.
        skin_cm2: Skin that shows on the worst shape, cm².
        certified_percent: Share of the near pairs that are proven to keep apart over the whole range.
        proof: What is proven, in one sentence.
        pops: Whether its outline is too much farther from that of the finer level on some shape than as modelled.
        beside: How far it is from the next finer level; null for the finest.
        notes: What should be said of it.
    """

    name: str
    level: Count
    body: str
    vertices: Count
    triangles: Count
    file: str
    sha256: str
    seen_wrong: bool
    stances: tuple[str, ...]
    skin_cm2: NonNegative
    certified_percent: NonNegative
    proof: str
    pops: bool
    beside: LevelBeside | None
    notes: tuple[str, ...]


class StoredLevels(Record, frozen=True):
    """One garment's levels of detail.

    Attributes:
        schema: Name and version of this record.
        made: When, ISO 8601.
        versions: Versions of what it was computed with.
        pop_allowed_mm: So much farther apart than as modelled may outlines be, mm.
        faulty: Whether something is seen wrong at some level, or a level pops.
        levels: The levels, the worst first.
    """

    schema: Literal["dressform-levels/1"]
    made: str
    versions: dict[str, str]
    pop_allowed_mm: NonNegative
    faulty: bool
    levels: tuple[StoredLevel, ...]
