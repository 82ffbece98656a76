"""A sweep gives the same rows however it is spread, goes on where it stopped, and leaves nothing behind."""

import multiprocessing
from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

from dressform.body.body import Body
from dressform.body.shapes import Shape, ShapeSettings
from dressform.errors import ArgumentError, DressformError
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.registry import FAULTS
from dressform.faults.severity import Bands
from dressform.faults.wardrobe import plain_wardrobe
from dressform.fit.fit import Fit
from dressform.garment.following import DEFAULT_FOLLOWING, Following
from dressform.garment.garment import Garment
from dressform.sweep.results import SweepResult, SweepRow
from dressform.sweep.run import choose_shapes, run_sweep
from dressform.sweep.spread import Batch, SweepJob
from dressform.sweep.store import RowStore, open_shared, shared
from lift_phantoms import body_of, sphere

Scene = dict[str, Fit]
FEW = ShapeSettings(strongest=2, sobol=2)


WIDE, TALL = np.array([0.2, 0.0, 0.0]), np.array([0.0, 0.2, 0.0])


def shell(name: str, radius: float, *, follows: float) -> Fit:
    """A shell that takes part in both morphs of the ball by a share."""
    vertices, faces = sphere(radius, rows=14, columns=20, twist=0.1)
    deltas = follows * np.stack([vertices * WIDE, vertices * TALL])
    return Fit(grown_ball(), Garment.of(name, vertices, faces), DEFAULT_FOLLOWING, vertices, deltas)


@cache
def grown_ball() -> Body:
    """A ball of 20 cm that grows sideways or upward."""
    skin = sphere(0.2, rows=16, columns=24)
    return body_of(skin, wide=skin[0] * WIDE, tall=skin[0] * TALL)


def ball_and_shells() -> Scene:
    """Two shells round the ball: a loose one follows it, a tight one does so by half."""
    return {"loose": shell("loose", 0.23, follows=1.0), "tight": shell("tight", 0.205, follows=0.5)}


@pytest.fixture(scope="module")
def scene() -> Scene:
    return ball_and_shells()


@pytest.fixture(scope="module")
def shapes(scene: Scene) -> dict[str, list[Shape]]:
    return choose_shapes(scene, settings=FEW, worst=2)


@pytest.fixture(scope="module")
def seen() -> list[tuple[int, int]]:
    """What the sweep in one process told its progress."""
    return []


@pytest.fixture(scope="module")
def alone(scene: Scene, shapes: dict[str, list[Shape]], seen: list[tuple[int, int]]) -> SweepResult:
    return run_sweep(scene, shapes, progress=lambda done, total: seen.append((done, total)))


def contents(rows: tuple[SweepRow, ...]) -> list[tuple[object, ...]]:
    """Everything of the rows but the time they took."""
    return [(row.garment, row.label, row.weights.tolist(), repr(row.faults)) for row in rows]


def test_each_garment_is_checked_on_the_base_its_own_worst_corners_and_the_common_shapes(
    shapes: dict[str, list[Shape]],
) -> None:
    labels = [shape.label for shape in shapes["tight"]]
    assert labels[:2] == ["base", "worst 1"]
    assert {"wide=1", "tall=1", "sobol 1", "sobol 2"} <= set(labels)
    assert all(len({tuple(shape.weights) for shape in wanted}) == len(wanted) for wanted in shapes.values())


def test_without_worst_corners_the_shapes_are_the_common_ones(scene: Scene) -> None:
    chosen = choose_shapes(scene, settings=FEW, worst=0)
    assert chosen["loose"] is not chosen["tight"]
    assert [s.label for s in chosen["loose"]] == [s.label for s in chosen["tight"]]
    assert not any(shape.label.startswith("worst") for shape in chosen["loose"])


def test_rows_come_in_the_order_of_garments_and_shapes(alone: SweepResult, shapes: dict[str, list[Shape]]) -> None:
    assert [(row.garment, row.label) for row in alone.rows] == [
        (key, shape.label) for key, wanted in shapes.items() for shape in wanted
    ]
    assert all(seconds > 0 for seconds in alone.prepare_seconds.values())


