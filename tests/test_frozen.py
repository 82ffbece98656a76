"""Records are frozen in fact: their arrays and mappings cannot be written to, whatever became of them on the way."""

import copy
import pickle
from collections.abc import Callable

import numpy as np
import pytest

import dressform as df
from dressform.mesh import nearest_kernels
from dressform.mesh.nearest import closest
from dressform.mesh.tree import Tree
from dressform.sweep.store import open_shared, shared
from phantoms import phantom_body, phantom_tube

BODY, TUBE = phantom_body(), phantom_tube()
FIT = df.fit(BODY, TUBE)
ARRAYS = [
    *((BODY, name) for name in ("vertices", "faces", "deltas")),
    *((TUBE, name) for name in ("vertices", "faces", "face_parts", "strength")),
    *((FIT, name) for name in ("base", "deltas")),
    *((BODY.range, name) for name in ("low", "high")),
    (df.Following(mask=np.ones(3)), "mask"),
]


@pytest.mark.parametrize(("record", "name"), ARRAYS, ids=[f"{type(one).__name__}.{name}" for one, name in ARRAYS])
def test_no_array_of_a_record_can_be_written_to(record: object, name: str) -> None:
    values = getattr(record, name)
    before = values.copy()
    with pytest.raises(ValueError, match="read-only"):
        values[0] = 0
    assert np.array_equal(values, before)


def test_the_callers_own_array_stays_free_and_is_not_copied() -> None:
    vertices, low = np.eye(3), np.zeros(1)
    garment = df.Garment.of("x", vertices, np.array([[0, 1, 2]]))
    df.Range(("a",), low, np.ones(1))
    vertices[0, 0], low[0] = 2.0, 0.5
    assert np.shares_memory(garment.vertices, vertices)


def test_parts_and_mask_of_a_following_are_its_own() -> None:
    parts, mask = {"tube": 0.5}, np.ones(3)
    following = df.Following(parts=parts, mask=mask)
    parts["tube"], mask[0] = 0.0, 0.0
    assert following.parts == {"tube": 0.5}
    assert np.array_equal(following.mask, np.ones(3))
    with pytest.raises(TypeError, match="does not support item assignment"):
        following.parts["tube"] = 1.0  # type: ignore[index]  # that it is refused is what is tested
    assert repr(following) == "Following(method='smooth', parts={'tube': 0.5}, mask=<3 numbers>, margin_mm=2)"


@pytest.mark.parametrize("carry", [copy.deepcopy, lambda one: pickle.loads(pickle.dumps(one))], ids=["copy", "pickle"])
def test_what_is_copied_or_sent_to_a_process_is_the_same(carry: Callable[[df.Fit], df.Fit]) -> None:
    following = df.Following(parts={"tube": 0.5})
    fit = df.fit(BODY, TUBE, following)
    sent = carry(fit)
    assert sent.following == following
    assert type(sent.following.parts) is type(following.parts)
    assert np.array_equal(sent.at({"belly": 1}), fit.at({"belly": 1}))


def test_a_shared_fit_is_mapped_and_works() -> None:
    with shared(FIT) as path:
        opened = open_shared(path)
        assert np.array_equal(opened.at({"belly": 1}), FIT.at({"belly": 1}))
        assert opened.deltas.base is not None


def test_arrays_of_records_run_the_kernels_that_are_compiled_already() -> None:
    tree = Tree(BODY.vertices, BODY.faces)
    for points in (FIT.base, FIT.base.copy()):
        closest(tree, points)
    assert len(nearest_kernels.closest_points.signatures) == 1
