"""Weights of the nearest part alone: nothing comes from joints that are not next to the foot's own."""

import numpy as np

from bent_limb import RADIUS, limb, wall
from dressform.body.skeleton import Skin
from dressform.garment.following import Following
from dressform.garment.garment import Garment
from dressform.lift.lift import make_lift
from dressform.lift.nearest_part import nearest_part_skin


def test_weight_of_a_joint_that_is_not_next_to_the_main_one_is_left_out() -> None:
    body = limb()
    count = len(body.vertices)
    skin = Skin(np.tile([0, 1, 2, 3], (count, 1)), np.tile([0.2, 0.5, 0.2, 0.1], (count, 1)))
    garment = Garment.of("sleeve", *wall(RADIUS + 0.006, -0.2, 0.2, rings=9, sides=16))
    for method in ("smooth", "nearest"):
        lift = make_lift(body, garment, Following(method=method))
        found = nearest_part_skin(lift, skin, np.array([-1, 0, 1, 0])).dense(4)
        # Joint 3 hangs on joint 0; the main joint 1 has 0 above it and 2 below it.
        assert np.allclose(found, np.array([0.2, 0.5, 0.2, 0.0]) / 0.9, atol=1e-12)
