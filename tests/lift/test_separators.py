"""The separator of two halves lies in the half of which fewer vertices touch the other."""

import numpy as np
import pytest
from scipy.sparse import coo_array, csr_array

from dressform.lift.dissection import dissect

SPOKES, TAIL = 20, 19


@pytest.mark.parametrize("method", [1.0, -1.0])
def test_a_hub_alone_parts_its_spokes_from_its_tail(method: float) -> None:
    """Twenty spokes lie on one side, all joined to a hub; the hub and the tail that hangs on it lie on the other."""
    hub = SPOKES
    ends = np.array([(spoke, hub) for spoke in range(SPOKES)] + [(hub + i, hub + i + 1) for i in range(TAIL)])
    count = SPOKES + 1 + TAIL
    upper = coo_array((np.ones(len(ends)), ends.T), shape=(count, count))
    graph = csr_array(upper + upper.T)
    along = np.concatenate([np.linspace(0, 1, SPOKES), 2.0 + np.arange(1 + TAIL)])
    cuts = dissect(graph, method * along[:, None] * [1.0, 0.0, 0.0], leaf=30)
    assert cuts.order[-1] == hub
    assert np.diff(cuts.starts).tolist()[-1] == 1
    assert sorted(np.diff(cuts.starts).tolist()) == [1, TAIL, SPOKES]
