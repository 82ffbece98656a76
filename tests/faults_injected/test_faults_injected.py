"""Nothing is lost when the program is killed, interrupted or starved: a short form of the campaign."""

import json
import os
import signal
from pathlib import Path

import pytest

from dressform.cli.exits import EXIT_CRASHED
from faults_injected.campaign import CLOSED, Bench, Tally, campaign, closed_folder
from faults_injected.children import Strike
from faults_injected.jobs import JOBS, Job, half_written, outputs

pytestmark = pytest.mark.skipif(
    not hasattr(os, "fork") or "DRESSFORM_CAMPAIGN" not in os.environ,
    reason="children are forked from a warm process: set DRESSFORM_CAMPAIGN, and run without other workers (-n 0)",
)
QUICK = tuple(job for job in JOBS if job.name in {"fit", "export from the page"})


@pytest.fixture(scope="module")
def fitting(tmp_path_factory: pytest.TempPathFactory) -> Bench:
    """The job `fit` with a whole run to compare with."""
    return Bench(JOBS[0], tmp_path_factory.mktemp("fit"))


@pytest.mark.timeout(300)
def test_kills_interrupts_and_full_disks_lose_nothing(tmp_path: Path) -> None:
    tallies = campaign(tmp_path, kills=8, interrupts=8, damage=1, seed=5, jobs=QUICK)
    assert [words for one in tallies for words in one.lost] == []
    assert sum(one.struck for one in tallies if one.name.startswith("kill")) >= 4


def test_kill_between_garment_and_receipt_leaves_no_receipt_of_another_garment(fitting: Bench) -> None:
    """Each moment from the rename of the garment to that of its receipt."""
    seen = set()
    for event in range(1, fitting.whole_run.events + 1):
        with fitting.place() as (here, temporary):
            ended = fitting.do(here, temporary, Strike(event=event))
            assert ended.code == -signal.SIGKILL
            assert half_written(here, fitting.whole) == []
            seen.add(tuple(name for name in outputs(here) if not name.startswith(".")))
    assert {(), ("fitted.glb",), ("fitted.glb", "fitted.receipt.json")} == seen


def test_old_receipt_goes_before_a_new_garment_comes(fitting: Bench) -> None:
    """Where both were there already: a receipt never stands beside a garment that it does not describe."""
    for event in range(1, fitting.whole_run.events + 1):
        with fitting.place() as (here, temporary):
            fitting.do(here, temporary)
            receipt = here / "out" / "fitted.receipt.json"
            told = json.loads(receipt.read_text())
            (here / "out" / "fitted.glb").write_bytes(b"glTF\x02\x00\x00\x00 as it was last week")
            told["files"]["fitted"]["sha256"] = "5" * 64
            receipt.write_text(json.dumps(told))
            fitting.do(here, temporary, Strike(event=event))
            glb_is_new = outputs(here)["fitted.glb"] == fitting.whole["fitted.glb"]
            if receipt.exists():
                is_old = json.loads(receipt.read_text())["files"]["fitted"]["sha256"] == "5" * 64
                assert is_old != glb_is_new


def test_folder_closed_to_writing_is_refused(fitting: Bench) -> None:
    closed = Tally("closed")
    for line in CLOSED:
        closed_folder(fitting, closed, line)
    assert closed.lost == []
    assert closed.struck == closed.tried == len(CLOSED)


def test_the_campaign_sees_what_is_half_written(tmp_path: Path) -> None:
    """The judge itself: a job that writes in place is found out."""

    def careless(folder: Path) -> int:
        with (folder / "out" / "plain.txt").open("w") as file:
            file.write("first half, ")
            file.flush()
            os.mkdir(folder / "out" / "event")
            file.write("second half")
        os.rmdir(folder / "out" / "event")
        return 0

    bench, tally = Bench(Job("careless", careless, 1.0), tmp_path), Tally("careless")
    bench.killed(tally, Strike(event=2))
    assert any("half-written ['plain.txt']" in words for words in tally.lost)


def test_the_campaign_sees_a_crash(tmp_path: Path) -> None:
    bench, tally = Bench(Job("crashing", _crashing, 1.0), tmp_path), Tally("crashing")
    bench.starved(tally, 1)
    assert any("ended with 70" in words for words in tally.lost)


def _crashing(folder: Path) -> int:
    try:
        (folder / "out" / "a.txt").write_text("more than a byte")
    except OSError:
        return EXIT_CRASHED
    return 0
