"""Places where several garments fail alike are told once, with whom to suspect."""

import numpy as np
import pytest

import phantoms
from dressform.causes.results import (
    AMBIGUOUS_FOOT,
    BODY,
    FOLLOWING,
    GARMENT,
    OWNERS,
    PLATES,
    TOO_TIGHT,
    Cluster,
    Explanation,
    Sighting,
)
from dressform.causes.shared import SHARED_REACH, shared_places
from dressform.faults.results import Place
from dressform.fit.fit import Fit
from dressform.fit.make import make_fit

BODY_MESH = phantoms.phantom_body()


def worn() -> Fit:
    return make_fit(BODY_MESH, phantoms.phantom_tube())


def explanation(garment: str, vertex: int, cause: str, *, fault: str = "crumple", noticed: float = 1.0) -> Explanation:
    place = Place(fault, vertex, (0.0, 1.0, 0.2), "belly", "", "front left", 1.0, 1e-3, 0.03, "grave")
    cluster = Cluster("1", garment, (Sighting("belly=1", np.ones(3), place),), np.array([vertex]), noticed)
    return Explanation(cluster, 0.03, (), cause, OWNERS.get(cause, ""), None, {})


def test_two_garments_that_fail_at_one_place_share_it() -> None:
    fits = {"coat": worn(), "jersey": worn(), "skirt": worn()}
    told = {name: (explanation(name, 400, PLATES),) for name in ("coat", "jersey")}
    (place,) = shared_places(BODY_MESH, fits, {**told, "skirt": ()})
    assert place.clusters == (("coat", "1"), ("jersey", "1"))
    assert place.suspect == BODY
    assert place.sentence == (
        "2 garments (coat, jersey) fail alike at belly, front left, 1.00 m above the ground: "
        "the body's own morphs are the suspect, before any garment"
    )


@pytest.mark.parametrize(
    ("causes", "suspect"),
    [
        ((TOO_TIGHT, TOO_TIGHT), GARMENT),
        ((AMBIGUOUS_FOOT, AMBIGUOUS_FOOT), FOLLOWING),
        ((PLATES, PLATES, TOO_TIGHT), BODY),
        (("", ""), BODY),
        (("", AMBIGUOUS_FOOT), FOLLOWING),
    ],
)
def test_the_suspect_is_the_owner_that_most_causes_name(causes: tuple[str, ...], suspect: str) -> None:
    fits = {f"garment {k}": worn() for k in range(len(causes))}
    told = {name: (explanation(name, 400, cause),) for name, cause in zip(fits, causes)}
    assert shared_places(BODY_MESH, fits, told)[0].suspect == suspect


def test_places_apart_other_faults_and_one_garment_alone_are_not_shared() -> None:
    fit = worn()
    fits = {"coat": fit, "jersey": fit}
    away = int(np.argmax(np.linalg.norm(fit.base - fit.base[400], axis=1) > 3 * SHARED_REACH))
    for other in (explanation("jersey", away, PLATES), explanation("jersey", 400, PLATES, fault="stretch")):
        assert shared_places(BODY_MESH, fits, {"coat": (explanation("coat", 400, PLATES),), "jersey": (other,)}) == ()
    twice = (explanation("coat", 400, PLATES), explanation("coat", 401, PLATES))
    assert shared_places(BODY_MESH, fits, {"coat": twice, "jersey": ()}) == ()


def test_each_cluster_belongs_to_one_place() -> None:
    fit = worn()
    fits = {name: fit for name in ("a", "b", "c")}
    told = {name: (explanation(name, 400 + k, PLATES, noticed=3.0 - k),) for k, name in enumerate(fits)}
    (place,) = shared_places(BODY_MESH, fits, told)
    assert sorted(place.clusters) == [("a", "1"), ("b", "1"), ("c", "1")]
