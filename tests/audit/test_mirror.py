"""Left and right are compared at mirrored points; names that differ by their side belong together."""

import numpy as np
import pytest

from audit_phantoms import bump, joined, skin
from dressform.audit.mirror import Mirror, compare_sides, partner_by_name
from dressform.audit.moved import MorphAtWeight
from dressform.audit.skin import AuditedSkin
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.mesh.tree import Tree
from meshes import sphere
from phantoms import RADIUS


def _mirrored(shift: float = 0.0) -> tuple[AuditedSkin, Mirror]:
    vertices, faces = skin()
    moved = vertices + np.array([shift, 0.0, 0.0])
    base = AuditedSkin.of(Body("phantom", moved, faces, (), np.zeros((0, len(vertices), 3)), Range.unit(())))
    return base, Mirror.of(base, Tree(moved, faces))


def _flanks(left: float, right: float) -> np.ndarray:
    vertices, _ = skin()
    return bump(vertices, (RADIUS, 1.0, 0.0), 0.08, left) + bump(vertices, (-RADIUS, 1.0, 0.0), 0.08, right)


@pytest.mark.parametrize("ratio", [1.0, 0.5, 0.0, -1.0])
def test_asymmetry_of_unequal_sides_is_the_closed_form(ratio: float) -> None:
    base, mirror = _mirrored()
    deltas = _flanks(0.03, 0.03 * ratio)
    found = compare_sides(base, mirror, MorphAtWeight.of(base, deltas), deltas)
    assert found.asymmetry == pytest.approx(abs(1 - ratio) / np.sqrt(1 + ratio**2), abs=1e-6)
    assert found.left_share == pytest.approx(1 / (1 + ratio**2), abs=1e-6)
    assert found.difference.max() == pytest.approx(0.03 * abs(1 - ratio), rel=0.02, abs=1e-12)


@pytest.mark.parametrize(("ratio", "sides"), [(1.0, "both"), (0.6, "lopsided"), (0.0, "left"), (-1.0, "opposite")])
def test_sides_are_told_by_asymmetry_and_share(ratio: float, sides: str) -> None:
    base, mirror = _mirrored()
    deltas = _flanks(0.03, 0.03 * ratio)
    assert compare_sides(base, mirror, MorphAtWeight.of(base, deltas), deltas).sides == sides


def test_the_mirror_stands_where_the_body_stands() -> None:
    base, mirror = _mirrored(shift=0.4)
    assert mirror.gaps.max() < 1e-6
    deltas = _flanks(0.03, 0.03)
    assert compare_sides(base, mirror, MorphAtWeight.of(base, deltas), deltas).sides == "both"


def test_the_mirror_image_of_a_mirror_image_is_the_field() -> None:
    _, mirror = _mirrored()
    deltas = np.random.default_rng(2).standard_normal(_flanks(1.0, 0.0).shape)
    assert mirror.of_field(mirror.of_field(deltas)) == pytest.approx(deltas, abs=1e-6)


def test_what_has_no_mirrored_place_cannot_be_compared() -> None:
    ball, triangles = sphere(3, radius=0.1)
    vertices, faces = joined(skin(), (ball + np.array([0.6, 1.0, 0.0]), triangles))
    base = AuditedSkin.of(Body("lopped", vertices, faces, (), np.zeros((0, len(vertices), 3)), Range.unit(())))
    mirror = Mirror.of(base, Tree(vertices, faces))
    deltas = np.where(np.arange(len(vertices)) < len(vertices) - len(ball), 0.0, 0.01)[:, None] * np.ones(3)
    assert compare_sides(base, mirror, MorphAtWeight.of(base, deltas), deltas).sides == "unknown"


@pytest.mark.parametrize(
    ("name", "other"),
    [
        ("arm_l", "arm_r"),
        ("Left arm", "Right arm"),
        ("armLeft", "armRight"),
        ("L.thigh.2", "R.thigh.2"),
    ],
)
def test_names_that_differ_by_their_side_are_partners(name: str, other: str) -> None:
    names = ("belly", name, other, "arm_l_2", "R.thigh.3", "lap")
    assert partner_by_name(name, names) == other
    assert partner_by_name(other, names) == name


@pytest.mark.parametrize("name", ["belly", "lean_left", "l_to_r", "lap"])
def test_names_without_a_partner_have_none(name: str) -> None:
    assert partner_by_name(name, ("belly", "lean_left", "l_to_r", "lap", "rap")) == ""
