"""A campaign: the program is killed, interrupted and starved at many moments, and nothing may be lost or left.

    PYTHONPATH=tests python -m faults_injected.campaign --kills 200 --interrupts 50 --damage 200 --workers 15

Prints the table of `docs/reliability.md`. The exit code is 1 where anything was lost.
"""

import argparse
import json
import math
import os
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, redirect_stdout
from dataclasses import asdict, dataclass, field
from functools import partial
from pathlib import Path
from random import Random
from typing import Any

from dressform.cli.app import run
from faults_injected.children import Ended, Strike, run_child
from faults_injected.jobs import JOBS, Job, fresh, half_written, left_behind, outputs, prepare
from parts import Part, add_options, in_parts, words_of

LATEST = 1.15  # a strike comes at most at this share of the time that a whole run takes
BAD_INPUT = 2
WHOLE = Part()
CLOSED = (
    "fit --body body.glb tube.glb -o /proc/fitted.glb",
    "check --body body.glb tube.glb --shapes 0 --no-causes --workers 1 --json /proc/results.json",
    "check --body body.glb tube.glb --shapes 0 --no-causes --workers 1 --out /proc/results",
)
"""Command lines that write into /proc, which takes no files."""
ROOMS = (100, 5_000, 20_000, 60_000)
"""Bytes that a file may grow to where the disk is said to be full."""


@dataclass
class Tally:
    """What was tried of one kind, and what came of it.

    Attributes:
        name: For the table.
        tried: Runs that were struck.
        struck: Those that had not ended before.
        lost: What went wrong, in words.
        slowest: Longest time from an interrupt to the end, seconds.
    """

    name: str
    tried: int = 0
    struck: int = 0
    lost: list[str] = field(default_factory=list)
    slowest: float = 0.0


