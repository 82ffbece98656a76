from pathlib import Path

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFont

from dressform.causes.action import Effect, Tried
from dressform.causes.actions.words import effect_words
from dressform.errors import FileError
from dressform.faults.registry import ALL_FAULTS
from dressform.report.pictures.colours import Scale
from dressform.report.pictures.picture import below, beside, drawable, legend, lettered, ringed, save_png


def flat(height: int, width: int, value: int = 120) -> np.ndarray:
    return np.full((height, width, 3), value, dtype=np.uint8)


def test_a_saved_picture_reads_back_pixel_for_pixel(tmp_path: Path) -> None:
    image = np.random.default_rng(1).integers(0, 256, (30, 40, 3)).astype(np.uint8)
    save_png(image, tmp_path / "a.png")
    np.testing.assert_array_equal(np.asarray(Image.open(tmp_path / "a.png")), image)


def test_pictures_beside_and_below_each_other_keep_their_pixels() -> None:
    row = beside([flat(20, 30, 10), flat(20, 40, 20)], gap=4)
    assert row.shape == (20, 74, 3)
    assert np.all(row[:, :30] == 10)
    assert np.all(row[:, 34:] == 20)
    column = below([flat(20, 30, 10), flat(10, 50, 20)], gap=4)
    assert column.shape == (34, 50, 3)
    assert np.all(column[:20, :30] == 10)
    assert np.all(column[24:] == 20)


def test_a_title_stands_above_and_text_below_without_touching_the_picture() -> None:
    image = lettered(flat(50, 300), "guernsey", ["skin shows, 12 cm² at the belly"])
    rows = np.flatnonzero(np.all(image == 120, axis=(1, 2)))
    np.testing.assert_array_equal(np.diff(rows), 1)
    assert len(rows) == 50
    assert image[: rows[0]].min() < 100
    assert image[rows[-1] + 1 :].min() < 100


def test_a_long_line_is_wrapped_not_cut() -> None:
    short, long = (lettered(flat(10, 300), "a", [" ".join(["word"] * count)]) for count in (2, 40))
    assert long.shape[0] > short.shape[0] + 60
    assert np.all(long[:, -4:] > 100)


def test_the_legend_shows_the_colours_of_its_scale_from_left_to_right() -> None:
    scale = Scale(0.0, 4.0)
    strip = legend(scale, "depth", "mm", width=500)
    ends = np.round(255 * scale.colours(np.array([0.0, 4.0]))).astype(int)
    row = strip[12].astype(int)
    assert np.any(np.all(np.abs(row - ends[0]) <= 1, axis=1))
    assert np.any(np.all(np.abs(row - ends[1]) <= 1, axis=1))
    assert strip.shape[1] == 500


def test_rings_are_drawn_round_places_inside_the_picture_only() -> None:
    image = flat(100, 100, 200)
    assert np.array_equal(ringed(image, [(1, np.array([500.0, 50.0]))]), image)
    changed = np.any(ringed(image, [(1, np.array([50.0, 50.0]))]) != 200, axis=2)
    assert not changed[50, 50]
    assert changed[50, 34:37].any()
    assert changed[50, 63:67].any()


def test_a_picture_that_cannot_be_written_is_one_of_our_errors_and_leaves_what_was_there(tmp_path: Path) -> None:
    image = np.zeros((2, 3, 3), dtype=np.uint8)
    save_png(image, tmp_path / "a.png")
    with pytest.raises(FileError, match="cannot be written"):
        save_png(image, tmp_path / "a.png" / "b.png")
    assert [path.name for path in tmp_path.iterdir()] == ["a.png"]


BOX = bytes(ImageFont.load_default(17).getmask("\uffff"))


def drawn_texts(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What is handed to the font from now on."""
    texts: list[str] = []
    draw = ImageDraw.ImageDraw.text

    def kept(self: ImageDraw.ImageDraw, place: object, text: str, *args: object, **options: object) -> None:
        texts.append(text)
        draw(self, place, text, *args, **options)  # type: ignore[arg-type]

    monkeypatch.setattr(ImageDraw.ImageDraw, "text", kept)
    return texts


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=30)
@given(name=st.text(max_size=12))
def test_no_text_of_a_picture_has_a_letter_that_its_font_lacks(name: str) -> None:
    effects = tuple(Effect(one.key, 2.0, 0.0, one.unit) for one in ALL_FAULTS)
    words = effect_words(Tried("let it out", "the garment", (), effects, (), True, 1.0))
    with pytest.MonkeyPatch.context() as monkeypatch:
        texts = drawn_texts(monkeypatch)
        lettered(flat(4, 900), f"guernsey {name} at worst 1 (belly=1 …)", [words, "−2 ≥ 3 — 5 × 4 ‱"])
        legend(Scale(-1.0, 1.0), words, "‱", width=900)
        ringed(flat(90, 90), [(name, np.array([40.0, 40.0]))])
    letters = {letter for text in texts for letter in text if letter != " "}
    assert len(letters) > 20
    assert not [letter for letter in letters if bytes(ImageFont.load_default(17).getmask(letter)) == BOX]


def test_signs_are_spelt_and_accents_left_out() -> None:
    assert drawable("76 → 43 ‱, −2 mm, Größe, 88 cm²") == "76 to 43 per 10,000, -2 mm, Gro?e, 88 cm²"
