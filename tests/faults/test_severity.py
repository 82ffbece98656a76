import re
from pathlib import Path

import numpy as np
import pytest

from dressform.errors import ArgumentError, FileError
from dressform.faults.registry import FAULTS
from dressform.faults.results import (
    SEVERITIES,
    AtBase,
    Broken,
    ClearanceChange,
    Pucker,
    ShapeFaults,
    ShowThrough,
    Stretch,
)
from dressform.faults.severity import Bands, graded_values, make_bands
from dressform.formats.bands_file import read_bands


def test_there_is_a_rising_band_for_every_fault():
    assert tuple(Bands()) == FAULTS
    for fault in FAULTS:
        slight, moderate, grave = Bands()[fault]
        assert 0 < slight < moderate < grave


@pytest.mark.parametrize(
    ("value", "severity"),
    [(0.0, "clean"), (0.99, "clean"), (1.0, "slight"), (2.5, "moderate"), (3.0, "grave"), (99.0, "grave")],
)
def test_a_value_counts_from_the_bound_on(value, severity):
    assert Bands(depth=(1.0, 2.0, 3.0)).grade("depth", value) == severity


def test_bands_of_no_fault_are_refused():
    with pytest.raises(ArgumentError, match=r"Bands: `changed` must be named in_front, .* got 'ease'"):
        Bands(ease=(1.0, 2.0, 3.0))


def test_nothing_is_clean():
    assert all(Bands().grade(fault, 0.0) == SEVERITIES[0] for fault in FAULTS)


def test_settings_change_what_they_name():
    bands = make_bands({"depth": [0.002, 0.004, 0.02], "folded": [2, 3, 4]})
    assert bands["depth"] == (0.002, 0.004, 0.02)
    assert bands["folded"] == (2.0, 3.0, 4.0)
    assert bands["pucker"] == Bands()["pucker"]


def test_a_name_that_is_no_fault_is_refused_with_the_valid_ones():
    with pytest.raises(ArgumentError, match=r"must be named in_front, sunk, .*, got 'wrinkle'"):
        make_bands({"wrinkle": (1.0, 2.0, 3.0)})


@pytest.mark.parametrize(
    "bounds",
    [
        (1.0, 2.0),
        (1.0, 1.0, 2.0),
        (3.0, 2.0, 1.0),
        (0.0, 1.0, 2.0),
        (1.0, 2.0, float("inf")),
        "123",
        (True, 2, 3),
        5,
        ("a", "b", "c"),
    ],
)
def test_bounds_that_are_no_band_are_refused(bounds):
    with pytest.raises(ArgumentError, match=r"settings\['depth'\]` must be three rising positive numbers"):
        make_bands({"depth": bounds})


def test_a_clearance_change_is_judged_by_its_worse_side():
    values = graded_values(
        ShapeFaults(
            np.zeros(1),
            AtBase(2e-4, 0.01, 3e-4),
            ShowThrough(1e-4, 0.1, 1.0, 0.02, 0.0, 0.003, 0.004, 0.0),
            Pucker(0.001, 0.002, 0.0025, 0.004, 1.0, 0.003),
            Stretch(1.0, 1.1, 0.2, 0.3, 0.1, 4.0),
            ClearanceChange(-0.02, 0.0, 0.01, {}),
            {},
            Broken(1, 2, 0.003, 0.004, 5, 0.0003, folded_area=2e-5, swapped_area=3e-5),
            (),
            {},
        )
    )
    assert tuple(values) == FAULTS
    assert (values["in_front"], values["sunk"]) == (2e-4, 0.01)
    assert values["clearance"] == 0.02
    assert (values["exposed"], values["depth"], values["pucker"], values["stretch"]) == (1e-4, 0.004, 0.003, 0.3)
    assert (values["folded"], values["crossing"], values["layers"]) == (2e-5, 0.0003, 3e-5)


@pytest.mark.parametrize(("area", "severity"), [(12.5, "grave"), (5.0, "moderate"), (1.0, "slight"), (0.1, "clean")])
def test_a_hole_is_graded_as_it_looks(area, severity):
    """A viewer called every hole from 13 cm² on grave but once, 4.8 to 5.4 cm² moderate, 0.8 to 2 cm² slight."""
    assert Bands().grade("exposed", area * 1e-4) == severity


def test_the_documented_bands_are_the_defaults():
    page = (Path(__file__).parents[2] / "docs" / "faults.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| `(\w+)` \| [^|]+ \| ([\d.e-]+) \| ([\d.e-]+) \| ([\d.e-]+) \|", page, re.MULTILINE)
    assert [row[0] for row in rows] == list(FAULTS)
    for fault, *bounds in rows:
        assert tuple(map(float, bounds)) == Bands()[fault]


def test_pucker_written_as_a_bare_index_is_refused_rather_than_read_as_per_ten_thousand(tmp_path):
    path = tmp_path / "bands.toml"
    path.write_text("[bands]\npucker = [0.005, 0.02, 0.03]\n", encoding="utf-8")
    with pytest.raises(FileError, match=r"must be in ‱, as tables show it, got \[0.005, 0.02, 0.03\]. Write 50"):
        read_bands(path)
    path.write_text("[bands]\npucker = [50, 200, 300]\n", encoding="utf-8")
    assert read_bands(path)["pucker"] == pytest.approx((0.005, 0.02, 0.03))
