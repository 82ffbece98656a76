"""A check at stances: its verdict, table and JSON name the stance, and calls that cannot be meant are refused."""

from dataclasses import replace

import msgspec
import numpy as np
import pytest

import dressform as df
from dressform.body.shape_settings import ShapeSettings
from dressform.body.skeleton import Skin
from dressform.errors import ArgumentError
from dressform.formats.results.check_csv import results_csv
from dressform.formats.results.check_json import results_json
from dressform.formats.results.check_schema import StoredResults
from dressform.jobs.arguments import refuse_stances
from dressform.jobs.check_result import CheckResult
from limbs import RAMP, bend, limb, sleeve, sleeved

FEW = ShapeSettings(ends=False, strongest=0, sobol=1)
BODY, CLOTH = limb(along=31, around=24), sleeve(along=37, around=24)


@pytest.fixture(scope="module")
def result() -> CheckResult:
    """A sleeve that is sound at rest and whose weights lag at the joint."""
    heights = CLOTH.vertices[:, 1]
    fore = np.clip(0.5 + heights / RAMP - np.where(heights > -0.06, 0.8, 0.0), 0.0, 1.0)
    skin = Skin(np.tile([0, 1], (len(fore), 1)), np.stack([1 - fore, fore], axis=1))
    return df.check(sleeved(BODY, CLOTH, skin=skin), shapes=FEW, stances=[bend(5.0), bend(60.0)])


def test_the_verdict_is_that_of_the_worst_stance_and_the_text_names_it(result: CheckResult) -> None:
    garment = result.report.garments[0]
    assert garment.at_rest.severity != "grave"
    assert garment.severity == "grave"
    text = str(result)
    assert "sleeve grave: skin shows" in text
    assert "at bent 60°, shape" in text
    assert list(garment.stances) == ["bent 5°", "bent 60°"]


def test_causes_are_sought_at_rest_and_spoil_no_verdict(result: CheckResult) -> None:
    plain = replace(result, causes=None)
    assert result.causes is not None
    assert plain.severity == result.severity


def test_results_hold_each_stance_apart_from_rest(result: CheckResult) -> None:
    told = msgspec.json.decode(results_json(result.report), type=StoredResults)
    garment = told.garments[0]
    assert told.settings["stances"] == ["bent 5°", "bent 60°"]
    assert garment.worst_stance == "bent 60°"
    assert [one.name for one in garment.stances] == ["bent 60°", "bent 5°"]
    at_rest = [row for row in result.swept.rows if not row.faults.stance]
    assert len(garment.shapes) == len(at_rest)
    assert garment.stances[0].shapes[0].show_through.exposed_cm2 > garment.shapes[0].show_through.exposed_cm2
    lines = results_csv(result.report).splitlines()
    assert lines[0].startswith("garment,method,stance,shape,joints,severity,")
    assert len(lines) == 1 + len(result.swept.rows)


def test_a_check_without_stances_says_nothing_of_them() -> None:
    result = df.check(sleeved(BODY, CLOTH), shapes=FEW, causes=False)
    assert "stance" not in str(result)
    assert "stances" not in result.report.settings


@pytest.mark.parametrize(
    ("stances", "message"),
    [
        ("walk", "`stances` must be a list of stances"),
        (["walk"], "`stances` must be stances, got 'walk'"),
        ([bend(10.0), bend(10.0)], "`stances` must be of different names, got 'bent 10°'"),
        ([replace(bend(10.0), worlds=np.tile(np.eye(4), (3, 1, 1)))], "of the body's 2 joints, got 'bent 10°' of 3"),
    ],
)
def test_stances_that_cannot_be_meant_are_refused(stances: object, message: str) -> None:
    with pytest.raises(ArgumentError, match=f"check: .*{message}"):
        refuse_stances("check", stances, [sleeved(BODY, CLOTH)])


def test_bodies_and_fits_that_no_joint_moves_are_refused_at_stances() -> None:
    fit = sleeved(BODY, CLOTH)
    with pytest.raises(ArgumentError, match="check: `fits` must be with joint weights where there are stances"):
        df.check(replace(fit, skin=None), shapes=FEW, stances=[bend(10.0)], causes=False)
    bare = replace(fit, body=replace(BODY, skeleton=None, skin=None))
    with pytest.raises(ArgumentError, match="check: `stances` must be for a body with joints, got 'limb' without"):
        df.check(bare, shapes=FEW, stances=[bend(10.0)], causes=False)
