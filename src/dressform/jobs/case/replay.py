"""Replaying: a case measured again, whether it is still wrong, then and now side by side."""

import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from PIL import Image as PillowImage
from PIL import UnidentifiedImageError

from dressform.body.body import Body
from dressform.calls import called
from dressform.errors import ArgumentError, FileError
from dressform.faults.registry import is_on_body
from dressform.faults.results import SEVERITIES, Place
from dressform.formats.case_file import Case, read_case
from dressform.formats.frames.units import AxisOptions
from dressform.formats.load import ReadOptions, garment_file_of
from dressform.formats.masks import STRENGTH_ATTRIBUTE
from dressform.garment.following import for_garment
from dressform.jobs.case.files import FoundCaseFile, find_file
from dressform.jobs.case.seeing import (
    PICTURE_SIZE,
    Seen,
    case_faults,
    case_stance,
    picture_of,
    places_there,
    see,
    still_wrong,
    view_of,
)
from dressform.jobs.fit import fit
from dressform.jobs.load import load_bodies, load_body, load_garment
from dressform.jobs.repair import repair
from dressform.report.pictures.looks import look_of
from dressform.report.pictures.picture import beside, lettered
from dressform.report.pictures.raster import Image
from dressform.report.tables.cases import faults_table, place_words
from dressform.report.tables.text import table_text

MAX_PIXELS = 40_000_000
"""A saved picture with more is not decoded."""


@dataclass(frozen=True, repr=False)
class Replayed:
    """A case measured again.

    Attributes:
        case: The case.
        seen: The garment today.
        body_file: The body's file as it was found, and whether it is the one that the case was saved with.
        garment_file: The same of the garment's.
    """

    case: Case
    seen: Seen
    body_file: FoundCaseFile
    garment_file: FoundCaseFile

    @property
    def wrong(self) -> bool:
        """Whether it is still wrong at the place of the case; where it names none, anywhere."""
        place = self.case.place
        if place is None:
            return still_wrong("", self.seen.faults.severity)
        return any(still_wrong(place.severity, one.severity) for one in self._there)

    @property
    def worst_there(self) -> Place | None:
        """The gravest place of the case's fault at the case's place, or None."""
        return max(self._there, key=lambda one: SEVERITIES.index(one.severity), default=None)

    @property
    def _there(self) -> list[Place]:
        if self.case.place is None:
            return []
        on_body = is_on_body(self.case.place.fault)
        return places_there(
            self.seen, self.case.place, same_mesh=(self.body_file if on_body else self.garment_file).same
        )

    @property
    def verdict(self) -> list[str]:
        """What a person reads last, line by line."""
        place = self.case.place
        if place is None:
            return []
        worst = self.worst_there
        found = "nothing is wrong there" if worst is None else place_words(worst)
        return [f"then: {place_words(place)}", f"now: {found}"]

    @property
    def line(self) -> str:
        """The outcome in one sentence."""
        if self.case.place is None:
            return f"{'Something' if self.wrong else 'Nothing'} is moderate or grave at this shape."
        return "Still wrong." if self.wrong else "Cured."

    @property
    def cautions(self) -> list[str]:
        """What a reader must know of the files."""
        said = []
        for found, what in ((self.body_file, "body"), (self.garment_file, "garment")):
            if not found.same:
                said.append(
                    f"The {what} is not the file that the case was saved with: {found.path} has another content."
                )
            elif found.moved:
                said.append(f"The {what} was found at {found.path}.")
        if self.case.pose is not None:
            said.append("Faults are measured in the pose of the case; older cases hold those of the modelled pose.")
        if self.case.others:
            names = ", ".join(one.source.name for one in self.case.others)
            said.append(f"It was worn with {names}, which are left out.")
        return said

    def __str__(self) -> str:
        case = self.case
        shape = "" if case.shape is None else f" at {case.shape.label}"
        head = f"{case.garment.source.name} on {case.body.name}{shape}, saved {case.made}"
        notes = [f"note: {caution}" for caution in self.cautions]
        table = table_text(faults_table(case.faults, case_faults(self.seen.faults)))
        said = [
            self.line,
            head,
            *(f"  {line}" for line in case.note.splitlines()),
            *notes,
            "",
            table,
            "",
            *self.verdict,
        ]
        return "\n".join(said).rstrip()

    def __repr__(self) -> str:
        return f"<Replayed {self.case.garment.source.name!r}: {'still wrong' if self.wrong else 'cured'}>"


