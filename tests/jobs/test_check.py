"""A check says what it found of every sound garment, and which were not."""

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import dressform as df
from dressform.body.shapes import ShapeSettings
from dressform.causes.explained_garment import ExplainedGarment
from dressform.errors import ArgumentError, DressformError, MeshError
from dressform.faults.severity import DEFAULT_BANDS
from dressform.formats.gltf.save import save_garment
from dressform.garment.following import DEFAULT_FOLLOWING, Following
from dressform.jobs import check_garments as check_garments_file
from dressform.jobs.check_garments import check_garments
from dressform.jobs.check_result import CheckResult
from dressform.jobs.load_garments import load_garments
from phantoms import phantom_body, phantom_tube

FEW = ShapeSettings(ends=False, strongest=0, sobol=0)


def fits() -> dict[str, df.Fit]:
    """Two tubes on one body."""
    body, garment = phantom_body(rings=24, sides=16), phantom_tube(rings=10, sides=12)
    return {name: df.fit(body, garment) for name in ("first", "second")}


def test_garment_that_fails_while_being_measured_is_told_and_the_others_go_on(monkeypatch: pytest.MonkeyPatch) -> None:
    pair, measure = fits(), ExplainedGarment.measure

    def failing(self: ExplainedGarment, weights: np.ndarray, stance: df.Stance | None = None) -> object:
        if self.fit is pair["second"]:
            raise MeshError("Its cloth cannot be measured.")
        return measure(self, weights, stance)

    whole = df.check(pair, shapes=FEW, causes=False)
    monkeypatch.setattr(ExplainedGarment, "measure", failing)
    found = df.check(pair, shapes=FEW, under={"first": ["second"], "second": ["first"]})
    assert list(found.fits) == list(found.severity) == ["first"]
    assert found.severity["first"] == whole.severity["first"]
    (one,) = found.failed
    assert (one.name, one.method, one.verdict) == ("tube", "smooth", "not measured")
    assert one.reason == "Its cloth cannot be measured."
    assert one.sentence in str(found)
    with pytest.raises(MeshError, match="cannot be measured"):
        df.check(pair["second"], shapes=FEW)


def test_garment_that_cannot_be_fitted_is_told_and_a_wrong_call_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    body, garment = phantom_body(rings=24, sides=16), phantom_tube(rings=10, sides=12)
    fit, torn = check_garments_file.fit, replace(garment, name="torn")

    def failing(on: df.Body, cloth: df.Garment, following: Following, **more: Any) -> df.Fit:
        if cloth is torn:
            raise MeshError("It has no sound triangle.")
        return fit(on, cloth, following, **more)

    def checked(*garments: df.Garment, following: Following = DEFAULT_FOLLOWING) -> CheckResult:
        asked = [(one, following) for one in garments]
        return check_garments(
            body, asked, (), shapes=FEW, bands=DEFAULT_BANDS, workers=1, causes=False, worn=["torn", "tube"],
            progress=lambda *_: None,
        )  # fmt: skip

    monkeypatch.setattr(check_garments_file, "fit", failing)
    found = checked(garment, torn)
    assert [one.sentence for one in found.failed] == ["torn (smooth): not fitted: It has no sound triangle."]
    assert list(found.severity) == ["tube smooth"]
    with pytest.raises(MeshError, match=r"^It has no sound triangle"):
        checked(torn)
    with pytest.raises(DressformError, match=r"^No garment is sound. torn .smooth.: not fitted: It has no sound"):
        checked(torn, torn)
    with pytest.raises(ArgumentError, match=r"following\.parts"):
        checked(garment, torn, following=Following(parts={"collar": 0.5}))


def test_wrong_unit_is_a_wrong_call_and_no_broken_garment(tmp_path: Path) -> None:
    for name in ("one", "two"):
        save_garment(phantom_tube(rings=6, sides=8), tmp_path / f"{name}.glb")
    with pytest.raises(ArgumentError, match="units"):
        load_garments([tmp_path / "one.glb", tmp_path / "two.glb"], beside=phantom_body(), units="ells")
