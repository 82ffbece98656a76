"""The audit on real mean bodies: what it says of their own morphs, and of faults put onto them."""

from pathlib import Path

import numpy as np
import pytest

from dressform.audit.audit import audit_body
from dressform.audit.results import BodyAudit, MorphAudit
from dressform.body.body import Body
from dressform.body.range import Range
from realdata import real

pytestmark = pytest.mark.data

CHEST, BACK = np.array([0.0, 1.25, 0.2]), np.array([0.08, 1.2, -0.2])
FOREARM = np.array([0.45, 1.05, 0.0])


def read_obj(path: Path) -> tuple[np.ndarray, np.ndarray]:
    rows = [line.split() for line in path.read_text().splitlines()]
    vertices = np.array([row[1:4] for row in rows if row[:1] == ["v"]], dtype=float)
    faces = np.array([[corner.split("/")[0] for corner in row[1:4]] for row in rows if row[:1] == ["f"]], dtype=int) - 1
    return vertices, faces


def nearest(vertices: np.ndarray, place: np.ndarray) -> int:
    return int(np.argmin(np.linalg.norm(vertices - place, axis=1)))


def bump(vertices: np.ndarray, place: np.ndarray, width: float, move: np.ndarray) -> np.ndarray:
    away = np.linalg.norm(vertices - vertices[nearest(vertices, place)], axis=1)
    return (np.exp(-((away / width) ** 2)) * (away < 3 * width))[:, None] * move


@pytest.fixture(scope="module")
def audit() -> BodyAudit:
    vertices, faces = read_obj(real("bodies/mean_all.obj"))
    deltas = {name: read_obj(real(f"bodies/mean_{name}.obj"))[0] - vertices for name in ("female", "male")}
    forward = np.array([0.0, 0.0, 0.03])
    away = np.abs(vertices[:, :2] - vertices[nearest(vertices, BACK), :2])
    aside = np.linalg.norm((vertices - CHEST) * np.array([1.0, 1.0, 0.3]), axis=1)
    deltas["chest"] = (np.exp(-((aside / 0.08) ** 2)) * (aside < 0.24))[:, None] * forward
    deltas["patch"] = ((away < 0.06).all(axis=1) & (vertices[:, 2] < 0))[:, None] * np.array([0.0, 0.0, -0.012])
    deltas["stray"] = deltas["chest"].copy()
    deltas["stray"][nearest(vertices, BACK)] += np.array([0.0, 0.0, -0.004])
    deltas["island"] = deltas["chest"] + bump(vertices, FOREARM, 0.01, np.array([0.0, 0.002, 0.0]))
    names = tuple(deltas)
    return audit_body(Body("mean", vertices, faces, names, np.stack(list(deltas.values())), Range.unit(names)), pairs=2)


def morph(audit: BodyAudit, name: str) -> MorphAudit:
    return next(one for one in audit.morphs if one.name == name)


@pytest.mark.parametrize("name", ["female", "male"])
def test_what_real_people_differ_by_is_calm_and_alike_on_both_sides(audit: BodyAudit, name: str) -> None:
    found = morph(audit, name)
    assert {one.fault for one in found.findings} <= {"crossing", "folded"}
    assert found.severity in {"clean", "slight"}
    assert found.sides == "both"
    assert found.asymmetry < 0.05
    assert found.roughness < 0.012
    assert found.patch_share < 0.1


def test_what_the_base_has_already_is_blamed_on_no_morph(audit: BodyAudit) -> None:
    assert audit.base_crossing > 0
    assert morph(audit, "chest").findings == ()


def test_one_morph_beside_its_opposite_takes_no_more_than_it_does(audit: BodyAudit) -> None:
    """All of a real body moves, so the first pair is female with male."""
    assert audit.pairs_looked_at == 2
    assert audit.pairs_that_overlap >= 5


@pytest.mark.parametrize(("name", "fault"), [("patch", "rigid_patch"), ("stray", "stray"), ("island", "islands")])
def test_a_fault_put_onto_a_real_body_is_found_where_it_is_and_no_other(
    audit: BodyAudit, name: str, fault: str
) -> None:
    (found,) = morph(audit, name).findings
    assert found.fault == fault
    height = {"patch": BACK[1], "stray": BACK[1], "island": FOREARM[1]}[name]
    vertices = read_obj(real("bodies/mean_all.obj"))[0]
    assert found.spots[0].place.height == pytest.approx(height - vertices[:, 1].min(), abs=0.06)
    sizes = {"patch": 0.012, "stray": 0.004, "island": 0.002}
    assert found.value == pytest.approx(sizes[name], rel=0.1)
