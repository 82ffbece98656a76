"""Places where several garments fail alike are told once, with whom to suspect."""

from dataclasses import replace

import numpy as np
import pytest

import phantoms
from dressform.causes.results import (
    AMBIGUOUS_FOOT,
    BODY,
    FOLLOWING,
    GARMENT,
    OWNERS,
    RIGID_PATCH,
    TOO_TIGHT,
    Cluster,
    Explanation,
    Sighting,
)
from dressform.causes.shared import SHARED_REACH, shared_places
from dressform.faults.places import make_place
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit

BODY_MESH = phantoms.phantom_body()


def worn(*names: str) -> dict[str, Fit]:
    fit = make_fit(BODY_MESH, phantoms.phantom_tube())
    return {name: replace(fit, garment=replace(fit.garment, name=name)) for name in names}


def explanation(garment: str, vertex: int, cause: str, *, fault: str = "pucker", noticed: float = 1.0) -> Explanation:
    place = make_place(
        (0.0, 1.0, 0.2),
        vertex,
        region="belly",
        side="front left",
        height=1.0,
        area=1e-3,
        fault=fault,
        severity="grave",
        value=0.03,
    )
    cluster = Cluster("1", garment, (Sighting("belly=1", np.ones(3), place),), np.array([vertex]), noticed)
    return Explanation(cluster, 0.03, (), cause, OWNERS.get(cause, ""), None, {})


def test_three_garments_that_fail_at_one_place_share_it() -> None:
    fits = worn("coat", "jersey", "oilskin", "skirt")
    told = {name: (explanation(name, 400, RIGID_PATCH),) for name in ("coat", "jersey", "oilskin")}
    (place,) = shared_places(fits, {**told, "skirt": ()})
    assert place.clusters == (("coat", "1"), ("jersey", "1"), ("oilskin", "1"))
    assert place.suspect == BODY
    assert place.sentence == (
        "3 garments (coat, jersey, oilskin) fail alike at belly, front left, 100 cm above the ground: "
        "the body's own morphs are the suspect, before any garment"
    )


@pytest.mark.parametrize(
    ("causes", "suspect"),
    [
        ((TOO_TIGHT, TOO_TIGHT, TOO_TIGHT), GARMENT),
        ((AMBIGUOUS_FOOT, AMBIGUOUS_FOOT, ""), FOLLOWING),
        ((RIGID_PATCH, RIGID_PATCH, ""), BODY),
        (("", "", AMBIGUOUS_FOOT), FOLLOWING),
    ],
)
def test_the_suspect_is_the_owner_that_the_causes_name(causes: tuple[str, ...], suspect: str) -> None:
    fits = worn("a", "b", "c")
    told = {name: (explanation(name, 400, cause),) for name, cause in zip(fits, causes)}
    assert shared_places(fits, told)[0].suspect == suspect


def test_garments_that_fail_there_for_different_reasons_share_nothing() -> None:
    fits = worn("a", "b", "c")
    told = {name: (explanation(name, 400, cause),) for name, cause in zip(fits, (TOO_TIGHT, TOO_TIGHT, RIGID_PATCH))}
    assert shared_places(fits, told) == ()


def test_a_shared_place_names_its_clusters_by_the_keys_of_their_fits() -> None:
    fits = {f"{name} smooth": fit for name, fit in worn("coat", "jersey", "oilskin").items()}
    told = {key: (explanation(key, 400, RIGID_PATCH),) for key in fits}
    (place,) = shared_places(fits, told)
    assert {key for key, _ in place.clusters} == set(fits)


@pytest.mark.parametrize(("ripple", "suspect"), [(0.0, FOLLOWING), (0.004, BODY)])
def test_without_a_cause_the_body_is_suspected_only_where_its_own_skin_puckers(ripple: float, suspect: str) -> None:
    body = BODY_MESH
    deltas = np.zeros_like(body.deltas)
    deltas[0] = ripple * np.random.default_rng(3).normal(size=body.vertices.shape)
    fits = {name: replace(fit, body=replace(body, deltas=deltas)) for name, fit in worn("a", "b", "c").items()}
    told = {name: (explanation(name, 400, ""),) for name in fits}
    assert shared_places(fits, told)[0].suspect == suspect


def test_a_garment_followed_in_three_ways_is_one_garment() -> None:
    (fit,) = worn("coat").values()
    fits = {f"coat {method}": fit for method in ("smooth", "surface", "nearest")}
    told = {name: (explanation(name, 400, RIGID_PATCH),) for name in fits}
    assert shared_places(fits, told) == ()


def test_places_apart_other_faults_and_few_garments_are_not_shared() -> None:
    fits = worn("coat", "jersey", "oilskin")
    base = fits["coat"].base
    away = int(np.argmax(np.linalg.norm(base - base[400], axis=1) > 3 * SHARED_REACH))
    two = {name: (explanation(name, 400, RIGID_PATCH),) for name in ("coat", "jersey")}
    assert shared_places(fits, two) == ()
    for other in (explanation("oilskin", away, RIGID_PATCH), explanation("oilskin", 400, RIGID_PATCH, fault="stretch")):
        assert shared_places(fits, {**two, "oilskin": (other,)}) == ()
    twice = {**two, "jersey": (explanation("jersey", 400, RIGID_PATCH), explanation("jersey", 401, RIGID_PATCH))}
    assert shared_places(fits, twice) == ()


def test_each_cluster_belongs_to_one_place() -> None:
    fits = worn("a", "b", "c")
    told = {name: (explanation(name, 400 + k, RIGID_PATCH, noticed=3.0 - k),) for k, name in enumerate(fits)}
    (place,) = shared_places(fits, told)
    assert sorted(place.clusters) == [("a", "1"), ("b", "1"), ("c", "1")]
