"""Garments as the page is told of them."""

from dressform.faults.results import Severity
from dressform.formats.results.record import Count, Record


class SettingsAbout(Record, frozen=True):
    """How a garment follows now, every setting spelt out.

    Attributes:
        strength: Of all of it, 0 to 1.
        parts: Strength of named parts, 0 to 1.
        falloff_mm: Width of the soft rim between strengths, mm.
        painted: Whether a strength is painted.
        hard: Parts that move rigidly.
        margin_mm: Least distance from the skin that repairs keep, mm.
        ease: Ease policy.
        rotation_share: How far the offset from the skin turns with it: 0 not at all, 1 fully; null for the method's
            own.
        joint_weights: Where the joint weights come from.
        part_joints: Joint by part, for rigid parts; empty for the one that carries most.
    """

    strength: float
    parts: dict[str, float]
    falloff_mm: float
    painted: bool
    hard: tuple[str, ...]
    margin_mm: float
    ease: str
    rotation_share: float | None
    joint_weights: str
    part_joints: dict[str, str]


class GarmentAbout(Record, frozen=True):
    """One garment, followed by one method.

    Attributes:
        key: Tells it from all others of the page.
        name: Name of the garment.
        file: Name of its file.
        sha256: Hash of the file's content.
        vertices: Count, welded.
        triangles: Count.
        parts: Names of its parts.
        severity: The worst severity over all shapes; empty where nothing was measured yet.
        verdict: One line: how many shapes fail, which is worst, and by what.
        worst: Index of its worst shape; null where it was not checked.
        method: Method by which it follows.
        ease: Ease policy.
        colours: One `#rrggbb` per part; empty where unknown.
        worn: Whether it is worn when the page opens.
        notes: Untidiness found in its file.
        variant_of: Key of the garment that this is another version of, or empty.
        variant: What sets it apart from other versions of the garment, or empty.
        revision: Live: grows with every edit.
        settings: Live: how it follows; null in a report.
    """

    key: str
    name: str
    file: str
    sha256: str
    vertices: Count
    triangles: Count
    parts: tuple[str, ...]
    severity: Severity
    verdict: str
    worst: Count | None
    method: str
    ease: str
    colours: tuple[str, ...] = ()
    worn: bool = True
    notes: tuple[str, ...] = ()
    variant_of: str = ""
    variant: str = ""
    revision: int = 0
    settings: SettingsAbout | None = None
