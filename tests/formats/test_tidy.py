"""Untidy bodies: accepted with a note, refused only where inside cannot be told."""

from pathlib import Path

import numpy as np
import pytest

from dressform.errors import FileError
from dressform.formats.tidy import tidy_body
from solids import capped_tube

HERE = Path("keeper.glb")


def body() -> tuple[np.ndarray, np.ndarray]:
    return capped_tube(height=1.7, radius=0.2)


def test_tidy_body_has_no_notes() -> None:
    vertices, faces = body()
    found, notes = tidy_body(HERE, vertices, faces)
    assert notes == ()
    np.testing.assert_array_equal(found, faces)


def test_body_inside_out_is_turned_and_said() -> None:
    vertices, faces = body()
    found, notes = tidy_body(HERE, vertices, faces[:, ::-1].copy())
    assert notes == ("The whole mesh was inside out; it was turned.",)
    np.testing.assert_array_equal(found, faces)


def test_eyes_nails_holes_flips_and_repeats_are_accepted_with_notes() -> None:
    vertices, faces = body()
    eye = 0.05 * vertices + np.array([0.0, 1.5, 0.1])
    both = np.concatenate([vertices, eye])
    untidy = np.concatenate([faces[1:], faces + len(vertices), faces[5:6]])
    untidy[3] = untidy[3, ::-1]
    _, notes = tidy_body(HERE, both, untidy)
    said = " ".join(notes)
    for words in ("separate pieces", "open along", "opposite ways", "repeats 1 triangle"):
        assert words in said


def test_sheet_is_refused_as_it_has_no_inside() -> None:
    x, y = np.meshgrid(np.linspace(0, 1, 9), np.linspace(0, 1.7, 9), indexing="ij")
    vertices = np.stack([x.ravel(), y.ravel(), np.zeros(81)], axis=1)
    corner = (np.arange(8)[:, None] * 9 + np.arange(8)).ravel()
    faces = np.concatenate(
        [np.stack([corner, corner + 9, corner + 10], axis=1), np.stack([corner, corner + 10, corner + 1], axis=1)]
    )
    with pytest.raises(FileError, match="inside and outside cannot be told for 100% of its surface: It is open along"):
        tidy_body(HERE, vertices, faces)


def test_body_turned_both_ways_is_refused() -> None:
    vertices, faces = body()
    mixed = faces.copy()
    mixed[::2] = mixed[::2, ::-1]
    with pytest.raises(FileError, match=r"cannot be told for .*Close its surface and turn its triangles outward"):
        tidy_body(HERE, vertices, mixed)