def test_the_shell_that_follows_half_lets_the_ball_through_and_the_other_does_not(alone: SweepResult) -> None:
    worst = alone.worst()
    assert set(worst["tight"]) == set(FAULTS)
    assert worst["tight"]["exposed"].values["exposed"] > 1e-3
    assert worst["loose"]["exposed"].values["exposed"] == 0
    assert worst["tight"]["depth"].values["depth"] == max(row.values["depth"] for row in alone.of("tight"))


def test_two_processes_give_the_rows_of_one(scene: Scene, shapes: dict[str, list[Shape]], alone: SweepResult) -> None:
    spread = run_sweep(scene, shapes, workers=2)
    assert contents(spread.rows) == contents(alone.rows)
    assert not multiprocessing.active_children()


def test_a_garment_alone_goes_prepared_to_its_processes_and_gives_the_same_rows(
    scene: Scene, shapes: dict[str, list[Shape]], alone: SweepResult, monkeypatch: pytest.MonkeyPatch
) -> None:
    worn = plain_wardrobe().worn(scene["tight"])
    worn.prepare()
    with shared(SweepJob(scene, Bands(), {}, ready={"tight": (worn, 0.5)})) as path:
        run = open_shared(path).begin()
    monkeypatch.setattr(GarmentOnBody, "prepare", lambda self: pytest.fail("it was prepared before"))
    weights = np.array([shape.weights for shape in shapes["tight"][:3]])
    prepared, *rows = run(Batch("tight", (0, 1, 2), weights, (-1, -1, -1)))
    assert prepared.seconds == 0.5
    assert [repr(row.faults) for row in rows] == [repr(row.faults) for row in alone.of("tight")[:3]]
    monkeypatch.undo()
    tight = {"tight": scene["tight"]}
    spread = run_sweep(tight, {"tight": shapes["tight"]}, workers=2, wardrobe=plain_wardrobe())
    assert contents(spread.rows) == contents(alone.of("tight"))


def test_processes_get_a_body_that_garments_share_once(scene: Scene) -> None:
    with shared(SweepJob(scene, Bands(), {})) as path:
        fits = open_shared(path).fits
        both = path.stat().st_size
    with shared(SweepJob({"loose": scene["loose"]}, Bands(), {})) as path:
        one = path.stat().st_size
    assert fits["loose"].body is fits["tight"].body
    assert np.array_equal(fits["tight"].body.deltas, grown_ball().deltas)
    tight = scene["tight"]
    made = tight.garment
    cloth = (made.vertices, made.faces, made.face_parts, made.strength, tight.base, tight.deltas)
    assert both - one < sum(array.nbytes for array in cloth) + 2048


def test_progress_counts_every_row_once(alone: SweepResult, seen: list[tuple[int, int]]) -> None:
    assert seen == [(done, len(alone.rows)) for done in range(len(alone.rows) + 1)]


@pytest.mark.parametrize("workers", [1, 2])
def test_an_interrupted_sweep_goes_on_where_it_stopped(
    scene: Scene, shapes: dict[str, list[Shape]], alone: SweepResult, tmp_path: Path, workers: int
) -> None:
    def interrupt(done: int, total: int) -> None:
        if done == 5:
            raise KeyboardInterrupt

    with RowStore(tmp_path / "rows.db") as store:
        with pytest.raises(KeyboardInterrupt) as caught:
            run_sweep(scene, shapes, store=store, workers=workers, progress=interrupt)
        assert caught.tb is not None  # even while somebody holds on to the error
        assert not multiprocessing.active_children()
        resumed = run_sweep(scene, shapes, store=store)
        assert sum(row.kept for row in resumed.rows) == 5
        again = run_sweep(scene, shapes, store=store)
    assert contents(resumed.rows) == contents(again.rows) == contents(alone.rows)
    assert all(row.kept for row in again.rows)
    assert set(again.prepare_seconds.values()) == {0.0}


def kept_after(scene: Scene, shapes: Mapping[str, list[Shape]], path: Path, **changes: object) -> int:
    """How many rows of an earlier sweep are taken over by a later one."""
    with RowStore(path) as store:
        return sum(row.kept for row in run_sweep(scene, shapes, store=store, **changes).rows)  # type: ignore[arg-type]


