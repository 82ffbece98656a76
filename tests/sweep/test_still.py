"""Stances at which a garment is still: they are found, they hide no fault, and a check says that it left them out."""

from dataclasses import replace

import numpy as np
import pytest

import dressform as df
from bent_limb import RADIUS, bent, limb, moved, skeleton, sleeve, wall, weights_of
from dressform.body.body import Body
from dressform.body.shape_settings import DEFAULT_AT_STANCES, DEFAULT_SOBOL, ShapeSettings
from dressform.body.stance import Stance
from dressform.body.stances.driver import Driver
from dressform.errors import ArgumentError
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.severity import graded_values
from dressform.fit.corrective import Corrective
from dressform.fit.fit import Fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.jobs.check import DEFAULT_SHAPES
from dressform.sweep.run import choose_shapes
from dressform.sweep.still import moving_stances

BODY = limb(rings=25, sides=16)
BEND = bent(80)


def cuff(body: Body, low: float, high: float, *, follows: float = 1.0) -> Fit:
    """A short tube over the limb, whose ramp of joint weights is that of the skin: |y| < 0.1."""
    vertices, faces = wall(RADIUS + 0.004, low, high, rings=9, sides=16)
    following, skin = Following(), weights_of(vertices[:, 1])
    return Fit(body, Garment.of("cuff", vertices, faces), following, vertices, follows * moved(vertices), skin)


def test_a_cuff_is_still_where_the_bend_is_farther_than_the_skin_near_it() -> None:
    assert moving_stances(cuff(BODY, -0.28, -0.2), [BEND]) == []
    assert moving_stances(cuff(BODY, 0.2, 0.28), [BEND]) == []  # carried along as one
    assert moving_stances(cuff(BODY, -0.28, -0.12), [BEND]) == [BEND]  # the skin near it bends, the cloth does not
    assert moving_stances(sleeve(BODY), [BEND]) == [BEND]


def test_what_is_left_out_has_the_faults_of_rest() -> None:
    fit = cuff(BODY, 0.2, 0.28, follows=0.2)
    worn, weights = GarmentOnBody(fit), np.array([1.0, 0.5])
    assert moving_stances(fit, [BEND]) == []
    rest, there = graded_values(worn.measure(weights)), graded_values(worn.measure(weights, BEND))
    assert rest["exposed"] > 1e-4
    assert there == pytest.approx(rest, rel=1e-3, abs=1e-9)  # directions of rays turn with the skin's corners


def test_a_joint_that_scales_the_garment_or_drives_a_target_of_it_does_not_leave_it_still() -> None:
    fit = cuff(BODY, 0.2, 0.28)
    worlds = skeleton().world()
    worlds[1, :3, :3] *= 1.2
    large = Stance("large", worlds)
    assert moving_stances(fit, [large]) == [large]
    driver = Driver(1, np.eye(3)[0], np.eye(4)[3], ((0.0, 0.0), (1.0, 1.0)))
    driven = replace(fit, correctives=(Corrective("more", driver, np.full_like(fit.base, 1e-3)),))
    assert moving_stances(driven, [BEND]) == [BEND]


def test_a_check_looks_at_no_still_stance_and_says_so() -> None:
    fits = {"cuff": cuff(BODY, 0.2, 0.28), "sleeve": sleeve(BODY, rings=17, sides=12)}
    few = ShapeSettings(ends=False, strongest=0, sobol=0)
    found = df.check(fits, shapes=few, stances=[BEND, bent(20)], causes=False)
    assert {row.garment for row in found.swept.rows if row.stance is not None} == {"sleeve"}
    told = {one.name: one.notes for one in found.report.garments}
    still = "At 2 of 2 stances neither it nor the skin near it moves: its faults there are those of the modelled pose"
    assert any(note == f"{still} (bent 80°, bent 20°)." for note in told["cuff"])
    assert not any("neither it" in note for note in told["sleeve"])


def test_fewer_of_the_sample_are_looked_at_at_stances_unless_a_number_is_given() -> None:
    fit = sleeve(BODY, rings=9, sides=8)
    for settings, most in (
        (DEFAULT_SHAPES, DEFAULT_AT_STANCES),
        (ShapeSettings(sobol=64), DEFAULT_SOBOL),
        (ShapeSettings(sobol=4), 4),
        (ShapeSettings(sobol=4, at_stances=2), 2),
    ):
        shapes = choose_shapes({"": fit}, settings=settings, stances=[BEND])[""]
        sampled = [one.stance is None for one in shapes if one.label.startswith("sobol")]
        assert sampled.count(False) == most
        assert sampled.count(True) == settings.sobol
    with pytest.raises(ArgumentError, match=r"`at_stances` must be 0 to 100,000, got -1"):
        ShapeSettings(at_stances=-1)
