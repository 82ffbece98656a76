"""The field of an open seam: at every vertex the widest gap to a vertex that it coincided with."""

import numpy as np

from bare import bare_fit
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.graded.seam import SEAM
from dressform.garment.garment import Garment


def test_each_vertex_of_a_seam_has_the_widest_gap_to_its_twins_and_all_others_none() -> None:
    """Three panels meet in one point; a morph moves the second away by 3 mm and the third by 1 mm the other way."""
    panel = np.array([[0.0, 1.0, 0.0], [0.1, 1.0, 0.0], [0.0, 1.1, 0.0]])
    turns = [np.diag(signs) for signs in ([1.0, 1.0, 1.0], [-1.0, 1.0, 1.0], [-1.0, -1.0, 1.0])]
    meeting = np.concatenate([(panel - panel[0]) @ turn + panel[0] for turn in turns])
    # The second panel shares an edge with the first as well: vertices 2 and 5 coincide.
    moves = np.repeat([[0.0, 0.0, 0.0], [0.0, 0.0, 0.003], [0.0, 0.0, -0.001]], 3, axis=0)
    garment = Garment.of("panels", meeting, np.arange(9).reshape(3, 3))
    worn = GarmentOnBody(bare_fit(garment, ("part",), moves[None]))
    field = SEAM.field(worn.look(np.ones(1)))
    # 0 and its twins 3 and 6; edge ends 2 and 5; 4 and 7 coincide along the lower side.
    expected = [0.003, 0.0, 0.003, 0.004, 0.004, 0.003, 0.004, 0.004, 0.0]
    np.testing.assert_allclose(field, expected, atol=1e-12)
    assert SEAM.field(worn.look(np.zeros(1))).max() == 0.0
