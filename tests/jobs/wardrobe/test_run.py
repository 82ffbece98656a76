"""A wardrobe: what one garment's own check finds, in any number of processes, whatever fails or is killed meanwhile."""

import signal
from collections.abc import Iterator
from pathlib import Path

import msgspec
import pytest

import dressform as df
from dressform.body.shapes import ShapeSettings
from dressform.formats.results.check_json import to_results
from dressform.jobs.store.finished import FinishedStore
from dressform.jobs.wardrobe import check_work
from dressform.jobs.wardrobe.check_work import timeless
from dressform.sweep.crew import Processes
from wardrobes import FEW, MortalWork, body_of, checked, kept, small_wardrobe


@pytest.fixture(scope="module")
def wardrobe(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_wardrobe(tmp_path_factory.mktemp("small"))


@pytest.fixture(scope="module")
def once(wardrobe: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[FinishedStore]:
    """The wardrobe checked by one process."""
    with FinishedStore(tmp_path_factory.mktemp("store") / "s.db") as store:
        found = checked(wardrobe, store)
        assert (found.run.done, found.run.kept) == (3, 0)
        yield store


def test_a_garment_in_a_wardrobe_gets_what_a_check_of_it_alone_finds(wardrobe: Path, once: FinishedStore) -> None:
    again = checked(wardrobe, once)
    body = body_of(wardrobe)
    (tight,) = (one for one in again.garments() if one.name == "tight")
    fit = df.fit(body, df.load_garment(wardrobe / "tight.glb", beside=body))
    alone = to_results(df.check(fit, shapes=FEW, causes=False).report).garments[0]
    assert tight.source == alone.source
    assert msgspec.json.encode(timeless(tight)) == msgspec.json.encode(timeless(alone))


def test_a_broken_garment_is_told_and_costs_the_others_nothing(wardrobe: Path, once: FinishedStore) -> None:
    found = checked(wardrobe, once)
    assert [(one.name, one.stage) for one in found.failed] == [("bad", "read")]
    assert str(wardrobe / "bad.glb") in found.failed[0].reason
    assert found.lines[0].name == "tight"
    assert {line.name for line in found.lines} == {"tight", "t0", "t1"}
    assert found.lines[0].severity == "grave"


def test_a_second_run_does_only_what_changed(wardrobe: Path, once: FinishedStore, tmp_path: Path) -> None:
    store = FinishedStore(tmp_path / "s.db")
    for one in once.entries(with_data=True):
        store.put(one)
    again = checked(wardrobe, store)
    assert (again.run.done, again.run.kept) == (0, 3)
    moved = tmp_path / "wardrobe"
    moved.mkdir()
    for path in wardrobe.glob("*.glb"):
        (moved / path.name).write_bytes(path.read_bytes())
    (moved / "t0.glb").write_bytes((wardrobe / "t1.glb").read_bytes())
    changed = checked(wardrobe, store, asked=[moved])
    assert (changed.run.done, changed.run.kept) == (1, 2)  # where a file lies does not matter, what it holds does
    assert checked(wardrobe, store, shapes=ShapeSettings(sobol=0, strongest=0)).run.kept == 0


def test_two_processes_keep_the_same_bytes_as_one(wardrobe: Path, once: FinishedStore, tmp_path: Path) -> None:
    with FinishedStore(tmp_path / "s.db") as store:
        checked(wardrobe, store, engine=Processes(2))
        found = kept(store)
    assert found == {name: kept(once)[name] for name in found}
    assert set(found) == {"tight", "t0", "t1"}


def test_shapes_that_are_shared_among_processes_give_the_same_bytes(
    wardrobe: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("dressform.jobs.wardrobe.run.WORTH_SHARING", 1)
    with FinishedStore(tmp_path / "one.db") as one, FinishedStore(tmp_path / "shared.db") as shared:
        asked = [wardrobe / "tight.glb"]
        checked(wardrobe, one, asked=asked)
        engine = _Counting(3)
        checked(wardrobe, shared, asked=asked, engine=engine)
        assert engine.given == 4  # three shares, and the rest
        assert kept(one) == kept(shared)


class _Counting:
    """Works in this process as if there were several, and counts its tasks."""

    is_local = False

    def __init__(self, workers: int) -> None:
        self.workers, self.given = workers, 0

    def run(self, job: object, tasks: object, follow: object) -> Iterator[object]:
        for found in Processes(1).run(job, tasks, follow):  # type: ignore[arg-type]
            self.given += 1
            yield found


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal here")
def test_a_process_that_is_killed_loses_nothing_and_nothing_is_kept_twice(
    wardrobe: Path, once: FinishedStore, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("dressform.jobs.wardrobe.check.CheckWork", MortalWork)
    monkeypatch.setenv("MORTAL_MARK", str(tmp_path / "mark"))
    events: list[str] = []
    keep = FinishedStore.put
    monkeypatch.setattr(FinishedStore, "put", lambda self, work: (events.append(work.name), keep(self, work))[1])
    with FinishedStore(tmp_path / "s.db") as store:
        found = checked(wardrobe, store, engine=Processes(2))
        assert (tmp_path / "mark").read_text() == "once"
        assert sorted(events) == ["t0", "t1", "tight"]
        assert [one.name for one in found.failed] == ["bad"]
        assert {name: kept(store)[name][1:] for name in events} == {name: kept(once)[name][1:] for name in events}


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal here")
def test_a_garment_at_which_every_process_dies_is_told_and_the_others_go_on(
    wardrobe: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("dressform.jobs.wardrobe.check.CheckWork", MortalWork)
    (tmp_path / "mark").write_text("always")
    monkeypatch.setenv("MORTAL_MARK", str(tmp_path / "mark"))
    with FinishedStore(tmp_path / "s.db") as store:
        found = checked(wardrobe, store, engine=Processes(2))
    assert {one.name: one.stage for one in found.failed} == {"t0": "measured", "bad": "read"}
    assert "ended without a word" in next(one.reason for one in found.failed if one.name == "t0")
    assert {line.name for line in found.lines} == {"t1", "tight"}


def test_a_fault_of_the_program_is_told_of_its_garment_alone(
    wardrobe: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    check = check_work.check

    def broken(fits: dict[str, df.Fit], **options: object) -> object:
        if "t1 smooth" in fits:
            raise ZeroDivisionError("nobody foresaw it")
        return check(fits, **options)

    monkeypatch.setattr(check_work, "check", broken)
    with FinishedStore(tmp_path / "s.db") as store:
        found = checked(wardrobe, store)
        assert "t1" not in kept(store)
    told = next(one.reason for one in found.failed if one.name == "t1")
    assert "a fault of the program, not of the file (ZeroDivisionError: nobody foresaw it)" in told
    assert {line.name for line in found.lines} == {"t0", "tight"}


def test_what_another_run_takes_out_meanwhile_is_told_and_afterwards_costs_nothing(
    wardrobe: Path, once: FinishedStore, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "s.db"
    with FinishedStore(path) as store, FinishedStore(path) as other:
        for one in once.entries(with_data=True):
            store.put(one)
        look = FinishedStore.get

        def robbed(self: FinishedStore, key: bytes) -> object:
            found = look(self, key)
            if self is store and found is not None and found.name == "t0":
                other.remove([key])
            return found

        monkeypatch.setattr(FinishedStore, "get", robbed)
        checked_now = checked(wardrobe, store)
        monkeypatch.undo()
        assert sorted(one.name for one in checked_now.failed) == ["bad", "t0"]
        assert "taken out of the store" in next(one.reason for one in checked_now.failed if one.name == "t0")
        assert {one.name for one in checked_now.lines} == {"t1", "tight"}
        other.remove([one.key for one in other.entries()])
        assert {one.name for one in checked_now.garments()} == {"t1", "tight"}
    with FinishedStore(path) as store:
        assert list(store.entries()) == []
