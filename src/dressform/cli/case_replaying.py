"""A case measured again: whether it is still wrong, what to know of its files, then and now side by side."""

import io
from dataclasses import dataclass

import numpy as np
from PIL import Image as PillowImage
from PIL import UnidentifiedImageError

from dressform.cli.case_files import FoundCaseFile
from dressform.cli.case_tables import place_words
from dressform.errors import ArgumentError
from dressform.faults.registry import is_on_body
from dressform.faults.results import SEVERITIES, Place
from dressform.formats.case_file import Case
from dressform.formats.load import garment_file_of
from dressform.jobs.seeing import PICTURE_SIZE, Seen, picture_of, places_there, still_wrong, view_of
from dressform.report.pictures.looks import look_of
from dressform.report.pictures.picture import beside, lettered
from dressform.report.pictures.raster import Image

MAX_PIXELS = 40_000_000
"""A saved picture with more is not decoded."""


@dataclass(frozen=True)
class Replayed:
    """A case measured again.

    Attributes:
        case: The case.
        seen: The garment today.
        same_body: Whether the body's file is the one that the case was saved with.
        same_garment: Whether the garment's file is.
    """

    case: Case
    seen: Seen
    same_body: bool
    same_garment: bool

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
        return places_there(self.seen, self.case.place, same_mesh=self.same_body if on_body else self.same_garment)

    @property
    def verdict(self) -> list[str]:
        """What a person reads last, line by line."""
        place = self.case.place
        if place is None:
            return [f"{'Something' if self.wrong else 'Nothing'} is moderate or grave at this shape."]
        worst = self.worst_there
        found = "nothing is wrong there" if worst is None else place_words(worst)
        return [f"then: {place_words(place)}", f"now: {found}", "Still wrong." if self.wrong else "Cured."]


def cautions(replayed: Replayed, body: FoundCaseFile, garment: FoundCaseFile) -> list[str]:
    """What a reader must know of the files."""
    said = []
    for found, what in ((body, "body"), (garment, "garment")):
        if not found.same:
            said.append(f"The {what} is not the file that the case was saved with: {found.path} has another content.")
        elif found.moved:
            said.append(f"The {what} was found at {found.path}.")
    if replayed.case.pose is not None:
        said.append("Faults are measured in the pose in which the body was modelled; the picture is posed.")
    if replayed.case.others:
        names = ", ".join(one.source.name for one in replayed.case.others)
        said.append(f"It was worn with {names}, which are left out.")
    return said


def then_and_now(replayed: Replayed) -> Image:
    """The picture of the case beside the same view today."""
    case, seen = replayed.case, replayed.seen
    camera = view_of(seen, case.view)
    shown = "" if case.view is None else case.view.layer
    fault = case.place.fault if case.place is not None and case.place.fault else shown
    image = picture_of(
        seen, camera, look_of(garment_file_of(seen.fit.garment)), fault=fault, pose=case.pose, ring=replayed.worst_there
    )
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