@called("replay_case")
def replay_case(
    path: Path | str,
    *,
    body: Path | str | None = None,
    garment: Path | str | None = None,
    options: ReadOptions = ReadOptions(),  # noqa: B008  # frozen
    told: AxisOptions = AxisOptions(),  # noqa: B008
) -> Replayed:
    """Measure the garment of a case again at its shape, and say whether it is still wrong at its place.

    Args:
        path: The case.
        body: Body file to use instead of the one that the case names.
        garment: Garment file to use instead.
        options: How the body's file is read.
        told: Units and axes of the garment's file, where they are not those of the body's.

    Raises:
        FileError: the case cannot be read, holds no shape, or a file of it is nowhere.
        ArgumentError: the body lacks the base or a morph of the case.

    Proof: tests/cli/commands/test_case_command.py
    """
    path = Path(path)
    case = read_case(path)
    if case.shape is None:
        advice = "Say `dressform triage`, which looks for it over the whole range"
        raise FileError.of(path, "shape", "is not known, so there is nothing to replay", advice)
    found = {
        what: find_file(path, wanted, what, given=None if given is None else Path(given))
        for what, wanted, given in (("body", case.body, body), ("garment", case.garment.source, garment))
    }
    shape = _base_body(found["body"].path, options, case.body.name)
    weights, following = shape.weights(case.shape.weights), case.garment.following
    cloth = load_garment(
        found["garment"].path, beside=shape, units=told.units or options.units, up=told.up or options.up,
        mask=following.mask if isinstance(following.mask, str) else STRENGTH_ATTRIBUTE,
    )  # fmt: skip
    made = fit(shape, cloth, for_garment(following, cloth))
    seen = see(repair(made).fit if case.garment.repaired else made, weights, case_stance(shape, case.pose))
    return Replayed(case, seen, found["body"], found["garment"])


def _base_body(path: Path, options: ReadOptions, name: str) -> Body:
    """The base body of a case; where a file holds only one, that one.

    Raises:
        ArgumentError: the file holds several, and none of that name.
    """
    rest = {key: value for key, value in vars(options).items() if key != "base"}
    known = load_bodies(path, **rest) if options.base is None else (load_body(path, **vars(options)),)
    for one in known:
        if one.name == name:
            return one
    if len(known) > 1:
        names = ", ".join(one.name for one in known)
        raise ArgumentError.of("case replay", "base", f"one of {names}", repr(name), "Choose one")
    return known[0]


def then_and_now(replayed: Replayed) -> Image:
    """The picture of the case beside the same view today."""
    case, seen = replayed.case, replayed.seen
    camera = view_of(seen, case.view)
    shown = "" if case.view is None else case.view.layer
    fault = case.place.fault if case.place is not None and case.place.fault else shown
    image = picture_of(seen, camera, look_of(garment_file_of(seen.fit.garment)), fault=fault, ring=replayed.worst_there)
    panels = [lettered(image, f"now: {seen.faults.severity}")]
    if case.picture:
        panels.insert(0, lettered(_scaled(case.png), f"then, {case.made[:10]}"))
    return beside(panels)


def _scaled(png: bytes) -> Image:
    """The case's picture at the height of ours.

    Raises:
        ArgumentError: it cannot be decoded.
    """
    try:
        with PillowImage.open(io.BytesIO(png), formats=["PNG"]) as stored:
            if stored.width * stored.height > MAX_PIXELS:
                raise ValueError(f"{stored.width} × {stored.height} pixels are more than {MAX_PIXELS:,}")
            width = max(1, round(stored.width * PICTURE_SIZE[1] / stored.height))
            return np.asarray(stored.convert("RGB").resize((min(width, 4 * PICTURE_SIZE[0]), PICTURE_SIZE[1])))
    except (UnidentifiedImageError, OSError, ValueError, PillowImage.DecompressionBombError) as problem:
        advice = "Save the case again, or leave --picture out"
        raise ArgumentError.of("replay", "picture", "a PNG that can be decoded", str(problem), advice) from None
