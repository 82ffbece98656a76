"""Writes pictures as PNG files, joins them, and adds text and legends."""

import io
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from unicodedata import normalize

import numpy as np
from jaxtyping import Float
from PIL import Image as PillowImage
from PIL import ImageDraw, ImageFont

from dressform.formats.atomic import write_bytes
from dressform.report.pictures.colours import Scale
from dressform.report.pictures.raster import Image

FAST_COMPRESSION = 1  # about a tenth of the default level's time for a file a few per cent larger
INK = (38, 42, 48)
PAPER = (250, 250, 248)
MARGIN = 14
TEXT_SIZE = 17
TITLE_SIZE = 23
LEGEND_SIZE = (250, 18)
LEGEND_TICKS = 3
RING_RADIUS = 15
RAISED_TWO = "²"
UNKNOWN = "\uffff"  # no font has a glyph for it
SPELT = {"→": "to", "−": "-", "‱": "per 10,000", "–": "-", "—": "-", "…": "...", "≥": ">=", "≤": "<=", "×": "x"}
"""How signs are written that the built-in font may lack."""


def save_png(image: Image, path: Path) -> None:
    """Write an sRGB picture; it appears whole or not at all.

    Raises:
        FileError: the folder does not exist or cannot be written.
    """
    write_bytes(path, png_bytes(image))


def png_bytes(image: Image) -> bytes:
    """An sRGB picture as the content of a PNG file."""
    stream = io.BytesIO()
    PillowImage.fromarray(image).save(stream, format="PNG", compress_level=FAST_COMPRESSION)
    return stream.getvalue()


def beside(images: Sequence[Image], *, gap: int = 4) -> Image:
    """Pictures of one height in a row."""
    bar = np.full((images[0].shape[0], gap, 3), PAPER, dtype=np.uint8)
    pieces = [piece for image in images for piece in (image, bar)]
    return np.concatenate(pieces[:-1], axis=1)


def below(images: Sequence[Image], *, gap: int = 4) -> Image:
    """Pictures one under the other; narrower ones are filled up on the right."""
    width = max(image.shape[1] for image in images)
    bar = np.full((gap, width, 3), PAPER, dtype=np.uint8)
    filled = []
    for image in images:
        rest = np.full((image.shape[0], width - image.shape[1], 3), PAPER, dtype=np.uint8)
        filled += [np.concatenate([image, rest], axis=1), bar]
    return np.concatenate(filled[:-1], axis=0)


def lettered(image: Image, title: str, lines: Sequence[str] = ()) -> Image:
    """The picture under a title, with lines of text below it; long lines are wrapped to its width."""
    width = image.shape[1]
    head = _strip([title], width, TITLE_SIZE)
    foot = _strip([part for line in lines for part in _wrapped(line, width - 2 * MARGIN)], width, TEXT_SIZE)
    return np.concatenate([head, image, foot] if lines else [head, image], axis=0)


