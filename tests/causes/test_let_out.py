"""Cloth in a cleft is let out without running into itself."""

import numpy as np

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.remedies.let_out import evenly_outward
from dressform.causes.swaps.too_tight import outward
from dressform.fit.make import make_fit
from dressform.garment.garment import Garment
from dressform.mesh.intersect import self_crossings
from fault_meshes import icosphere, sheet

RADIUS, APART, CLOSE, ROOM = 0.10, 0.115, 0.001, 0.020


def in_the_cleft() -> ExplainedGarment:
    """A cloth 1 mm off two balls side by side, down one and up the other."""
    skin, faces = icosphere(RADIUS, level=4)
    aside = np.array([APART, 0.0, 0.0])
    body = np.concatenate([skin - aside, skin + aside])
    one = Range(("still",), np.zeros(1), np.ones(1))
    pair = Body("pair", body, np.concatenate([faces, faces + len(skin)]), one.names, np.zeros((1, *body.shape)), one)
    vertices, cells = sheet(0.1, count=40)
    way = vertices[:, 0] / 0.05  # -1 on top of the left ball, 0 in the cleft, 1 on top of the right one
    angle = np.radians(10.0 + 90.0 * np.abs(way))
    wide = np.sqrt(RADIUS**2 - vertices[:, 2] ** 2) + CLOSE
    down = np.column_stack([wide * np.cos(angle) - APART, wide * np.sin(angle), vertices[:, 2]])
    down[:, 0] *= np.where(way > 0.0, -1.0, 1.0)
    return ExplainedGarment(make_fit(pair, Garment.of("cloth", down, cells)))


def test_cloth_in_a_cleft_is_let_out_without_running_into_itself() -> None:
    """A hat that was too tight beside the chin had no remedy: let out straight from the skin, it cut through itself."""
    worn = in_the_cleft()
    points, faces = worn.fit.garment.vertices, worn.fit.garment.faces
    room = np.full(len(points), ROOM)
    moves, least = evenly_outward(worn, room, 0.04)
    assert len(self_crossings(points, faces)) == 0
    assert len(self_crossings(points + outward(worn.context.tree, points, room), faces)) > 20
    assert len(self_crossings(points + moves, faces)) == 0
    assert least > 0.9 * ROOM
