"""A campaign: files of every kind are damaged and read, and nothing but a result or one clear line may come of it.

    PYTHONPATH=tests python -m fuzz.run --minutes 10 --workers 15

What breaks is written into `--found`, and belongs into `tests/fuzz/corpus` once it is mended. The exit code is 1 then.
"""

import argparse
import json
import resource
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from random import Random

from dressform.errors import DressformError
from fuzz.kinds import KINDS
from fuzz.mutate import damaged
from parts import add_options, in_parts, words_of

LONGEST = 20  # seconds of the processor for one file
MAX_MEMORY = 4 * 1024**3
LONGEST_LINE = 20_000
ACCEPTED, REFUSED = "accepted", "refused"


class TooLongError(BaseException):
    """A file took more than `LONGEST`; no reader catches it."""


@contextmanager
def hurried(seconds: float) -> Iterator[None]:
    """Raise `TooLongError` in the block after some seconds of the processor."""

    def strike(*_: object) -> None:
        raise TooLongError(f"took more than {seconds:g} s")

    before = signal.signal(signal.SIGPROF, strike)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def outcome(name: str, data: bytes, folder: Path) -> str:
    """What comes of reading one file: `ACCEPTED`, `REFUSED`, or what broke, in words."""
    kind = KINDS[name]
    path = folder / f"damaged{kind.suffix}"
    path.write_bytes(data)
    try:
        with hurried(LONGEST), warnings.catch_warnings():
            warnings.simplefilter("error")
            kind.read(path)
    except DressformError as refused:
        line = str(refused)
        return (
            REFUSED if line and "\n" not in line and len(line) < LONGEST_LINE else f"a message of many lines: {line!r}"
        )
    except (Exception, TooLongError) as problem:
        frame = traceback.extract_tb(problem.__traceback__)[-1]
        return f"{type(problem).__name__} at {Path(frame.filename).name}:{frame.lineno}: {str(problem)[:200]}"
    return ACCEPTED


def campaign(seconds: float, seed: int, found: Path | None, only: list[str]) -> tuple[Counter[str], dict[str, str]]:
    """Damage and read until the time is over; counts by kind and outcome, and what broke, once per cause."""
    random, counts, broken = Random(seed), Counter[str](), dict[str, str]()
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        seeds = {kind: KINDS[kind].seeds(folder) for kind in only}
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            kind = random.choice(only)
            data = damaged(random.choice(seeds[kind]), KINDS[kind].form, random, seeds[kind])
            said = outcome(kind, data, folder)
            if said in (ACCEPTED, REFUSED):
                counts[f"{kind} {said}"] += 1
                continue
            counts[f"{kind} broken"] += 1
            cause = f"{kind}: {said.split(': ')[0]}"
            if cause not in broken:
                broken[cause] = said
                if found is not None:
                    found.mkdir(parents=True, exist_ok=True)
                    (found / f"{kind}-{seed}-{len(broken)}{KINDS[kind].suffix}").write_bytes(data)
    return counts, broken


def main() -> int:
    """Read the command line, run, and print the counts."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--minutes", type=float, default=1.0)
    parser.add_argument("--seed", type=int, default=int(time.time()))
    parser.add_argument("--found", type=Path, default=Path("build/fuzz"))
    parser.add_argument("--kinds", nargs="*", default=list(KINDS), choices=list(KINDS))
    add_options(parser)
    asked = parser.parse_args()
    if asked.workers > 1:
        words = [*words_of(asked, without=["kinds"]), "--kinds", *asked.kinds]
        told = in_parts("fuzz.run", words, asked.workers)
        counts = sum((Counter(part["counts"]) for part in told), Counter())
        broken = {cause: said for part in told for cause, said in part["broken"].items()}
    else:
        resource.setrlimit(resource.RLIMIT_AS, (MAX_MEMORY, MAX_MEMORY))
        # Every part draws damage of its own.
        counts, broken = campaign(asked.minutes * 60, asked.seed + asked.part.number, asked.found, asked.kinds)
    if asked.json:
        print(json.dumps({"counts": counts, "broken": broken}))
        return 0
    print(table(counts, asked.kinds))
    print(f"{sum(counts.values())} damaged files, seed {asked.seed}, {len(broken)} causes of breaking")
    for cause, said in broken.items():
        print(f"BROKEN {cause}: {said}")
    return 1 if broken else 0


def table(counts: Counter[str], kinds: list[str]) -> str:
    """The counts as a table of a document, a row for each kind and one for all."""
    outcomes = (ACCEPTED, REFUSED, "broken")
    rows = {kind: [counts[f"{kind} {said}"] for said in outcomes] for kind in kinds}
    rows["all"] = [sum(column) for column in zip(*rows.values())]
    lines = [
        f"| {name} | {sum(told):,} | " + " | ".join(f"{count:,}" for count in told) + " |"
        for name, told in rows.items()
    ]
    return "\n".join(["| kind | tried | accepted | refused | broken |", "|---|---|---|---|---|", *lines])


if __name__ == "__main__":
    sys.exit(main())
