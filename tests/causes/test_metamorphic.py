"""What is said of a fault does not depend on place and turn of the wearer, units, the order of vertices, or sides."""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from dressform.causes.results import TOO_TIGHT, Explanation
from dressform.formats.load import load_body, load_garment
from dressform.garment.garment import Garment
from fault_meshes import quarter
from phantoms import write_obj
from seeded_phantoms import SEEDS, clean_tube, explained, moved, seeded_tube
from seeded_scenes import Scene

pytestmark = pytest.mark.long

SAME_SHARE = 0.02
PER_METRE = {"m": 1.0, "mm": 1000.0}
SWAPPED = {"left": "right", "right": "left", "middle": "middle"}

Verdict = tuple[str, str, str, str, str]


@cache
def told(cause: str) -> tuple[Explanation, ...]:
    return explained(seeded_tube(cause))


def verdicts(said: Sequence[Explanation]) -> list[Verdict]:
    """Fault, shape, severity, cause and owner of every cluster, in an order of their own."""
    return sorted(
        (e.cluster.fault, e.cluster.worst.label, e.cluster.worst.place.severity, e.cause, e.owner) for e in said
    )


def shares(said: Sequence[Explanation]) -> list[float]:
    """Share of the cause that is named, of every cluster, in the order of `verdicts`."""
    keyed = sorted((e.cluster.fault, e.cluster.worst.label, e.shares[0].share if e.shares else 0.0) for e in said)
    return [share for *_, share in keyed]


def assert_same(scene: Scene, cause: str) -> None:
    said = explained(scene)
    assert any(each.cause == cause for each in told(cause))
    assert verdicts(said) == verdicts(told(cause))
    np.testing.assert_allclose(shares(said), shares(told(cause)), atol=SAME_SHARE)


@pytest.mark.parametrize("cause", SEEDS)
def test_a_wearer_who_turns_and_walks_away_gets_the_same_verdicts(cause: str) -> None:
    angle = 0.7
    turn = np.array([[np.cos(angle), 0, np.sin(angle)], [0, 1, 0], [-np.sin(angle), 0, np.cos(angle)]])
    assert_same(moved(seeded_tube(cause), turn, np.array([3.0, 0.4, -2.0])), cause)


@pytest.mark.parametrize("cause", SEEDS)
def test_the_order_of_vertices_and_triangles_does_not_matter(cause: str) -> None:
    scene, chance = seeded_tube(cause), np.random.default_rng(3)
    body, garment = scene.body, scene.garment
    skin, cloth = chance.permutation(len(body.vertices)), chance.permutation(len(garment.vertices))
    order = chance.permutation(len(garment.faces))
    shuffled = replace(
        scene,
        body=replace(
            body,
            vertices=body.vertices[skin],
            deltas=np.ascontiguousarray(body.deltas[:, skin]),
            faces=np.argsort(skin)[body.faces][chance.permutation(len(body.faces))],
        ),
        garment=replace(
            garment,
            vertices=garment.vertices[cloth],
            strength=garment.strength[cloth],
            faces=np.argsort(cloth)[garment.faces][order],
            face_parts=garment.face_parts[order],
        ),
    )
    assert_same(shuffled, cause)


@pytest.mark.parametrize("cause", SEEDS)
def test_in_a_mirror_only_left_and_right_change(cause: str) -> None:
    mirrored = moved(seeded_tube(cause), np.diag([-1.0, 1.0, 1.0]), np.zeros(3))
    assert_same(mirrored, cause)
    there, here = ([e.cluster.worst.place.side.split() for e in said] for said in (explained(mirrored), told(cause)))
    assert {side for _, side in here} != {"middle"}
    assert sorted([end, SWAPPED[side]] for end, side in there) == sorted(here)


@pytest.mark.parametrize("units", PER_METRE)
def test_the_unit_of_the_files_does_not_matter(units: str, tmp_path: Path) -> None:
    scene, many = seeded_tube(TOO_TIGHT), PER_METRE[units]
    skin = write_obj(tmp_path / "body.obj", scene.body.vertices * many, scene.body.faces)
    for name, delta in zip(scene.body.morph_names, scene.body.deltas):
        write_obj(tmp_path / "morphs" / f"{name}.obj", (scene.body.vertices + delta) * many, scene.body.faces)
    cloth = write_obj(tmp_path / "tube.obj", scene.garment.vertices * many, scene.garment.faces)
    body = load_body(skin, units=units).body
    order = [body.morph_names.index(name) for name in scene.body.morph_names]
    assert sorted(order) == list(range(len(order)))
    assert_same(replace(scene, body=body, garment=load_garment(cloth, units=units).garment), TOO_TIGHT)


def test_a_clean_garment_stays_clean_however_finely_it_is_meshed() -> None:
    scene = clean_tube()
    assert explained(scene) == ()
    finer = quarter(scene.garment.vertices, scene.garment.faces)
    assert explained(replace(scene, garment=Garment.of("tube", *finer))) == ()