class Bench:
    """One job with the outputs of a whole run to compare with.

    Args:
        job: The job.
        folder: An empty folder to work in.
    """

    def __init__(self, job: Job, folder: Path) -> None:
        self.job, self.folder = job, folder
        prepare(folder / "seed")
        with silence():  # everything is compiled and loaded before the children fork
            job.run(fresh(folder / "first", folder / "seed"))
        with self.place() as (here, temporary):
            self.whole_run = self.do(here, temporary)
            self.whole = outputs(here)
        if self.whole_run.code not in job.codes or not self.whole:
            raise RuntimeError(f"{job.name} does not even run: {self.whole_run}")

    @contextmanager
    def place(self) -> Iterator[tuple[Path, Path]]:
        """A fresh folder with what the job reads, and one for temporary files."""
        root = Path(tempfile.mkdtemp(dir=self.folder))
        (root / "tmp").mkdir()
        try:
            yield fresh(root / "work", self.folder / "seed"), root / "tmp"
        finally:
            shutil.rmtree(root, ignore_errors=True)

    def do(self, here: Path, temporary: Path, strike: Strike | None = None, *, room: int = 0) -> Ended:
        """The job in a child."""
        return run_child(lambda: self.job.run(here), temporary, strike, room=room)

    def moments(self, random: Random, count: int, number: int) -> Iterator[Strike]:
        """Moments to strike: events of the file system first, spread over the run, then times by chance."""
        events = self.whole_run.events
        for n in range(count):
            if n % 2 and events:
                yield Strike(number, event=1 + (n // 2 * 7919) % events)
            else:
                yield Strike(number, seconds=random.uniform(0.0, LATEST * self.whole_run.seconds))

    def killed(self, tally: Tally, strike: Strike) -> None:
        """Kill a run, look at what it left, do it again."""
        with self.place() as (here, temporary):
            ended = self.do(here, temporary, strike)
            tally.tried += 1
            tally.struck += ended.code == -signal.SIGKILL
            self._look(tally, here, strike)
            self._again(tally, here, temporary, strike)

    def interrupted(self, tally: Tally, strike: Strike) -> None:
        """Interrupt a run: it says so, ends with 130, and leaves nothing at once."""
        with self.place() as (here, temporary):
            ended = self.do(here, temporary, strike)
            tally.tried += 1
            tally.slowest = max(tally.slowest, ended.after)
            if ended.code in self.job.codes and "interrupted" not in ended.err:
                return  # it had ended before
            tally.struck += 1
            if ended.code != 130 or "Traceback" in ended.err or ended.err.count("interrupted") != 1:
                tally.lost.append(f"{strike}: ended with {ended.code}, saying {ended.err[-300:]!r}")
            self._look(tally, here, strike)
            if left := left_behind(here, temporary):
                tally.lost.append(f"{strike}: left {left}")

    def starved(self, tally: Tally, room: int) -> None:
        """No file may grow beyond some bytes: a clean line, nothing half-written; with room the same job succeeds."""
        with self.place() as (here, temporary):
            ended = self.do(here, temporary, room=room)
            tally.tried += 1
            tally.struck += ended.code == BAD_INPUT
            if ended.code not in (*self.job.codes, BAD_INPUT) or "Traceback" in ended.err:
                tally.lost.append(f"room for {room}: ended with {ended.code}, saying {ended.err[-300:]!r}")
            self._look(tally, here, room)
            self._again(tally, here, temporary, room)

    def _look(self, tally: Tally, here: Path, strike: object) -> None:
        if wrong := half_written(here, self.whole):
            tally.lost.append(f"{strike}: half-written {wrong}")

    def _again(self, tally: Tally, here: Path, temporary: Path, strike: object) -> None:
        ended = self.do(here, temporary)
        if ended.code not in self.job.codes or outputs(here) != self.whole:
            tally.lost.append(f"{strike}: the run after it ended with {ended.code}, {ended.err[-300:]!r}")
        if left := left_behind(here, temporary):
            tally.lost.append(f"{strike}: the run after it left {left}")


@contextmanager
def silence() -> Iterator[None]:
    """What a job says in this process is nobody's table."""
    with open(os.devnull, "w", encoding="utf-8") as nowhere, redirect_stdout(nowhere):
        yield


def damage_store(bench: Bench, tally: Tally, random: Random) -> None:
    """Damage a store at random: the next check finds the same, or refuses the store in one line."""
    with bench.place() as (here, temporary):
        bench.do(here, temporary)
        store = here / "out" / "rows.db"
        data = bytearray(store.read_bytes())
        for _ in range(random.choice([1, 1, 4, 64])):
            data[random.randrange(len(data))] ^= 1 << random.randrange(8)
        store.write_bytes(data[: random.randrange(len(data))] if random.random() < 0.2 else data)
        ended = bench.do(here, temporary)
        tally.tried += 1
        tally.struck += ended.code == BAD_INPUT
        lines = ended.err.strip().splitlines()
        same = ended.code in bench.job.codes and outputs(here) == bench.whole
        if not same and not (ended.code == BAD_INPUT and len(lines) == 1 and half_written(here, bench.whole) == []):
            tally.lost.append(f"ended with {ended.code}, saying {ended.err[-300:]!r}")


def closed_folder(bench: Bench, tally: Tally, line: str) -> None:
    """A folder that nobody can write into, not even root: refused before the work, in one line."""
    with bench.place() as (here, temporary):

        def work() -> int:
            os.chdir(here)
            return run(line.split())

        ended = run_child(work, temporary)
        tally.tried += 1
        tally.struck += ended.code == BAD_INPUT
        if ended.code != BAD_INPUT or len(ended.err.strip().splitlines()) != 1 or left_behind(here, temporary):
            tally.lost.append(f"{line}: ended with {ended.code}, saying {ended.err[-300:]!r}")


def campaign(
    folder: Path,
    *,
    kills: int,
    interrupts: int,
    damage: int,
    seed: int,
    jobs: tuple[Job, ...] = JOBS,
    minutes: float = math.inf,
    part: Part = WHOLE,
) -> list[Tally]:
    """All of it or one part, shared out among the jobs, the quick ones most; nothing new begins when time is over."""
    tallies, end = list[Tally](), time.monotonic() + 60 * minutes

    def tried(name: str, strike: Callable[[Tally, Any], None], moments: Iterable[Any]) -> None:
        tallies.append(Tally(name))
        for moment in part.own(moments):
            if time.monotonic() > end:
                return
            strike(tallies[-1], moment)

    every = sum(job.share for job in jobs)
    interruptible = sum(job.share for job in jobs if not _is_of_page(job))
    for number, job in enumerate(jobs):
        random, is_page = Random(f"{seed} {job.name}"), _is_of_page(job)
        killed, stopped = (
            math.ceil(kills * job.share / every),
            0 if is_page else math.ceil(interrupts * job.share / interruptible),
        )
        starved = () if is_page else ROOMS[: damage if job.name != "demo" else 1]
        damaged = damage if "--store" in job.name else 0
        if not part.has_any(max(killed, stopped, len(starved), damaged)):
            continue
        bench = Bench(job, folder / str(number))
        tried(f"kill -9, {job.name}", bench.killed, bench.moments(random, killed, signal.SIGKILL))
        if is_page:
            continue  # the page's own Ctrl-C is tested beside it: its ending is an ordinary one
        tried(f"Ctrl-C, {job.name}", bench.interrupted, bench.moments(random, stopped, signal.SIGINT))
        tried(f"full disk, {job.name}", bench.starved, starved)
        if damaged:
            each = (Random(f"{seed} damage {n}") for n in range(damaged))
            tried("store damaged at random", partial(damage_store, bench), each)
        if job.name == "fit":
            tried("folder closed to writing", partial(closed_folder, bench), CLOSED)
    return tallies


def _is_of_page(job: Job) -> bool:
    return job.name.startswith("export")


def together(parts: Iterable[Iterable[Tally]]) -> list[Tally]:
    """The tallies of several parts as those of the whole."""
    whole: dict[str, Tally] = {}
    for one in (tally for tallies in parts for tally in tallies):
        same = whole.setdefault(one.name, Tally(one.name))
        same.tried, same.struck = same.tried + one.tried, same.struck + one.struck
        same.lost, same.slowest = same.lost + one.lost, max(same.slowest, one.slowest)
    order = [f"{kind}, {job.name}" for job in JOBS for kind in ("kill -9", "Ctrl-C", "full disk")]
    return sorted(whole.values(), key=lambda one: order.index(one.name) if one.name in order else len(order))


def table(tallies: list[Tally]) -> str:
    """The tallies as a table of a document."""
    rows = ["| tried | runs | struck or refused | lost |", "|---|---|---|---|"]
    rows += [f"| {one.name} | {one.tried} | {one.struck} | {len(one.lost)} |" for one in tallies]
    return "\n".join(rows)


def main() -> int:
    """Read the command line, run, and print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    for name, count in (("kills", 200), ("interrupts", 60), ("damage", 100), ("seed", 11)):
        parser.add_argument(f"--{name}", type=int, default=count)
    parser.add_argument("--minutes", type=float, default=math.inf)
    parser.add_argument("--only", default="", help="the beginning of a job's name: only such jobs")
    add_options(parser)
    asked = parser.parse_args()
    if asked.workers > 1:
        told = in_parts("faults_injected.campaign", words_of(asked), asked.workers)
        tallies = together([Tally(**one) for one in part] for part in told)
    else:
        jobs = tuple(job for job in JOBS if job.name.startswith(asked.only))
        counts = {"kills": asked.kills, "interrupts": asked.interrupts, "damage": asked.damage}
        with tempfile.TemporaryDirectory() as name:
            tallies = campaign(Path(name), **counts, seed=asked.seed, jobs=jobs, minutes=asked.minutes, part=asked.part)
            os.chdir("/")  # the jobs change into folders that go now
    if asked.json:
        print(json.dumps([asdict(one) for one in tallies]))
        return 0
    print(table(tallies))
    print(f"\nslowest end after Ctrl-C: {max((one.slowest for one in tallies), default=0.0):.1f} s")
    lost = [f"{one.name}: {words}" for one in tallies for words in one.lost]
    for words in lost:
        print(f"LOST {words}")
    return 1 if lost else 0


if __name__ == "__main__":
    sys.exit(main())
