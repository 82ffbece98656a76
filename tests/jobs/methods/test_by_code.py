"""Somebody's code as a method: linear and not, and whatever goes wrong in it is contained and named."""

import textwrap
import time
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

import dressform as df
from dressform.body.shapes import ShapeSettings
from dressform.errors import ArgumentError, MethodError
from dressform.fit.shaped import ShapedFit
from dressform.jobs.methods import code as code_module
from dressform.jobs.methods.code import code_of, method_of, set_time_limit
from phantoms import phantom_body, phantom_tube

CODE = """
import os, time
import numpy as np

def targets(body, garment, following):
    print("what it prints does no harm")
    return np.tile(0.5 * garment.vertices, (len(body.morph_names), 1, 1))

def named(body, garment, following):
    return {"girth": garment.vertices, "gull": garment.vertices}

def linear(body, garment, following):
    return lambda weights: garment.vertices * (1.0 + weights[0])

def bowed(body, garment, following):
    still = garment.vertices
    return lambda weights: still * (1.0 + weights[1] * np.array([0.0, 0.0, 0.0])) + [0.0, 0.1 * weights[0] ** 2, 0.0]

def raising(body, garment, following):
    raise ValueError("no tide tables")

def hanging(body, garment, following):
    def cloth(weights):
        if weights.any():
            time.sleep(60)
        return garment.vertices
    return cloth

def dying(body, garment, following):
    os._exit(3)

def short(body, garment, following):
    return np.zeros((1, 2, 3))

def broken(body, garment, following):
    return lambda weights: garment.vertices * np.nan
"""


@pytest.fixture(scope="module")
def sea(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """The code in a file; its process serves all tests."""
    path = tmp_path_factory.mktemp("sea") / "sea.py"
    path.write_text(textwrap.dedent(CODE), encoding="utf-8")
    yield str(path)
    for name in ("targets", "named", "linear", "bowed", "raising", "hanging", "dying", "short", "broken"):
        code_of(f"{path}:{name}").close()


def fitted(sea: str, name: str) -> df.Fit:
    return df.fit(phantom_body(), phantom_tube(), df.Following(method=f"{sea}:{name}"))


def test_targets_that_are_returned_are_the_fit(sea: str, capfd: pytest.CaptureFixture[str]) -> None:
    fit = fitted(sea, "targets")
    assert np.allclose(fit.deltas, 0.5 * fit.base)
    assert capfd.readouterr().out == ""


def test_targets_by_name_leave_the_others_still_and_say_so(sea: str) -> None:
    fit = fitted(sea, "named")
    assert np.allclose(fit.deltas[1], fit.base)
    assert not fit.deltas[[0, 2]].any()
    assert any("no target for belly, tall" in note for note in fit.garment.notes)
    assert any("stayed out: gull" in note for note in fit.garment.notes)


def test_a_function_of_the_weights_that_is_linear_becomes_a_plain_fit(sea: str) -> None:
    fit = fitted(sea, "linear")
    assert fit.is_linear
    assert np.allclose(fit.deltas[0], fit.base, atol=1e-12)
    assert np.allclose(fit.deltas[1:], 0.0, atol=1e-12)


def test_another_function_is_asked_shape_by_shape_and_its_departure_is_told(sea: str) -> None:
    fit = fitted(sea, "bowed")
    assert isinstance(fit, ShapedFit)
    (note,) = (note for note in fit.garment.notes if "no linear function" in note)
    most = max(fit.departure(weights).max() for weights, _ in fit.told.values())
    assert np.allclose(fit.at({"belly": 0.5}) - fit.base, [0.0, 0.025, 0.0])
    assert f"by up to {1e3 * most:.1f} mm" in note
    for job in (df.repair, df.prove):
        with pytest.raises(ArgumentError, match=r"linear in the weights, got .*:bowed, which departs"):
            job(fit)


def test_a_case_which_is_passed_on_names_no_code(sea: str, tmp_path: Path) -> None:
    with pytest.raises(ArgumentError, match=r"save_case: `fit` must be by a method of ours or `file`, got .*targets"):
        df.save_case(fitted(sea, "targets"), tmp_path / "gapes.case.json")


def test_a_check_of_it_finds_the_skin_that_shows_and_that_the_method_is_the_cause(sea: str) -> None:
    fit = fitted(sea, "bowed")
    found = df.check(fit, shapes=ShapeSettings(ends=False, strongest=0, sobol=1))
    (key,) = found.fits
    assert found.swept.worst()[key]["depth"].label.startswith("worst")
    exposed = [one for one in found.causes.of_garment[key] if one.cluster.fault == "exposed"]
    assert {one.cause for one in exposed} == {"the method"}


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("raising", r"raising failed: ValueError: no tide tables \(sea.py, line \d+\)"),
        ("dying", r"dying ended its process \(exit code 3\)"),
        ("short", r"returned targets as \(1, 2, 3\), not \(3, 960, 3\)"),
        ("broken", r"returned the cloth with nan at \[0, 0\]"),
        ("missing", r"failed: AttributeError: .*missing"),
    ],
)
def test_what_goes_wrong_in_it_is_named(sea: str, name: str, words: str) -> None:
    with pytest.raises(MethodError, match=words):
        fitted(sea, name)


def test_a_call_that_takes_too_long_is_stopped(sea: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(code_module, "_limit", 0.5)
    monkeypatch.setattr(code_module, "STARTING", 1e4)  # what starting may take is not lent to the first call
    start = time.monotonic()
    with pytest.raises(MethodError, match=r"hanging took longer than 0.5 s for one call and was stopped"):
        fitted(sea, "hanging")
    assert time.monotonic() - start < 50.0


def test_one_garment_whose_method_fails_ends_no_check_of_others(sea: str) -> None:
    """A process that was stopped is started again for the next garment."""
    code = code_of(f"{sea}:bowed")
    fit = fitted(sea, "bowed")
    code.close()
    assert np.allclose(fit.at({"belly": 0.25}) - fit.base, [0.0, 0.00625, 0.0])


def test_a_limit_and_a_name_that_cannot_be_meant_are_refused() -> None:
    with pytest.raises(ArgumentError, match="`time_limit` must be above 0 s, got 0"):
        set_time_limit(0.0)
    with pytest.raises(ArgumentError, match=r"check: `method` must be one of nearest.* got 'glue'"):
        method_of("check", "glue")
