"""What the program answers, as records: the header of every pack that goes to a page."""

from collections.abc import Mapping

import numpy as np
from msgspec import Struct

from dressform.faults.results import FaultName, Place, Severity
from dressform.formats.results.page.garments import SettingsAbout
from dressform.formats.results.record import Count, NonNegative, plain
from dressform.formats.results.shape_schema import StoredGirth
from dressform.report.page.pack import Coarse, write_pack

UNASKED = 0
"""Stands for the id of a request in what is said unasked."""


class Answer(Struct, frozen=True, kw_only=True, tag_field="kind"):
    """Every answer says which request it belongs to.

    Attributes:
        id: Id of the request; 0 where nobody requested it.
    """

    id: Count


class MeshesAnswer(Answer, frozen=True, tag="meshes"):
    """Meshes of a base body and of garments.

    Attributes:
        base: Index of the base body.
        regions: Names of the body's regions.
    """

    base: Count
    regions: tuple[str, ...]


class ShapeAnswer(Answer, frozen=True, tag="shape"):
    """Body and cloth at a shape."""


class FigureAnswer(Struct, frozen=True):
    """One fault of a shape.

    Attributes:
        value: How much, in `unit`; none where the cloth is too coarse to tell.
        unit: Unit, or empty.
        severity: How bad that is.
    """

    value: float | None
    unit: str
    severity: Severity


class FaultsAnswer(Answer, frozen=True, tag="faults"):
    """Every fault of garments at a shape.

    Attributes:
        figures: By garment, by fault.
        severity: The worst of each garment.
        places: By garment, where the faults sit, the gravest first.
        girths: By garment, by tape level: its ease at the base and on this shape.
        ms: What it took, ms.
    """

    figures: dict[str, dict[FaultName, FigureAnswer]]
    severity: dict[str, Severity]
    places: dict[str, tuple[Place, ...]]
    girths: dict[str, dict[str, StoredGirth]]
    ms: NonNegative


class LayerAnswer(Answer, frozen=True, tag="layer"):
    """One layer that no shape changes.

    Attributes:
        layer: Name of the layer.
        garment: Key of the garment.
    """

    layer: str
    garment: str


class ComparedFault(Struct, frozen=True):
    """One fault of two garments.

    Attributes:
        fault: Which fault.
        fault_words: What a person reads for it.
        unit: Unit of the values.
        first: Value of the first garment; none where its cloth is too coarse to tell.
        second: Value of the second, likewise.
        severities: How bad each is.
    """

    fault: FaultName
    fault_words: str
    unit: str
    first: float | None
    second: float | None
    severities: tuple[Severity, Severity]


class Moved(Struct, frozen=True):
    """How far two garments lie apart, vertex by vertex.

    Attributes:
        largest: Farthest, mm.
        rms: Root mean square, mm.
    """

    largest: NonNegative
    rms: NonNegative


class CompareAnswer(Answer, frozen=True, tag="compare"):
    """Two garments at one shape.

    Attributes:
        rows: One per fault.
        moved_mm: How far one lies from the other, mm; null where their meshes differ.
    """

    rows: tuple[ComparedFault, ...]
    moved_mm: Moved | None


class MeasureRow(Struct, frozen=True):
    """One tape measure.

    Attributes:
        name: Name of the measure.
        definition: The standard and the number in it.
        mm: What the tape reads, mm; null where it cannot be taken.
        height_mm: Height of the tape above the soles, mm; null for a length.
        note: What must be known about it, or why there is no value.
    """

    name: str
    definition: str
    mm: float | None
    height_mm: float | None
    note: str


class MeasuresAnswer(Answer, frozen=True, tag="measures"):
    """Every tape measure of a shape.

    Attributes:
        rows: One per measure.
    """

    rows: tuple[MeasureRow, ...]


class TapeRow(Struct, frozen=True):
    """One measure that a shape was looked for by.

    Attributes:
        name: Name of the measure.
        asked_mm: What the tape should read, mm.
        got_mm: What it reads, mm; null where it cannot be taken.
        missed_mm: The difference, mm; null where it cannot be taken.
        met: Whether that is near enough.
        note: What must be known about it.
    """

    name: str
    asked_mm: float
    got_mm: float | None
    missed_mm: float | None
    met: bool
    note: str


class TapeAnswer(Answer, frozen=True, tag="tape"):
    """The reachable shape nearest to what a tape should read.

    Attributes:
        weights: One per slider.
        label: The shape in words.
        met: Whether every measure is near enough.
        rows: One per measure.
    """

    weights: tuple[float, ...]
    label: str
    met: bool
    rows: tuple[TapeRow, ...]


class PoseAnswer(Answer, frozen=True, tag="pose"):
    """The moments of an animation.

    Attributes:
        joints: Names of the joints.
        name: Name of the animation, or empty.
        duration_s: How long it lasts, seconds.
        times: Its key frames, seconds.
    """

    joints: tuple[str, ...]
    name: str = ""
    duration_s: NonNegative = 0.0
    times: tuple[float, ...] = ()


class FitAnswer(Answer, frozen=True, tag="fit"):
    """Another version of a garment is there.

    Attributes:
        garment: Its key.
    """

    garment: str


class EditAnswer(Answer, frozen=True, tag="edit"):
    """A garment follows differently now.

    Attributes:
        garment: Its key.
        settings: How it follows now.
    """

    garment: str
    settings: SettingsAbout


class SaveAnswer(Answer, frozen=True, tag="save"):
    """The settings are saved.

    Attributes:
        file: Name of the settings file.
        files: Names of all files that were written, it first.
    """

    file: str
    files: tuple[str, ...]


class CaseAnswer(Answer, frozen=True, tag="case"):
    """A case is saved.

    Attributes:
        file: Name of its file.
    """

    file: str


class ExportAnswer(Answer, frozen=True, tag="export"):
    """A file is exported.

    Attributes:
        file: Its name.
        notes: What must be known about it.
    """

    file: str
    notes: tuple[str, ...]


class CheckAnswer(Answer, frozen=True, tag="check"):
    """The whole range is checked."""


class CancelAnswer(Answer, frozen=True, tag="cancel"):
    """A request is cancelled.

    Attributes:
        of: Its id.
        done: Whether there was something to cancel.
    """

    of: Count
    done: bool


class DroppedAnswer(Answer, frozen=True, tag="dropped"):
    """A newer request of the same sort took its place, or it was cancelled."""


class ErrorAnswer(Answer, frozen=True, tag="error"):
    """A request was not done.

    Attributes:
        words: Why, for a person.
    """

    words: str


class ProgressAnswer(Answer, frozen=True, tag="progress"):
    """How far a request has come; the answer follows.

    Attributes:
        done: How much is done,
        of: of how much; 0 where nobody knows.
        words: What is being done.
    """

    done: Count
    of: Count
    words: str


def answer_pack(answer: Answer, arrays: Mapping[str, np.ndarray | Coarse] | None = None) -> bytes:
    """An answer with its arrays as the bytes that go over the socket."""
    return write_pack(plain(answer), arrays or {})
