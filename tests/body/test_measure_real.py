"""Real bodies measure what their authors measured, and nearly the same however they are meshed and turned."""

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from dressform.body.body import Body
from dressform.body.measure import Measurer
from dressform.body.measure_axes import leg_slices
from dressform.body.measure_marks import UP, Mark
from dressform.body.measure_slices import Slices
from dressform.body.measure_tape import Tape
from dressform.body.range import Range
from measured import base_measures, values
from realdata import real


def obj_arrays(name: str) -> tuple[np.ndarray, np.ndarray]:
    """Vertices and triangles of a plain OBJ."""
    lines = [line.split() for line in real(name).read_text().splitlines()]
    vertices = np.array([line[1:4] for line in lines if line[:1] == ["v"]], dtype=float)
    faces = np.array([[c.split("/")[0] for c in line[1:4]] for line in lines if line[:1] == ["f"]], dtype=np.int64)
    return vertices, faces - 1


def published(name: str) -> dict[str, float]:
    """What the authors of a real body measured on it, metres."""
    rows = [line.split(":") for line in real(name).read_text().splitlines() if line.startswith("  ")]
    return {key.strip(): float(value) / 100 for key, value in rows}


@pytest.mark.data
@pytest.mark.parametrize("name", ["mean_all", "mean_female"])
def test_a_real_body_measures_what_its_authors_measured(name: str) -> None:
    vertices, faces = obj_arrays(f"bodies/{name}.obj")
    taken = values(base_measures(Body(name, vertices, faces, (), np.zeros((0, *vertices.shape)), Range.unit(()))))
    theirs = published(f"bodies/{name}.yaml")
    assert taken["stature"] == pytest.approx(theirs["height"], abs=1e-4)
    close = {
        "wrist": "wrist",
        "under-bust": "underbust",
        "waist": "waist",
        "bust": "bust",
        "thigh": "leg_circ",
        "hip": "hips",
    }
    for ours, other in close.items():
        assert taken[ours] == pytest.approx(theirs[other], rel=0.01), ours


@pytest.mark.data
@pytest.mark.parametrize(
    ("ours", "other", "near"), [("under-bust", "underbust", 0.02), ("hip", "hips", 0.04), ("thigh", "leg_circ", 0.01)]
)
def test_a_real_man_measures_what_the_levels_of_the_authors_of_all_three_bodies_read_on_him(
    ours: str, other: str, near: float
) -> None:
    """His figures are not at hand, but all three bodies have one face list, so a level of theirs is one skin point.

    It is the point at which the tape reads what they published on both other bodies.
    """
    shapes = {name: obj_arrays(f"bodies/mean_{name}.obj") for name in ("all", "female", "male")}
    tapes = {name: Tape(Measurer(bare(*shape)).landmarks, shape[0]) for name, shape in shapes.items()}
    theirs = [published(f"bodies/mean_{name}.yaml")[other] for name in ("all", "female")]
    height = Measurer(bare(*shapes["all"])).measure(np.zeros(0)).named(ours).height
    assert height is not None
    best, expected = np.inf, 0.0
    for level in height + np.arange(-near, near, 5e-4):
        ring = outline(tapes["all"], ours, level)
        if not len(ring.pieces):
            continue
        mark = Mark.of_outline(ring)
        read = [float(outline(tape, ours, mark.at(tape.vertices)[1]).girths()[0]) for tape in tapes.values()]
        missed = float(np.abs(np.array(read[:2]) / theirs - 1).max())
        if missed < best:
            best, expected = missed, read[2]
    assert best < 0.002
    taken = values(base_measures(bare(*shapes["male"])))
    assert taken[ours] == pytest.approx(expected, rel=0.01)


def bare(vertices: np.ndarray, faces: np.ndarray) -> Body:
    return Body("bare", vertices, faces, (), np.zeros((0, *vertices.shape)), Range.unit(()))


def outline(tape: Tape, measure: str, level: float) -> Slices:
    """The outline of trunk or right leg at a level."""
    levels = np.array([level])
    if measure == "thigh":
        return leg_slices(tape.landmarks.body, tape.vertices, "right", UP, levels)
    return tape.landmarks.body.trunk_slices(tape.vertices, levels)


@pytest.mark.data
def test_levels_carried_by_the_skin_stay_near_those_found_anew() -> None:
    between, faces = obj_arrays("bodies/mean_all.obj")
    woman, _ = obj_arrays("bodies/mean_female.obj")
    carried = Measurer(Body("all", between, faces, ("woman",), (woman - between)[None], Range.unit(("woman",))))
    fresh = Measurer(Body("woman", woman, faces, (), np.zeros((0, *woman.shape)), Range.unit(())))
    first, second = values(carried.measure(np.ones(1))), values(fresh.measure(np.zeros(0)))
    for name in first:
        assert first[name] == pytest.approx(second[name], rel=0.025), name


@pytest.mark.data
def test_a_body_turned_by_a_few_degrees_is_measured_nearly_the_same() -> None:
    vertices, faces = obj_arrays("bodies/mean_female.obj")
    turned = vertices @ Rotation.from_euler("y", 5, degrees=True).as_matrix().T
    empty = np.zeros((0, *vertices.shape))
    straight = values(base_measures(Body("straight", vertices, faces, (), empty, Range.unit(()))))
    askew = values(base_measures(Body("askew", turned, faces, (), empty, Range.unit(()))))
    assert set(straight) == set(askew)
    for name in straight:
        assert askew[name] == pytest.approx(straight[name], rel=0.015), name
