"""A saved complaint: which garment, on which body, at which shape, seen from where, and what was wrong.

A case is a JSON file, `dressform-case/2`. It holds no mesh: garment and body are named with the hash of their content,
so that whoever replays it knows whether they are still the same files.
"""

import base64
import binascii
from pathlib import Path
from typing import Annotated, Any

import msgspec
import numpy as np
from jaxtyping import Float

from dressform.errors import ArgumentError, FileError
from dressform.faults.results import SEVERITIES, Number, Place, Point
from dressform.formats.atomic import write_bytes
from dressform.formats.following_file import FollowingEntry
from dressform.formats.guards.limits import read_bytes
from dressform.garment.following import Following

CASE_FORMAT = "dressform-case/2"
CASE_SUFFIX = ".case.json"
MAX_CASE_BYTES = 64 * 1024**2
MAX_PICTURE_BYTES = 16 * 1024**2
MAX_NOTE = 20_000
ANOTHER = "Name a file that `dressform show` or `dressform case save` wrote"
PNG_START = b"\x89PNG\r\n\x1a\n"

Text = Annotated[str, msgspec.Meta(max_length=500)]
Words = Annotated[str, msgspec.Meta(max_length=MAX_NOTE)]
Turn = tuple[Number, Number, Number, Number]


class _Part(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    pass


class CaseFile(_Part, frozen=True):
    """A file that a case is about.

    Attributes:
        name: Name of the garment, or of the base body.
        file: Path as it was given.
        sha256: Hash of its content.
    """

    name: Text
    file: Annotated[str, msgspec.Meta(max_length=4096)]
    sha256: Annotated[str, msgspec.Meta(pattern="^[0-9a-f]{64}$")]


class CaseGarment(_Part, frozen=True):
    """A garment and how it followed.

    Attributes:
        source: Its file.
        entry: How it followed, as files hold it; see `following`.
        repaired: Whether it was repaired over the whole range.
    """

    source: CaseFile
    entry: FollowingEntry = msgspec.field(default=FollowingEntry(), name="following")
    repaired: bool = False

    @classmethod
    def of(cls, source: CaseFile, following: Following, *, repaired: bool = False) -> "CaseGarment":
        """A garment and how it follows; a painted strength goes into the case itself."""
        paint = None
        if isinstance(following.mask, np.ndarray):
            paint = base64.b64encode(following.mask.astype("<f4").tobytes()).decode()
        return cls(source, FollowingEntry.of(following, paint), repaired)

    @property
    def following(self) -> Following:
        """How it followed."""
        return self.entry.following(self._painted())

    def _painted(self) -> Float[np.ndarray, " G"] | None:
        if not self.entry.painted:
            return None
        return np.frombuffer(base64.b64decode(self.entry.painted), dtype="<f4").astype(np.float64)


class CaseShape(_Part, frozen=True):
    """The shape.

    Attributes:
        label: As a person reads it.
        weights: Weight of each morph that is not 0.
    """

    label: Annotated[str, msgspec.Meta(max_length=4096)]
    weights: dict[str, Number]


class CasePose(_Part, frozen=True):
    """The pose: a moment of an animation, or joints turned from rest; and sliders that move joints.

    Attributes:
        animation: Name of the animation, or empty.
        time_s: Moment of it, seconds.
        turns: Unit quaternion x, y, z, w by joint.
        sliders: Values of sliders that move joints; those at 0 are left out.
    """

    animation: Text = ""
    time_s: Number = 0.0
    turns: dict[str, Turn] = {}
    sliders: dict[str, Number] = {}


class CaseView(_Part, frozen=True):
    """Where the camera was.

    Attributes:
        position_m: Where it stood, metres.
        target_m: What it looked at, metres.
        up: Direction that is up in the picture.
        height_m: What the picture shows from top to bottom at the target, metres; 0 where not known.
        layer: Which layer of faults was shown, or empty.
    """

    position_m: Point
    target_m: Point
    up: Point = (0.0, 1.0, 0.0)
    height_m: Annotated[float, msgspec.Meta(ge=0.0, le=1e6)] = 0.0
    layer: Text = ""


class CaseFault(_Part, frozen=True):
    """One fault of the garment at the shape.

    Attributes:
        value: How much, in `unit`.
        unit: Unit that people read.
        severity: How bad.
    """

    value: Number
    unit: Text
    severity: Text


class CaseComplaint(_Part, frozen=True):
    """What somebody said of a garment elsewhere, as it was read from a list of complaints.

    Attributes:
        source: Name of the list that it was read from.
        line: Line of it that the complaint begins in; 0 where not known.
        where: The place in the person's words.
        stance: How the body stood, in the person's words.
        tape_cm: What a tape reads on the body, cm by measure; the shape was looked for by them.
        said: When it was said, in the words of the list.
        who: Who said it. Reports leave it out unless asked.
        link: Where it was said. Reports leave it out unless asked.
        others: Columns of the list that this program does not know, by name. Reports leave them out.
    """

    source: Text = ""
    line: Annotated[int, msgspec.Meta(ge=0, le=2**31)] = 0
    where: Words = ""
    stance: Text = ""
    tape_cm: dict[str, Number] = {}
    said: Text = ""
    who: Text = ""
    link: Annotated[str, msgspec.Meta(max_length=4096)] = ""
    others: dict[str, Words] = {}


class Case(_Part, frozen=True, tag_field="format", tag=CASE_FORMAT):
    """A complaint.

    Attributes:
        format: Name and version of this format.
        garment: The garment complained about.
        body: The body; its name is that of the base body.
        shape: The shape, or None where the person did not say: then it is looked for over the whole range.
        made: When it was saved, ISO 8601 with its time zone.
        versions: Version of this program and of what it computes with.
        pose: The pose, or None for the one in which the body was modelled.
        view: The camera, or None.
        place: The place that is complained about, or None.
        cause: Cause that was found there, or empty.
        owner: To whom that cause belongs, or empty.
        faults: Every fault of the garment at the shape, by name.
        others: Garments that were worn with it.
        note: What the person says.
        picture: PNG in base64, or empty.
        complaint: What a list of complaints said beside, or None where the case was saved here.
    """

    garment: CaseGarment
    body: CaseFile
    shape: CaseShape | None
    made: Text
    versions: dict[str, Text] = {}
    pose: CasePose | None = None
    view: CaseView | None = None
    place: Place | None = None
    cause: Text = ""
    owner: Text = ""
    faults: dict[str, CaseFault] = {}
    others: tuple[CaseGarment, ...] = ()
    note: Words = ""
    picture: str = ""
    complaint: CaseComplaint | None = None

    @property
    def severity(self) -> str:
        """How bad the worst fault is; clean where none was measured."""
        known = [SEVERITIES.index(one.severity) for one in self.faults.values() if one.severity in SEVERITIES]
        return SEVERITIES[max(known, default=0)]

    @property
    def png(self) -> bytes:
        """The picture's bytes; empty where there is none."""
        return base64.b64decode(self.picture)


def picture_text(png: bytes) -> str:
    """A PNG as a case holds it.

    Raises:
        ArgumentError: the bytes are no PNG, or more than `MAX_PICTURE_BYTES`.
    """
    if not png.startswith(PNG_START):
        raise ArgumentError.of("picture_text", "png", "a PNG", f"{png[:8]!r}", "Draw the picture as PNG")
    if len(png) > MAX_PICTURE_BYTES:
        rule = f"at most {MAX_PICTURE_BYTES:,} bytes"
        raise ArgumentError.of("picture_text", "png", rule, f"{len(png):,}", "Draw a smaller picture")
    return base64.b64encode(png).decode()


def write_case(path: Path, case: Case) -> None:
    """Write a case whole or not at all.

    Raises:
        FileError: the file cannot be written.
        ArgumentError: see `case_bytes`.
    """
    write_bytes(path, case_bytes(case))


def case_bytes(case: Case) -> bytes:
    """A case as the JSON text of its file.

    Raises:
        ArgumentError: a number or a text is outside its interval, so that the file could not be read again.
    """
    text = msgspec.json.encode(case)
    try:
        msgspec.json.decode(text, type=Case)
    except msgspec.ValidationError as problem:
        words = str(problem).replace("`", "")
        raise ArgumentError.of("case_bytes", "case", "as `read_case` takes it", words, "Correct it") from None
    return msgspec.json.format(text, indent=1) + b"\n"


def read_case(path: Path) -> Case:
    """Read a case.

    Raises:
        FileError: missing, too large, no JSON, another format, an unknown or missing field, a value of another type or
            outside its interval, a picture that is no PNG, or paint that is no list of numbers from 0 to 1; the file,
            the field and the next step are named.

    Proof: tests/formats/test_case_file.py
    """
    try:
        text = read_bytes(path, most=MAX_CASE_BYTES).decode("utf-8")
    except UnicodeDecodeError as problem:
        raise FileError.of(path, "", f"is not JSON: {problem}", ANOTHER) from None
    _refuse_other_format(path, text)
    try:
        case = msgspec.json.decode(text, type=Case)
    except msgspec.ValidationError as problem:
        words, _, where = str(problem).partition(" - at `$")
        place = where.rstrip("`").lstrip(".")
        raise FileError.of(path, place, words.replace("`", ""), "Save the case again, or correct this field") from None
    except (msgspec.DecodeError, RecursionError) as problem:
        raise FileError.of(path, "", f"is not JSON: {problem}", ANOTHER) from None
    _refuse_bad_picture(path, case.picture)
    for index, garment in enumerate((case.garment, *case.others)):
        _refuse_bad_following(path, "garment" if index == 0 else f"others[{index - 1}]", garment)
    return case


class _Head(msgspec.Struct):
    format: Any = None


def _refuse_other_format(path: Path, text: str) -> None:
    try:
        found = msgspec.json.decode(text, type=_Head).format
    except (msgspec.DecodeError, RecursionError) as problem:
        words = "is no JSON object" if isinstance(problem, msgspec.ValidationError) else f"is not JSON: {problem}"
        raise FileError.of(path, "", words, ANOTHER) from None
    if found != CASE_FORMAT:
        advice = f"This program reads {CASE_FORMAT}; save the case again with it"
        raise FileError.of(path, "format", f"is {str(found)[:80]!r}", advice)


def _refuse_bad_picture(path: Path, picture: str) -> None:
    if not picture:
        return
    try:
        png = base64.b64decode(picture, validate=True)
    except (binascii.Error, ValueError):
        raise FileError.of(path, "picture", "is not base64", "Leave it out, or save the case again") from None
    if not png.startswith(PNG_START):
        raise FileError.of(path, "picture", "is no PNG", "Leave it out, or save the case again")
    if len(png) > MAX_PICTURE_BYTES:
        problem = f"has {len(png):,} bytes, more than the {MAX_PICTURE_BYTES:,} read"
        raise FileError.of(path, "picture", problem, "Leave it out, or save a smaller one")


def _refuse_bad_following(path: Path, key: str, garment: CaseGarment) -> None:
    garment.entry.refuse_unknown(path, f"{key}.following")
    place = f"{key}.following.painted"
    try:
        base64.b64decode(garment.entry.painted, validate=True)
        paint = garment._painted()
    except (binascii.Error, ValueError):
        problem = "is not base64 of 32-bit floats"
        raise FileError.of(path, place, problem, "Leave it out, or save the case again") from None
    if paint is not None and not ((paint >= 0.0) & (paint <= 1.0)).all():
        raise FileError.of(path, place, "holds numbers outside [0, 1]", "Leave it out, or save the case again")
