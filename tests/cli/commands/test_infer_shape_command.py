"""`dressform infer-shape` says which shape a garment was modelled on."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from phantoms import phantom_body, write_obj

Run = Callable[..., Any]


def _cloth(folder: Path, name: str, belly: float) -> Path:
    """Cloth 15 mm off the middle of the phantom with a belly."""
    body = phantom_body()
    shape = body.at(body.weights({"belly": belly}))
    away = shape * [1.0, 0.0, 1.0]
    away /= ((away**2).sum(axis=1, keepdims=True) ** 0.5).clip(1e-9)
    inside = (body.vertices[:, 1] > 0.6) & (body.vertices[:, 1] < 1.35)
    faces = body.faces[inside[body.faces].all(axis=1)]
    return write_obj(folder / f"{name}.obj", shape + 0.015 * away, faces)


def test_a_garment_for_the_base_is_fine_and_one_for_a_belly_is_told(
    phantom: Path, tmp_path: Path, dressform: Run
) -> None:
    fine, custom = _cloth(tmp_path, "fine", 0.0), _cloth(tmp_path, "custom", 0.8)
    kept = tmp_path / "shapes.json"
    body = phantom / "phantom.obj"
    assert dressform("infer-shape", fine, "--body", body, "--units", "m").code == 0
    ended = dressform("infer-shape", fine, custom, "--body", body, "--units", "m", "--json", kept)
    assert ended.code == 1, ended.err
    document = json.loads(kept.read_text(encoding="utf-8"))
    assert document["schema"] == "dressform-inferred-shape/1"
    first, second = document["garments"]
    assert first["verdict"] == "fine"
    assert second["verdict"] == "modelled on another body shape"
    assert second["weights"]["belly"]["likeliest"] == pytest.approx(0.8, abs=0.1)
    assert not first["weights"]["tall"]["told"]
    assert "the garment says nothing of it" in ended.out


def test_a_garment_that_is_not_there_is_refused(phantom: Path, tmp_path: Path, dressform: Run) -> None:
    ended = dressform("infer-shape", tmp_path / "none.obj", "--body", phantom / "phantom.obj")
    assert ended.code == 2
    assert "none.obj" in ended.err
