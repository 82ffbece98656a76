"""The search for triangles in a cone leaves out none that a ray of the cone meets."""

import numpy as np
import pytest

from dressform.mesh.cone_kernels import slots_in_cone
from dressform.mesh.rays import first_hit
from dressform.mesh.tree import Tree
from dressform.mesh.tree_kernels import STACK
from meshes import torus


@pytest.mark.parametrize("angle", [0.0, 10.0, 60.0])
def test_every_triangle_that_a_ray_meets_is_listed_and_most_others_are_not(angle: float) -> None:
    rng = np.random.default_rng(int(angle))
    tree = Tree(*torus(1.0, 0.4, around=24, across=16))
    stack, found = np.zeros(STACK, dtype=np.int64), np.zeros(len(tree.faces), dtype=np.int64)
    arrays, cosine, listed, met = (tree.slots, tree.bounds, tree.first, tree.count), np.cos(np.radians(angle)), 0, 0
    for _ in range(60):
        axis, tip = rng.normal(size=(2, 3))
        axis /= np.linalg.norm(axis)
        spread, near, far = rng.choice([0.0, 0.05]), rng.choice([0.0, 0.3]), rng.choice([np.inf, 1.2])
        across = rng.normal(size=(200, 3))
        across -= (across @ axis)[:, None] * axis
        across /= np.linalg.norm(across, axis=1)[:, None]
        lean = np.radians(angle) * np.sqrt(rng.uniform(size=(200, 1)))
        rays = np.cos(lean) * axis + np.sin(lean) * across
        moved = rng.normal(size=(200, 3))
        starts = tip + spread * moved / np.linalg.norm(moved, axis=1)[:, None]
        number = slots_in_cone(arrays, tip, spread, axis, near, far, cosine - 1e-9, stack, found)
        hit = first_hit(tree, starts, rays, near=near, far=far).faces
        assert np.isin(hit[hit >= 0], tree.order[found[:number]]).all()
        assert slots_in_cone(arrays, tip, spread, axis, near, far, cosine - 1e-9, stack, found[:0]) == -(number > 0)
        listed, met = listed + number, met + len(np.unique(hit[hit >= 0]))
    assert met > 20
    assert listed < 0.6 * 60 * len(tree.faces)
