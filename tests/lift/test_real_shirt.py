"""A real T-shirt on a real body: the figures of the comparison table hold (see docs/decisions/lift.md)."""

import numpy as np
import pytest
from jaxtyping import Float

from dressform.body.body import Body
from dressform.body.range import Range
from dressform.faults.pucker import pucker_index, pucker_windows
from dressform.formats.load import load_body, load_garment
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.lift.lift import Lift, make_lift
from realdata import real

pytestmark = pytest.mark.data
FLIP = np.array([-1.0, 1.0, 1.0])


@pytest.fixture(scope="module")
def body() -> Body:
    mean, female, male = (load_body(real(f"bodies/mean_{name}.obj")).body for name in ("all", "female", "male"))
    names = ("female", "male")
    deltas = np.stack([female.vertices - mean.vertices, male.vertices - mean.vertices])
    return Body("mean", mean.vertices, mean.faces, names, deltas, Range.unit(names))


@pytest.fixture(scope="module")
def shirt() -> Garment:
    garment = load_garment(real("garments/tshirt.obj")).garment
    centre = garment.vertices.mean(axis=0)
    return Garment.of("shirt", (garment.vertices - centre) * 1.26 + centre + [0.0, -0.072, 0.036], garment.faces)


@pytest.fixture(scope="module")
def lift(body: Body, shirt: Garment) -> Lift:
    return make_lift(body, shirt)


def test_the_smooth_lift_puckers_a_tenth_of_one_nearest_vertex(body: Body, shirt: Garment, lift: Lift) -> None:
    windows = pucker_windows(shirt.vertices, shirt.faces)

    def worst(moves: Float[np.ndarray, "K G 3"]) -> float:
        return max(float(np.percentile(pucker_index(windows, shirt.vertices + move), 95)) for move in moves)

    smooth = worst(lift.displacements(body.deltas))
    assert smooth < 20e-4
    assert smooth < 0.1 * worst(make_lift(body, shirt, Following(method="nearest")).displacements(body.deltas))


def test_a_mirrored_shirt_moves_like_the_shirt(body: Body, shirt: Garment, lift: Lift) -> None:
    # A belly of 5 cm, the same on both sides; the body itself is 3 mm off its mirror image.
    across = (body.vertices - [0.0, 1.05, 0.12]) / [0.16, 0.2, 0.12]
    belly = 0.05 * np.exp(-(across**2).sum(axis=1))[:, None] * np.array([0.0, 0.0, 1.0])
    mirrored = Garment.of("mirrored", shirt.vertices * FLIP, shirt.faces[:, ::-1])
    moved = lift.displacements(belly[None])[0]
    other = make_lift(body, mirrored).displacements(belly[None])[0] * FLIP
    assert np.linalg.norm(moved, axis=1).max() > 0.03
    assert np.sqrt(((moved - other) ** 2).sum(axis=1).mean()) < 1.2e-4
