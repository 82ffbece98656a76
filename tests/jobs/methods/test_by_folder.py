"""A folder of meshes as a method: looked at where it was baked, and everywhere where that tells that it is linear."""

from pathlib import Path

import numpy as np
import pytest

import dressform as df
from dressform.body.shapes import ShapeSettings
from dressform.errors import ArgumentError
from dressform.fit.shaped import ShapedFit
from dressform.sweep.run import choose_shapes
from phantoms import phantom_body, phantom_files, phantom_tube, write_obj


def baked(folder: Path, amounts: dict[str, float]) -> df.Fit:
    """The tube's fit by a folder in which each mesh, of a name and a belly, is raised by its amount, metres."""
    body, tube = phantom_files(folder)
    garment = df.load_garment(tube)
    stored = garment.source.stored
    lines = ["mesh,belly,girth,tall"]
    for name, amount in amounts.items():
        write_obj(
            folder / "tube" / f"{name.replace(',', '_')}.obj",
            stored.vertices + np.array([0.0, amount, 0.0]),
            stored.faces,
        )
        lines.append(f"{name.replace(',', '_')}.obj,{name}")
    (folder / "tube" / "shapes.csv").write_text("\n".join(lines), encoding="utf-8")
    return df.fit(df.load_body(body), garment, df.Following(method=f"folder:{folder}"))


def test_a_bent_one_is_looked_at_where_it_was_baked_alone(tmp_path: Path) -> None:
    fit = baked(tmp_path, {"0.5,0,0": 0.01, "1,0,0": 0.1, "0,1,0": 0.0, "0,0,1": 0.0})
    assert isinstance(fit, ShapedFit)
    assert np.allclose(fit.at({"belly": 1.0}) - fit.base, [0.0, 0.1, 0.0], atol=1e-8)
    assert any("known at 5 shapes. It is no linear function of the weights" in note for note in fit.garment.notes)
    chosen = choose_shapes({"": fit}, settings=ShapeSettings(sobol=4))[""]
    assert [shape.label for shape in chosen] == ["base", "belly=0.5", "belly=1", "girth=1", "tall=1"]


def test_one_that_is_linear_at_enough_shapes_is_a_plain_fit(tmp_path: Path) -> None:
    fit = baked(tmp_path, {"0.5,0,0": 0.05, "1,0,0": 0.1, "0,1,0": 0.0, "0,0,1": 0.0})
    assert fit.is_linear
    assert np.allclose(fit.deltas[0], [0.0, 0.1, 0.0], atol=1e-7)


def test_too_few_meshes_tell_nothing_of_a_departure(tmp_path: Path) -> None:
    fit = baked(tmp_path, {"1,0,0": 0.1})
    assert any("too few to tell how far the best targets would depart" in note for note in fit.garment.notes)


def test_a_garment_made_in_memory_has_no_folder() -> None:
    with pytest.raises(ArgumentError, match=r"`following.method` must be of a garment that was read from a file"):
        df.fit(phantom_body(), phantom_tube(), df.Following(method="folder:baked"))
