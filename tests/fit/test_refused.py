"""Bodies, garments and fits refuse what no measure could work with, when they are built and when they are asked."""

import subprocess
import sys
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.sparse import csr_array

from dressform.body.body import Body
from dressform.body.range import Range, checked_weights
from dressform.body.shapes import ShapeSettings, shapes_of, sobol_shapes
from dressform.body.skeleton import Skeleton, Skin
from dressform.errors import ArgumentError, MatchError, MeshError
from dressform.fit.follow import Follower
from dressform.fit.make import make_fit
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.garment.strength import with_strength
from dressform.mesh.factor import Factor
from dressform.proof.linear_mesh import linear_cloth, linear_mesh
from phantoms import phantom_body, phantom_tube

BODY, GARMENT = phantom_body(), phantom_tube()
FIT = make_fit(BODY, GARMENT, Following(method="surface"))


def spoilt(values: np.ndarray, new: float) -> np.ndarray:
    """A copy whose entry in the middle is `new`."""
    copy = values.copy()
    copy.ravel()[copy.size // 2] = new
    return copy


@pytest.mark.parametrize("new", [np.nan, np.inf, -np.inf])
@pytest.mark.parametrize(("whole", "part"), [
    (BODY, "vertices"), (BODY, "deltas"), (GARMENT, "vertices"), (FIT, "base"), (FIT, "deltas"),
])  # fmt: skip
def test_number_that_is_not_finite_is_refused_when_built(whole: Any, part: str, new: float) -> None:
    kind = type(whole).__name__
    with pytest.raises(ArgumentError, match=f"{kind}: `{part}` must be finite"):
        replace(whole, **{part: spoilt(getattr(whole, part), new)})


@pytest.mark.parametrize("new", [-1, 10**6])
@pytest.mark.parametrize("whole", [BODY, GARMENT])
def test_face_that_names_no_vertex_is_refused_when_built(whole: Body | Garment, new: int) -> None:
    with pytest.raises(ArgumentError, match=r"`faces` must be indices of \d+ vertices"):
        replace(whole, faces=spoilt(whole.faces, new))


def test_garment_without_triangles_is_refused() -> None:
    with pytest.raises(ArgumentError, match="Garment: `faces` must be one triangle or more, got none"):
        Garment.of("nothing", np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int64))


def test_part_that_has_no_name_is_refused() -> None:
    with pytest.raises(ArgumentError, match=r"`face_parts` must be parts 0\.\.0, got 0\.\.3"):
        replace(GARMENT, face_parts=spoilt(GARMENT.face_parts, 3))


@pytest.mark.parametrize("joint", [-1, 1])
def test_joint_that_the_skeleton_lacks_is_refused(joint: int) -> None:
    skeleton = Skeleton(("root",), np.array([-1]), np.eye(4)[None], np.eye(4)[None])
    joints = np.zeros((len(BODY.vertices), 1), dtype=np.int64)
    replace(BODY, skeleton=skeleton, skin=Skin(joints, np.ones(joints.shape)))
    with pytest.raises(MatchError, match=r"`skin` of 'phantom' must name joints 0\.\.0"):
        replace(BODY, skeleton=skeleton, skin=Skin(spoilt(joints, joint), np.ones(joints.shape)))


@pytest.mark.parametrize("new", [np.nan, np.inf, 1e300])
@pytest.mark.parametrize("ask", [BODY.at, FIT.at, Follower(FIT).at])
def test_weight_of_which_nothing_can_be_computed_is_refused(ask: Callable[..., Any], new: float) -> None:
    with pytest.raises(ArgumentError, match=r"at: `weights` must be finite and within ±1e\+06, got .* for morph 1"):
        ask(np.array([0.0, new, 0.0]))


@pytest.mark.parametrize("weights", [np.zeros((2, 3)), np.zeros(4)])
def test_weights_of_another_form_are_refused(weights: Any) -> None:
    with pytest.raises(ArgumentError, match=r"Body\.at: `weights` must be one number for each of 3 morphs"):
        checked_weights("Body.at", weights, 3)


