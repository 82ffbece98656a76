"""Which vertices are asked: those of the layer next to the skin."""

import numpy as np
from tests.phantoms import phantom_body, tube

from dressform.garment.garment import Garment
from dressform.infer.cloth import ASKED, chosen_points
from dressform.infer.skin import ShapedSkin

SIDES, RINGS = 24, 9


def layered(count: int) -> Garment:
    """Tubes one over the other, 2 cm apart; each is shorter and turned against the one below it."""
    vertices, faces = [], []
    for layer in range(count):
        points, triangles = tube(
            clearance=0.02 * (layer + 1), bottom=0.7 + 0.01 * layer, top=1.2 - 0.01 * layer, rings=RINGS, sides=SIDES
        )
        angle = 0.05 * layer
        turn = np.array([[np.cos(angle), 0, np.sin(angle)], [0, 1, 0], [-np.sin(angle), 0, np.cos(angle)]])
        vertices.append(points @ turn.T)
        faces.append(triangles + layer * len(points))
    return Garment.of("layers", np.concatenate(vertices), np.concatenate(faces))


def test_of_four_layers_only_the_innermost_is_asked() -> None:
    chosen = chosen_points(ShapedSkin(phantom_body(sides=96)), layered(4))
    assert sorted(chosen.tolist()) == list(range(SIDES * RINGS))


def test_of_five_layers_too_few_vertices_are_next_to_the_skin_so_all_are_asked() -> None:
    chosen = chosen_points(ShapedSkin(phantom_body(sides=96)), layered(5))
    assert len(chosen) == ASKED
    assert set((chosen // (SIDES * RINGS)).tolist()) == {0, 1, 2, 3, 4}
