"""Evidence has one list of names, and what a name is a figure of stands behind a stroke."""

import pytest

from dressform.causes.evidence import EVIDENCE, METRES, figure_of, figures_of
from dressform.errors import ArgumentError


def test_a_figure_of_a_morph_is_told_apart_from_its_name() -> None:
    figure, of = figure_of("rim_step/belly")
    assert (figure, of) == (EVIDENCE["rim_step"], "belly")
    assert figure.unit == METRES


def test_figures_are_gathered_by_what_they_are_figures_of() -> None:
    evidence = {"weight/belly": 0.5, "weight/hips": 1.0, "weights": 3.0, "margin": 0.002}
    assert figures_of(evidence, "weight") == {"belly": 0.5, "hips": 1.0}


def test_an_unknown_name_lists_the_valid_ones() -> None:
    with pytest.raises(ArgumentError, match=r"`name` must be one of clearance, .*, got 'girth'"):
        figure_of("girth")