def test_two_shapes_at_once_are_refused_where_types_are_not_checked() -> None:
    """In tests the types of arguments are checked before; a user's program has only what the functions check."""
    program = (
        "import numpy as np\n"
        "from dressform.body.body import Body\n"
        "from dressform.body.range import Range\n"
        "flat = Body('b', np.eye(3), np.array([[0, 1, 2]]), ('m',), np.zeros((1, 3, 3)), Range.unit(('m',)))\n"
        "flat.at(np.zeros((2, 1)))"
    )
    ended = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert "ArgumentError: Body.at: `weights` must be one number for each of 1 morphs" in ended.stderr


def test_proof_of_something_not_finite_is_refused_at_once() -> None:
    with pytest.raises(ArgumentError, match="LinearMesh: `terms` must be finite"):
        linear_mesh(FIT.base, spoilt(FIT.deltas, np.nan), GARMENT.faces)
    assert len(linear_cloth(FIT).terms) == len(FIT.base)


@pytest.mark.parametrize("bounds", [(-1e300, 1e300), (0.0, 2e6), (np.nan, 1.0), (-np.inf, 0.0)])
def test_range_beyond_what_can_be_computed_is_refused(bounds: tuple[float, float]) -> None:
    with pytest.raises(ArgumentError, match=r"Range: `belly` must be a finite interval within ±1e\+06 with low ≤ high"):
        Range(("belly",), np.array([bounds[0]]), np.array([bounds[1]]))


def test_more_shapes_than_anyone_could_wait_for_are_refused() -> None:
    with pytest.raises(ArgumentError, match=r"`count` must be 0 to 100,000, got 100,000,000"):
        sobol_shapes(BODY.range, 100_000_000)


def test_pairs_of_more_morphs_than_anyone_could_wait_for_are_refused() -> None:
    names = tuple(f"m{k}" for k in range(300))
    body = replace(BODY, morph_names=names, deltas=np.zeros((300, len(BODY.vertices), 3)), range=Range.unit(names))
    with pytest.raises(ArgumentError, match="`strongest` must be so few that their pairs have at most 100,000 shapes"):
        shapes_of(body, settings=ShapeSettings(strongest=1000))


@pytest.mark.parametrize("falloff", [np.inf, np.nan, -0.1])
def test_rim_of_no_width_is_refused(falloff: float) -> None:
    with pytest.raises(ArgumentError, match="`falloff` must be at least 0 m and finite"):
        with_strength(GARMENT, parts={GARMENT.part_names[0]: 0.0}, falloff=falloff)


def test_matrix_without_an_inverse_is_refused_as_ours() -> None:
    with pytest.raises(MeshError, match="Factor: `matrix` must have an inverse"):
        Factor(csr_array(np.array([[1.0, 1.0], [1.0, 1.0]])))


@pytest.mark.parametrize("size", [1e-4, 1e-6, 1e-30, 1e-200])
def test_garment_too_small_for_its_triangles_to_have_an_area_is_refused(size: float) -> None:
    body = replace(BODY, vertices=BODY.vertices * size, deltas=BODY.deltas * size)
    with pytest.raises(MeshError, match="`vertices` must span triangles with an area"):
        make_fit(body, replace(GARMENT, vertices=GARMENT.vertices * size))


@pytest.mark.parametrize("size", [1e-3, 1e-2, 0.1])
def test_small_garment_follows_as_the_large_one_does(size: float) -> None:
    body = replace(BODY, vertices=BODY.vertices * size, deltas=BODY.deltas * size)
    small = make_fit(body, replace(GARMENT, vertices=GARMENT.vertices * size), Following(method="surface"))
    np.testing.assert_allclose(small.deltas, FIT.deltas * size, atol=1e-12 * size)
