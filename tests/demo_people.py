"""The demo people, made once in a process."""

from functools import cache

import numpy as np

from dressform.body.body import Body
from dressform.demo.body import make_demo_bodies

MIRROR = np.array([-1.0, 1.0, 1.0])


@cache
def people() -> dict[str, Body]:
    return make_demo_bodies()


def volume(vertices: np.ndarray, faces: np.ndarray) -> float:
    a, b, c = (vertices[faces[:, k]] for k in range(3))
    return float(np.einsum("fi,fi->", a, np.cross(b, c)) / 6.0)
