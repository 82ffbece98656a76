"""Faults seeded into a tube round the phantom, and what is said of them: small, so explained in seconds."""

from dataclasses import replace
from functools import cache

import numpy as np

from dressform.body.shapes import Shape, distinct, end_shapes, shape_at_base
from dressform.causes.explain import explain_garment
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.results import (
    METHOD,
    RIGID_PATCH,
    ROUGH_MORPH,
    SHOULD_NOT_FOLLOW,
    TOO_FEW_VERTICES,
    TOO_TIGHT,
    Explanation,
)
from dressform.sweep.results import SweepRow
from phantoms import BELLY_HEIGHT, RADIUS, phantom_body, phantom_tube
from seeded_cases import ROUGH_METHOD
from seeded_faults import NOISE_MORPH, PATCH_MORPH, PRINTING_METHOD, SWELLING_MORPH, Seed, insert
from seeded_scenes import Scene

CLEARANCE = 0.012
ASIDE = 0.5
"""Where faults are seeded: so far from straight ahead towards the wearer's left, radians."""
OUTWARD = np.array([np.sin(ASIDE), 0.0, np.cos(ASIDE)])
ON_SKIN = RADIUS * OUTWARD + [0.0, BELLY_HEIGHT, 0.0]
ON_CLOTH = (RADIUS + CLEARANCE) * OUTWARD + [0.0, BELLY_HEIGHT, 0.0]

SEEDS = {
    TOO_TIGHT: Seed(TOO_TIGHT, ON_CLOTH, 0.12, 0.0),
    TOO_FEW_VERTICES: Seed(
        TOO_FEW_VERTICES, ON_CLOTH, 0.12, 0.08, across=ON_SKIN, parting=OUTWARD, morph=SWELLING_MORPH
    ),
    RIGID_PATCH: Seed(RIGID_PATCH, ON_SKIN, 0.05, 0.010, OUTWARD, morph=PATCH_MORPH, method=PRINTING_METHOD),
    SHOULD_NOT_FOLLOW: Seed(
        SHOULD_NOT_FOLLOW,
        ON_CLOTH,
        0.05,
        0.05,
        np.array([0.0, 1.0, 0.3]),
        across=ON_SKIN,
        parting=OUTWARD,
        morph=SWELLING_MORPH,
        method=PRINTING_METHOD,
    ),
    ROUGH_MORPH: Seed(
        ROUGH_MORPH, ON_CLOTH, 0.10, 0.003, across=ON_SKIN, parting=OUTWARD, morph=NOISE_MORPH, method=PRINTING_METHOD
    ),
    METHOD: Seed(
        METHOD, ON_CLOTH, 0.10, 0.0, across=ON_SKIN, parting=OUTWARD, morph=SWELLING_MORPH, method=ROUGH_METHOD
    ),
}
"""One seed for each cause that a tube can have without a gap, an end or another shape of its own."""


@cache
def clean_tube() -> Scene:
    """A tube at an even distance from the phantom."""
    body = phantom_body(rings=64, sides=96)
    return Scene("tube", body, phantom_tube(clearance=CLEARANCE, rings=60, sides=100))


@cache
def seeded_tube(cause: str) -> Scene:
    """The tube with one cause put in."""
    return insert(clean_tube(), SEEDS[cause])


def explained(scene: Scene) -> tuple[Explanation, ...]:
    """What is said of a scene at the base and at the ends of every morph."""
    shapes = distinct([shape_at_base(scene.body.range), *end_shapes(scene.body.range)])
    return explained_at(scene, shapes)


def explained_at(scene: Scene, shapes: list[Shape]) -> tuple[Explanation, ...]:
    """What is said of a scene on some shapes."""
    rows = [SweepRow("tube", each.label, each.weights, scene.measure(each.weights), 0.0, False) for each in shapes]
    return explain_garment(ExplainedGarment(scene.fit), rows, key="tube")


def rows_of(scene: Scene) -> list[SweepRow]:
    """A scene measured at the base and at the ends of every morph."""
    shapes = distinct([shape_at_base(scene.body.range), *end_shapes(scene.body.range)])
    return [SweepRow("tube", each.label, each.weights, scene.measure(each.weights), 0.0, False) for each in shapes]


def moved(scene: Scene, turn: np.ndarray, shift: np.ndarray) -> Scene:
    """Body and garment mapped by p → turn p + shift; a mirror turns the triangles round."""
    body, garment = scene.body, scene.garment
    order = [0, 1, 2] if np.linalg.det(turn) > 0 else [0, 2, 1]
    return replace(
        scene,
        body=replace(
            body,
            vertices=body.vertices @ turn.T + shift,
            deltas=body.deltas @ turn.T,
            faces=np.ascontiguousarray(body.faces[:, order]),
        ),
        garment=replace(
            garment,
            vertices=garment.vertices @ turn.T + shift,
            faces=np.ascontiguousarray(garment.faces[:, order]),
        ),
    )
