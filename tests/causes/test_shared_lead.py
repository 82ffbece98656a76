"""A shared place is told by the cluster that is noticed most, and its skin is judged near it alone."""

from dataclasses import replace

import numpy as np
import pytest

import phantoms
from dressform.causes.results import BODY, FOLLOWING, Cluster, Explanation, Sighting
from dressform.causes.shared import shared_places
from dressform.faults.places import make_place
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit

VERTEX = 400


def worn() -> dict[str, Fit]:
    fit = make_fit(phantoms.phantom_body(), phantoms.phantom_tube())
    return {name: replace(fit, garment=replace(fit.garment, name=name)) for name in ("coat", "jersey", "oilskin")}


def explanation(garment: str, *, region: str = "belly", noticed: float = 1.0) -> tuple[Explanation, ...]:
    place = make_place(
        (0.0, 1.0, 0.2), VERTEX, region=region, side="front", height=1.0, fault="pucker", severity="grave", value=0.03
    )
    cluster = Cluster("1", garment, (Sighting("belly=1", np.ones(3), place),), np.array([VERTEX]), noticed)
    return (Explanation(cluster, 0.03, (), "", "", None, {}),)


@pytest.mark.parametrize("foremost", ["coat", "jersey", "oilskin"])
def test_the_region_is_that_of_the_cluster_noticed_most(foremost: str) -> None:
    fits = worn()
    told = {name: explanation(name, region=f"of {name}", noticed=1.0 + (name == foremost)) for name in fits}
    (place,) = shared_places(fits, told)
    assert place.region == f"of {foremost}"


@pytest.mark.parametrize(("far", "suspect"), [(True, FOLLOWING), (False, BODY)])
def test_only_skin_near_the_place_makes_the_body_suspect(far: bool, suspect: str) -> None:
    """The same ripple of the skin 25 cm away says nothing of the place."""
    fits = worn()
    fit = fits["coat"]
    body, middle = fit.body, fit.base[VERTEX]
    away = np.linalg.norm(body.vertices - middle, axis=1)
    rippled = (away > 0.25) if far else (away < 0.12)
    deltas = np.zeros_like(body.deltas)
    deltas[0, rippled] = 0.004 * np.random.default_rng(3).normal(size=(int(rippled.sum()), 3))
    fits = {name: replace(each, body=replace(body, deltas=deltas)) for name, each in fits.items()}
    assert shared_places(fits, {name: explanation(name) for name in fits})[0].suspect == suspect
