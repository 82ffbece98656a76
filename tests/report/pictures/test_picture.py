from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from dressform.errors import FileError
from dressform.report.pictures.colours import Scale
from dressform.report.pictures.picture import below, beside, legend, lettered, ringed, save_png


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
    with pytest.raises(FileError, match="cannot be written"):
        save_png(image, tmp_path / "no such folder" / "a.png")
    save_png(image, tmp_path / "a.png")
    assert [path.name for path in tmp_path.iterdir()] == ["a.png"]
