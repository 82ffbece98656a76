"""The lowest point of a parabola in the range, and how often a search looks for hollows."""

import numpy as np
import pytest
from tests.phantoms import phantom_body, tube

from dressform.arrays import ClothPoints, VertexScalars, Weights
from dressform.body.body import Body
from dressform.body.range import Range
from dressform.garment.garment import Garment
from dressform.infer.cloth import ask_cloth, chosen_points
from dressform.infer.search import LOOKS_PER_HOLLOW, _lowest, search
from dressform.infer.skin import ShapedSkin, SkinView


def test_a_weight_whose_best_lies_beyond_its_end_is_put_at_that_end_exactly() -> None:
    box = Range(("a", "b", "c"), np.array([-0.5, -1.0, 0.25]), np.array([0.5, 1.0, 0.25]))
    information = np.diag([2.0, 3.0, 4.0])
    found = _lowest(information, information @ np.array([2.0, -3.0, 0.9]), box)
    assert found.tolist() == [0.5, -1.0, 0.25]


@pytest.mark.parametrize("seed", range(5))
def test_in_the_range_no_other_weights_are_lower(seed: int) -> None:
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(4, 4))
    information, pull = root @ root.T + 0.1 * np.eye(4), rng.normal(size=4)
    box = Range(tuple("abcd"), np.full(4, -0.4), np.full(4, 0.3))
    found = _lowest(information, pull, box)
    others = np.clip(found + rng.normal(scale=0.05, size=(500, 4)), box.low, box.high)
    heights = np.einsum("si,ij,sj->s", others, information, others) - 2 * others @ pull
    assert heights.min() >= found @ information @ found - 2 * found @ pull - 1e-9


class Watched(ShapedSkin):
    """A skin that notes the order in which it is looked at and searched for hollows."""

    def __init__(self, body: Body) -> None:
        super().__init__(body)
        self.noted: list[str] = []

    def look(self, points: ClothPoints, weights: Weights) -> SkinView:
        self.noted.append("look")
        return super().look(points, weights)

    def hollows(self, look: SkinView, weights: Weights) -> VertexScalars:
        self.noted[-1] += ", hollows"
        return super().hollows(look, weights)


def test_hollows_are_looked_for_at_the_start_and_in_every_third_round() -> None:
    skin, garment = Watched(phantom_body()), Garment.of("tube", *tube(clearance=0.03))
    chosen = chosen_points(skin, garment)
    cloth = ask_cloth(garment, chosen, skin.look(garment.vertices[chosen], np.zeros(3)))
    skin.noted.clear()
    search(skin, cloth, np.array([0.4, 0.0, 0.0]))
    assert len(skin.noted) > 2 * LOOKS_PER_HOLLOW
    assert skin.noted == ["look" + ", hollows" * (number % LOOKS_PER_HOLLOW == 0) for number in range(len(skin.noted))]