def legend(scale: Scale, words: str, unit: str, *, width: int) -> Image:
    """A bar of the scale's colours with its ends and middle in `unit`, and what it means."""
    font = ImageFont.load_default(TEXT_SIZE)
    strip = PillowImage.new("RGB", (width, LEGEND_SIZE[1] + TEXT_SIZE + 3 * MARGIN // 2), PAPER)
    pen = ImageDraw.Draw(strip)
    ramp = scale.colours(np.linspace(scale.low, scale.high, LEGEND_SIZE[0]))
    bar = np.broadcast_to(np.round(255 * ramp).astype(np.uint8), (LEGEND_SIZE[1], LEGEND_SIZE[0], 3))
    strip.paste(PillowImage.fromarray(np.ascontiguousarray(bar)), (MARGIN, MARGIN // 2))
    for share in np.linspace(0.0, 1.0, LEGEND_TICKS):
        place = MARGIN + share * LEGEND_SIZE[0]
        value = scale.low + share * (scale.high - scale.low)
        anchor = ("la", "ma", "ra")[round(2 * share)]
        pen.text((place, MARGIN // 2 + LEGEND_SIZE[1] + 2), _short(value), fill=INK, font=font, anchor=anchor)
    label = f"{words}, {unit}" if unit else words
    _write(pen, (2 * MARGIN + LEGEND_SIZE[0], MARGIN // 2), label, TEXT_SIZE)
    return np.asarray(strip)


def drawable(line: str) -> str:
    """A line in letters that the built-in font has.

    Signs are spelt and accents left out; letters of other scripts become question marks. ² stays: `_write` draws it.
    """
    return "".join(letter if letter == RAISED_TWO or has_glyph(letter) else _spelt(letter) for letter in line)


def _spelt(letter: str) -> str:
    bare = normalize("NFKD", letter)[:1]
    return SPELT.get(letter) or (bare if bare and has_glyph(bare) else "?")


@cache
def has_glyph(letter: str) -> bool:
    """Whether the built-in font draws a letter, rather than the box that stands for all that it lacks."""
    font = ImageFont.load_default(TEXT_SIZE)
    return letter == " " or bytes(font.getmask(letter)) != bytes(font.getmask(UNKNOWN))


def _short(value: float) -> str:
    """Two significant digits; digits before the decimal point are always kept."""
    return f"{value:.0f}" if abs(value) >= 10 else f"{value:.2g}"


def ringed(
    image: Image, places: Sequence[tuple[int | str, Float[np.ndarray, "2"]]], *, text_size: int = TEXT_SIZE
) -> Image:
    """The picture with named rings round places given in pixels (column, row); those outside are left out."""
    canvas = PillowImage.fromarray(image)
    pen = ImageDraw.Draw(canvas)
    font = ImageFont.load_default(text_size)
    height, width = image.shape[:2]
    for number, (x, y) in places:
        if not (0 <= x < width and 0 <= y < height):
            continue
        for radius, colour, line in ((RING_RADIUS + 1, (255, 255, 255), 5), (RING_RADIUS, INK, 2)):
            pen.ellipse((x - radius, y - radius, x + radius, y + radius), outline=colour, width=line)
        corner = (x + RING_RADIUS + 3, y - RING_RADIUS - 3)
        pen.text(
            corner, drawable(str(number)), fill=INK, font=font, anchor="lm", stroke_width=3, stroke_fill=(255, 255, 255)
        )
    return np.asarray(canvas)


def _strip(lines: Sequence[str], width: int, size: int) -> Image:
    """Lines of text on a blank strip."""
    step = round(1.35 * size)
    strip = PillowImage.new("RGB", (width, step * len(lines) + MARGIN), PAPER)
    pen = ImageDraw.Draw(strip)
    for index, line in enumerate(lines):
        _write(pen, (MARGIN, MARGIN // 2 + index * step), line, size)
    return np.asarray(strip)


def _write(pen: ImageDraw.ImageDraw, place: tuple[int, int], line: str, size: int) -> None:
    """Draw a line of text; the built-in font lacks ², so a small raised 2 is drawn."""
    line = drawable(line)
    font, small = ImageFont.load_default(size), ImageFont.load_default(0.62 * size)
    x, y = float(place[0]), place[1]
    for index, piece in enumerate(line.split(RAISED_TWO)):
        if index:
            pen.text((x, y), "2", fill=INK, font=small)
            x += small.getlength("2")
        pen.text((x, y), piece, fill=INK, font=font)
        x += font.getlength(piece)


def _wrapped(line: str, width: int) -> list[str]:
    """A line broken at spaces so that each piece fits."""
    font = ImageFont.load_default(TEXT_SIZE)
    pieces = [""]
    for word in drawable(line).split(" "):
        longer = f"{pieces[-1]} {word}".strip()
        if pieces[-1] and font.getlength(longer) > width:
            pieces.append(word)
        else:
            pieces[-1] = longer
    return pieces
