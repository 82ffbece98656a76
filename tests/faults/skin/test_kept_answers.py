"""Answers about the base that are kept, and looks that share them."""

import numpy as np

from dressform.faults.skin.kept_answers import KeptAnswers
from dressform.faults.skin.show_through import ShowThroughLook, prepare_show_through
from dressform.mesh.tree import Tree
from fault_meshes import icosphere, make_body, sheet


def test_every_number_is_asked_once_and_answered_as_at_first() -> None:
    rng = np.random.default_rng(4)
    truth = rng.uniform(size=500) < 0.5
    kept, asked = KeptAnswers(), []
    for _ in range(60):
        numbers = rng.permutation(500)[: rng.integers(0, 60)]

        def find(new, numbers=numbers):
            asked.append(numbers[new])
            return truth[numbers[new]]

        np.testing.assert_array_equal(kept.get(numbers, find), truth[numbers])
    every = np.concatenate(asked)
    assert len(every) == len(np.unique(every)) == len(kept) > 450


def test_skin_shows_the_same_whether_other_shapes_were_looked_at_before_or_not() -> None:
    vertices, faces = icosphere(0.2, level=3)
    body = make_body(vertices, faces, rise=np.tile([0.0, 0.014, 0.0], (len(vertices), 1)))
    plain, triangles = sheet(0.13, count=12, height=0.204)
    cloth, skin = Tree(plain, triangles), Tree(vertices, faces)

    def look(base, weight):
        return ShowThroughLook(base, cloth, skin.refit(body.at(np.array([weight])))).exposed.areas

    shared = prepare_show_through(cloth, skin)
    for weight in (0.6, 1.0, 2.0, 1.0):
        np.testing.assert_array_equal(look(shared, weight), look(prepare_show_through(cloth, skin), weight))
    assert len(shared.hidden.answers) > 10
