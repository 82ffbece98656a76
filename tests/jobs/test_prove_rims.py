"""The verdict of a proof says how much of the cloth lies in the body as tucked rims, and lets no more pass than few."""

import re

import numpy as np
import pytest

import dressform as df
from dressform.faults.skin.cloth_at_base import MOST_TUCKED
from dressform.report.tables.proof import proof_line
from fault_meshes import icosphere, make_body, make_fit, pipe

RADIUS, COLLAR = 0.2, 0.1
STANDS = float(np.sqrt(RADIUS**2 - COLLAR**2))


def collar(depth: float, *, length: float, edge: float = 0.004) -> df.Fit:
    """A pipe that stands in a sphere which does not change."""
    ball, triangles = icosphere(RADIUS, level=4)
    vertices, faces = pipe(COLLAR, length, edge=edge)
    body = make_body(ball, triangles, still=np.zeros(3))
    return make_fit(vertices + np.array([0.0, STANDS - depth, 0.0]), faces, body)


def test_the_first_line_says_of_how_much_of_the_cloth_it_is_proven() -> None:
    found = df.prove(collar(0.006, length=0.3))
    assert found.complete
    told = re.fullmatch(
        r"PROVEN for ([\d.]+) % of the cloth: at least 0 mm .*; tucked rims \(([\d.]+) %\) lie in the body",
        proof_line(found),
    )
    assert told is not None
    certified, rims = (float(number) for number in told.groups())
    assert 100 * 0.006 / 0.3 < rims < 100 * MOST_TUCKED
    assert certified <= 100 * (1 - found.certificate.excluded_area) < certified + 0.1
    assert certified + rims == pytest.approx(100, abs=0.15)


def test_cloth_that_touches_nothing_is_proven_without_a_share() -> None:
    assert proof_line(df.prove(collar(-0.05, length=0.2))).startswith("PROVEN: at least 0 mm")


def test_triangles_that_reach_far_from_a_rim_are_not_excused_with_it() -> None:
    found = df.prove(collar(0.006, length=0.3, edge=0.03))
    assert found.tucked > MOST_TUCKED
    assert not found.complete
    assert proof_line(found).startswith("NOT PROVEN: 0 pairs open")


def test_a_net_that_lies_in_the_body_is_not_proven() -> None:
    fit = collar(0.03, length=0.3)
    around = round(2 * np.pi * COLLAR / 0.004)
    row, column = np.divmod(np.arange(len(fit.garment.faces)) % (len(fit.garment.faces) // 2), around)
    kept = ~((row % 3 == 1) & (column % 3 == 1))
    net = df.Garment.of("net", fit.base, fit.garment.faces[kept])
    found = df.prove(df.Fit(fit.body, net, fit.following, fit.base, fit.deltas))
    assert found.left_out > 0.08
    assert not found.complete
