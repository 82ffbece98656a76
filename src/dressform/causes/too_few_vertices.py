"""Too few vertices where the body bends: the triangles there split until they can follow the bend."""

import numpy as np

from dressform.body.shapes import Shape
from dressform.causes.case import Case
from dressform.causes.ground import SHAPE
from dressform.fit.fit import Fit
from dressform.repair.bisect import Bisected
from dressform.repair.refine import refine
from dressform.repair.resolution import Resolution, measure_resolution

WORDS = "the triangles there split until the body does not bend through them"


def matters(case: Case) -> bool:
    """Whether the body bends through a triangle at the cluster."""
    return bool(failing(case, resolution(case)).any())


def resolution(case: Case) -> Resolution:
    """The resolution test of the patch on the base shape and the cluster's worst."""
    return measure_resolution(case.ground.body, case.fit, shapes=shapes(case), margin=case.wearing.margin)


def failing(case: Case, tested: Resolution) -> np.ndarray:
    """Triangles with a corner at the cluster through which the body bends, (F,)."""
    return tested.failing & case.near[case.fit.garment.faces].any(axis=1)


def shapes(case: Case) -> list[Shape]:
    """The cluster's worst shape."""
    return [Shape(SHAPE, case.weights)]


def split(case: Case, fit: Fit) -> Bisected:
    """The patch's mesh with those triangles split."""
    wearing = case.wearing
    return refine(
        case.ground.body, fit, shapes=shapes(case), margin=wearing.margin, way=wearing.way, ease=wearing.ease
    ).split