def test_what_has_changed_is_measured_again_and_nothing_else(
    scene: Scene, shapes: dict[str, list[Shape]], tmp_path: Path
) -> None:
    fits, path = scene, tmp_path / "rows.db"
    two = {key: wanted[:2] for key, wanted in shapes.items()}
    assert kept_after(scene, two, path) == 0
    moved = replace(fits["tight"], base=fits["tight"].base * 1.001)
    assert kept_after(fits | {"tight": moved}, two, path) == 2
    assert kept_after(scene, two, path, bands=Bands(depth=(0.1, 0.2, 0.3))) == 0
    other = replace(grown_ball(), deltas=grown_ball().deltas * 0.999)
    assert kept_after({key: replace(fit, body=other) for key, fit in fits.items()}, two, path) == 0
    roomy = {key: replace(fit, following=Following(margin_mm=9.0)) for key, fit in fits.items()}
    assert kept_after(roomy, two, path) == 4
    assert kept_after(scene, {key: wanted[:3] for key, wanted in shapes.items()}, path) == 4
    assert kept_after(scene, two, path, under={"loose": ["tight"]}) == 2


def test_a_layer_that_comes_under_another_is_found(scene: Scene, shapes: dict[str, list[Shape]]) -> None:
    fits = scene
    still = replace(fits["loose"], deltas=np.zeros_like(fits["loose"].deltas))
    grown = {"loose": [shape for shape in shapes["loose"] if shape.label in ("wide=1", "wide=1 tall=1", "worst 1")]}
    full = {"loose": still, "tight": shell("tight", 0.205, follows=1.0)}
    layered = run_sweep(full, grown, under={"loose": ["tight"]})
    apart = run_sweep(full, grown)
    assert layered.worst()["loose"]["layers"].values["layers"] > 0
    assert apart.worst()["loose"]["layers"].values["layers"] == 0


def test_an_error_of_a_process_is_raised_where_the_sweep_was_asked_for(scene: Scene) -> None:
    wrong = {"loose": [Shape("too many weights", np.zeros(5))]}
    with pytest.raises(ArgumentError, match="2 finite weights"):
        run_sweep(scene, wrong, workers=2)
    assert not multiprocessing.active_children()


@pytest.mark.parametrize("workers", [1, 2])
def test_garment_that_cannot_be_measured_is_told_and_the_others_go_on(
    scene: Scene, shapes: dict[str, list[Shape]], workers: int
) -> None:
    wrong = Shape("too many weights", np.zeros(5))
    asked = {"tight": [wrong] * 9, "loose": shapes["loose"][:2]}
    found = run_sweep(scene, asked, workers=workers, goes_on=True)
    assert list(found.failed) == ["tight"]
    assert "2 finite weights" in found.failed["tight"]
    whole = run_sweep(scene, {"loose": asked["loose"]})
    assert [(row.garment, row.values) for row in found.rows] == [(row.garment, row.values) for row in whole.rows]
    with pytest.raises(ArgumentError, match="2 finite weights"):
        run_sweep(scene, {"tight": [wrong]}, workers=workers, goes_on=True)


def test_a_process_that_dies_is_told_in_plain_words(scene: Scene, shapes: dict[str, list[Shape]]) -> None:
    def kill(done: int, total: int) -> None:
        if done == 1:
            for child in multiprocessing.active_children():
                child.kill()

    with pytest.raises(DressformError, match="ended without a word"):
        run_sweep(scene, shapes, workers=2, progress=kill)
    assert not multiprocessing.active_children()


def test_names_that_belong_to_nothing_are_refused(scene: Scene, shapes: dict[str, list[Shape]]) -> None:
    with pytest.raises(ArgumentError, match="`shapes` must be for the garments loose, tight, got 'cap'"):
        run_sweep(scene, {"cap": []})
    with pytest.raises(ArgumentError, match="`under` must be for the garments loose, tight, got 'cap'"):
        run_sweep(scene, shapes, under={"loose": ["cap"]})


def test_no_processes_are_refused(scene: Scene, shapes: dict[str, list[Shape]]) -> None:
    with pytest.raises(ArgumentError, match="`workers` must be 1 or more, got 0"):
        run_sweep(scene, shapes, workers=0)


def test_a_sweep_of_nothing_is_empty(scene: Scene) -> None:
    result = run_sweep(scene, {"loose": []}, workers=2)
    assert result.rows == ()
    assert result.worst() == {}
