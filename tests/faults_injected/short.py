"""The short form of the campaign: what is computed is computed once, so that every run comes to its files at once.

    PYTHONPATH=tests python -m faults_injected.short

Prints what was found as JSON. The tests run it in a process of its own, since its children are forked from it.
"""

import json
import os
import signal
import sys
import tempfile
from dataclasses import asdict
from pathlib import Path
from typing import Any

from dressform.cli.commands import fit_command
from dressform.cli.exits import EXIT_CRASHED
from faults_injected.campaign import CLOSED, Bench, Tally, campaign, closed_folder
from faults_injected.children import Strike
from faults_injected.jobs import JOBS, Job, half_written, outputs

QUICK = tuple(job for job in JOBS if job.name in {"fit", "export from the page"})
OLD_HASH = "5" * 64


def keep_repairs() -> None:
    """Let `fit` take the first repair again: its children only read, write and end."""
    repaired, kept = fit_command._repaired, []

    def again(*asked: Any) -> Any:
        if not kept:
            kept.append(repaired(*asked))
        return kept[0]

    fit_command._repaired = again


def found(folder: Path) -> dict[str, Any]:
    """Everything that the tests ask about."""
    tallies = campaign(folder / "all", kills=12, interrupts=12, damage=1, seed=5, jobs=QUICK)
    fitting = Bench(JOBS[0], folder / "fit")
    closed = Tally("closed")
    for line in CLOSED:
        closed_folder(fitting, closed, line)
    return {
        "tallies": [asdict(one) for one in tallies],
        "between": between_garment_and_receipt(fitting),
        "old receipt": old_receipt_beside_a_new_garment(fitting),
        "closed": asdict(closed),
        "careless": careless_job(folder / "careless").lost,
        "crashing": crashing_job(folder / "crashing").lost,
    }


def between_garment_and_receipt(fitting: Bench) -> dict[str, Any]:
    """A kill at every event: what lay in the folder then, and what was half-written."""
    seen, wrong = set(), []
    for event in range(1, fitting.whole_run.events + 1):
        with fitting.place() as (here, temporary):
            ended = fitting.do(here, temporary, Strike(event=event))
            wrong += [] if ended.code == -signal.SIGKILL else [f"event {event}: ended with {ended.code}"]
            wrong += half_written(here, fitting.whole)
            seen.add(tuple(name for name in outputs(here) if not name.startswith(".")))
    return {"seen": sorted(seen), "wrong": wrong}


def old_receipt_beside_a_new_garment(fitting: Bench) -> dict[str, Any]:
    """Where both files were there already and a run is killed at every event: how often which stood there."""
    wrong, olds, news = [], 0, 0
    for event in range(1, fitting.whole_run.events + 1):
        with fitting.place() as (here, temporary):
            fitting.do(here, temporary)
            receipt = here / "out" / "fitted.receipt.json"
            told = json.loads(receipt.read_text())
            (here / "out" / "fitted.glb").write_bytes(b"glTF\x02\x00\x00\x00 as it was last week")
            told["files"]["fitted"]["sha256"] = OLD_HASH
            receipt.write_text(json.dumps(told))
            fitting.do(here, temporary, Strike(event=event))
            is_new = outputs(here)["fitted.glb"] == fitting.whole["fitted.glb"]
            olds, news = olds + (not is_new), news + is_new
            if receipt.exists():
                is_old = json.loads(receipt.read_text())["files"]["fitted"]["sha256"] == OLD_HASH
                wrong += [event] if is_old == is_new else []
    return {"wrong": wrong, "olds": olds, "news": news}


def careless_job(folder: Path) -> Tally:
    """The judge itself: a job that writes in place."""

    def careless(here: Path) -> int:
        with (here / "out" / "plain.txt").open("w") as file:
            file.write("first half, ")
            file.flush()
            os.mkdir(here / "out" / "event")
            file.write("second half")
        os.rmdir(here / "out" / "event")
        return 0

    tally = Tally("careless")
    Bench(Job("careless", careless, 1.0), folder).killed(tally, Strike(event=2))
    return tally


def crashing_job(folder: Path) -> Tally:
    """The judge itself: a job that crashes where the disk is full."""

    def crashing(here: Path) -> int:
        try:
            (here / "out" / "a.txt").write_text("more than a byte")
        except OSError:
            return EXIT_CRASHED
        return 0

    tally = Tally("crashing")
    Bench(Job("crashing", crashing, 1.0), folder).starved(tally, 1)
    return tally


def main() -> int:
    """Run, and print what was found."""
    keep_repairs()
    with tempfile.TemporaryDirectory() as name:
        told = found(Path(name))
        os.chdir("/")  # the jobs change into folders that go now
    print(json.dumps(told))
    return 0


if __name__ == "__main__":
    sys.exit(main())
