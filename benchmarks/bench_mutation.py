"""Which small changes of the numerics does a test notice?

Takes a seeded sample of mutants (`mutants.py`), as many of each folder, and runs the tests nearest to each on a copy
of the project in a temporary folder, never on the working tree: first those whose name matches, then those of the
mirror folder that import the file by the shortest way, then what `mutation.toml` lists. A mutant is killed where a
test fails or time runs out. Kernels that could have the changed code inside are compiled again.

Prints a Markdown table and the survivors. `--out FILE` keeps results, one JSON object a line: what is in it already
is not run again, so a stopped run goes on where it was. On a machine with many cores prepare a folder once
(`--count 0`), copy it, and give each copy a `--part` of the sample; joined, their results are those of one run.
"""

import argparse
import contextlib
import importlib
import json
import math
import os
import resource
import shutil
import signal
import sys
import tempfile
import time
import tomllib
import traceback
import xml.etree.ElementTree as ElementTree
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import chain, zip_longest
from pathlib import Path
from typing import NoReturn

import pytest

from imports import import_distances, importers
from mutants import Mutant, mutants_of

ROOT = Path(__file__).resolve().parents[1]
TABLE = tomllib.loads((ROOT / "benchmarks" / "mutation.toml").read_text(encoding="utf-8"))
FOLDERS = ("lift", "faults", "sweep", "repair", "proof", "causes", "infer", "body")
ONLY = {"body": "measure"}
"""Of this folder only the files whose names begin so."""

COPIED = ("src", "tests", "benchmarks", "docs", "README.md", "pyproject.toml")
LIMIT = 60.0
"""Seconds of processor time that the tests of one mutant may take; a busy machine does not shorten them."""

PATIENCE = 6.0
"""After so many times that limit by the clock a mutant is given up, undecided: it waits, or the machine is too busy."""

BASELINE_LIMIT = 3600.0
"""Seconds of processor time for all tests without a change."""

BASELINE_SHARE = 0.4
"""Share of the limit that the same tests may take without a change; whatever takes longer is not run."""

LIBRARIES = ("scipy.sparse.linalg", "scipy.spatial", "numba", "igl", "beartype")
MEMORY = 8 * 2**30
"""Bytes that the tests of one mutant may take."""

UNTIMED = 1.0
"""Seconds that a test file which came later is taken to need."""

NO_TEST_FAILED = 0
TESTS_FAILED = (1, 2)
"""pytest's exit codes for failed tests, and for tests that could not be collected."""


KILLED = ("killed", "timeout")
OUTCOMES = (*KILLED, "survived", "undecided")


@dataclass(frozen=True)
class Result:
    """What became of a mutant: one of `OUTCOMES`, by which test, in how many seconds."""

    mutant: Mutant
    outcome: str
    test: str
    seconds: float


class Project:
    """A copy of the project in which one file at a time is changed."""

    def __init__(self, folder: Path, limit: float) -> None:
        self.clean, self.tree, self.limit = folder / "clean", folder / "tree", limit
        self.durations: dict[str, float] = {}

    def prepare(self, folders: list[str], workers: int) -> None:
        """Copy, compile every kernel once, and time the tests; of a copy of the same sources only tests are renewed."""
        times = self.clean / "durations.json"
        if not times.is_file() or not _same_sources(ROOT / "src", self.clean / "src"):
            shutil.rmtree(self.clean, ignore_errors=True)
            self._copy(COPIED)
            listed = [names for key, names in TABLE["tests"].items() if key.split("/")[0] in folders]
            asked = [f"tests/{folder}" for folder in folders] + sorted(set(chain(*listed)))
            left_out = [f"--ignore={name}" for name in TABLE["left_out"]["tests"]]
            words = [*asked, *left_out, "--junitxml=times.xml", "-n", str(workers)]
            code, output = self._pytest(self.clean, words, BASELINE_LIMIT)
            if code != NO_TEST_FAILED:
                sys.exit(f"The tests must pass before a mutant is made:\n{output[-3000:]}")
            times.write_text(json.dumps(_durations(self.clean / "times.xml")), encoding="utf-8")
        self._copy(("tests",))
        self.durations = json.loads(times.read_text(encoding="utf-8"))
        for file in sorted(self.clean.glob("tests/**/test_*.py")):
            self.durations.setdefault(file.relative_to(self.clean).as_posix(), UNTIMED)
        for name in TABLE["left_out"]["tests"]:
            self.durations.pop(name, None)
        shutil.rmtree(self.tree, ignore_errors=True)
        shutil.copytree(self.clean, self.tree)

    def _copy(self, names: Iterable[str]) -> None:
        """Files and folders of the project into the copy, with their times."""
        self.clean.mkdir(parents=True, exist_ok=True)
        hidden = shutil.ignore_patterns("node_modules", ".pytest_cache")
        for name in names:
            if (ROOT / name).is_dir():
                shutil.copytree(ROOT / name, self.clean / name, ignore=hidden, dirs_exist_ok=True)
            else:
                shutil.copy2(ROOT / name, self.clean / name)

    def run(self, mutant: Mutant) -> Result:
        """Put one mutant to its tests, and leave the tree as it was."""
        package = self.tree / "src" / "dressform"
        changed = package / mutant.path
        stale = [mutant.path, *importers(package, mutant.path)]
        begun = time.monotonic()
        try:
            changed.write_bytes(mutant.applied(changed.read_bytes()))
            for path in stale:
                for cache in _kernel_caches(package / path):
                    cache.unlink()
            code, output = self._pytest(self.tree, ["-x", *self.tests(mutant.path)], self.limit)
        finally:
            for path in stale:
                self._restore(path)
        failed = [line.split()[1] for line in output.splitlines() if line.startswith(("FAILED ", "ERROR "))]
        outcome = "killed" if failed else _outcome(code, output)
        return Result(mutant, outcome, failed[0] if failed else "", time.monotonic() - begun)

    def tests(self, path: str) -> list[str]:
        """Test files for a file, the likeliest killer first, as many as the limit allows."""
        folder, stem = path.split("/")[0], Path(path).stem
        listed = [*TABLE["tests"].get(path, []), *TABLE["tests"].get(folder, [])]
        distance = import_distances(self.tree, path)
        mirror = [name for name in self.durations if name.startswith(f"tests/{folder}/")]
        words = set(stem.removesuffix("_kernels").split("_"))

        def rank(name: str) -> tuple[bool, int, float]:
            named = bool(words & set(Path(name).stem.split("_")[1:]))
            return not (named and name in distance), distance.get(name, len(self.durations)), self.durations[name]

        spent, chosen = 0.0, []
        for name in dict.fromkeys([*sorted(mirror, key=rank), *listed]):
            spent += self.durations[name]
            if spent <= BASELINE_SHARE * self.limit or not chosen:
                chosen.append(name)
            else:
                spent -= self.durations[name]
        return chosen

    def _restore(self, path: str) -> None:
        """The file and its compiled kernels, with the times by which caches know them."""
        here, there = self.tree / "src" / "dressform" / path, self.clean / "src" / "dressform" / path
        shutil.copy2(there, here)
        for cache in _kernel_caches(here):
            cache.unlink()
        for cache in _kernel_caches(there):
            shutil.copy2(cache, here.parent / "__pycache__" / cache.name)

    def _pytest(self, tree: Path, arguments: list[str], limit: float) -> tuple[int, str]:
        """Exit code and output of pytest in a process of its own; a negative code is the signal that ended it."""
        output = tree / "output.txt"
        process = os.fork()
        if process == 0:
            _run_pytest(tree, ["-n", "0", "-p", "no:cacheprovider", *arguments], output, limit)
        end = time.monotonic() + PATIENCE * limit
        try:
            while os.waitid(os.P_PID, process, os.WEXITED | os.WNOHANG | os.WNOWAIT) is None:
                if time.monotonic() > end:
                    os.kill(process, signal.SIGTERM)
                time.sleep(0.05)
        finally:
            # Tests start processes of their own; none may outlive its mutant.
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process, signal.SIGKILL)
            code = os.waitstatus_to_exitcode(os.waitpid(process, 0)[1])
        return code, output.read_text(encoding="utf-8", errors="replace")


def _load_libraries() -> None:
    """Import once what every run of the tests would import first: each run is then a fork of this process."""
    os.environ["OPENBLAS_NUM_THREADS"] = "1"
    for name in LIBRARIES:
        importlib.import_module(name)


def _run_pytest(tree: Path, arguments: list[str], output: Path, limit: float) -> NoReturn:
    """What the forked process does; where it takes longer than `limit`, SIGXCPU ends it."""
    code = -1
    try:
        os.setsid()
        signal.signal(signal.SIGTERM, signal.SIG_DFL)
        # A loop that never ends must not take all memory.
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        resource.setrlimit(resource.RLIMIT_CPU, (math.ceil(limit), resource.RLIM_INFINITY))
        file = os.open(output, os.O_WRONLY | os.O_CREAT | os.O_TRUNC)
        os.dup2(file, 1)
        os.dup2(file, 2)
        os.chdir(tree)
        os.environ["PYTHONPATH"] = str(tree / "src")
        sys.path.insert(0, str(tree / "src"))
        code = int(pytest.main(arguments))
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code % 256)


def _same_sources(here: Path, there: Path) -> bool:
    """Whether two folders hold the same Python files."""

    def contents(folder: Path) -> dict[str, bytes]:
        return {file.relative_to(folder).as_posix(): file.read_bytes() for file in sorted(folder.rglob("*.py"))}

    return contents(here) == contents(there)


def _kernel_caches(source: Path) -> list[Path]:
    """Compiled kernels of a file."""
    return sorted((source.parent / "__pycache__").glob(f"{source.stem}.*.nb[ic]"))


def _outcome(code: int, output: str) -> str:
    if code == NO_TEST_FAILED:
        return "survived"
    if code == -signal.SIGXCPU:
        return "timeout"
    if code == -signal.SIGTERM:
        return "undecided"
    # A kernel that writes out of bounds can end the process by a signal: a negative code.
    if code in TESTS_FAILED or code < 0:
        return "killed"
    raise RuntimeError(f"pytest ended with {code}:\n{output[-3000:]}")


def _durations(report: Path) -> dict[str, float]:
    """Seconds per test file, setup included."""
    found: dict[str, float] = {}
    for case in ElementTree.parse(report).iter("testcase"):
        name = case.attrib["classname"].replace(".", "/") + ".py"
        found[name] = found.get(name, 0.0) + float(case.attrib["time"])
    return found


def sample(folders: list[str], seed: int, only: str) -> Iterator[Mutant]:
    """Mutants in the order in which a sample takes them, folder by folder in turn."""
    package = ROOT / "src" / "dressform"
    piles = []
    for folder in folders:
        files = sorted((package / folder).rglob(f"{ONLY.get(folder, '')}*.py"))
        paths = [file.relative_to(package).as_posix() for file in files]
        pile = [mutant for path in paths if only in path for mutant in mutants_of(package, path)]
        piles.append(sorted(pile, key=lambda mutant: mutant.order(seed)))
    for mutant in filter(None, chain.from_iterable(zip_longest(*piles))):
        if mutant.is_another_program((package / mutant.path).read_bytes()):
            yield mutant


def is_equivalent(mutant: Mutant) -> bool:
    """Whether `mutation.toml` argues that no test can notice it."""
    asked = {"file": mutant.path, "line": mutant.text, "becomes": mutant.becomes}
    return any(asked.items() <= entry.items() for entry in TABLE.get("equivalent", []))


def tell(results: list[Result]) -> None:
    """The table, and every mutant that nothing has killed."""
    print("| folder | mutants | killed | by time | survived | undecided | equivalent | killed of those that are not |")
    print("|---|---|---|---|---|---|---|---|")
    groups = {folder: [result for result in results if result.mutant.folder == folder] for folder in FOLDERS}
    for name, rows in [*groups.items(), ("all", results)]:
        counts = [sum(row.outcome == outcome for row in rows) for outcome in OUTCOMES]
        same = sum(row.outcome not in KILLED and is_equivalent(row.mutant) for row in rows)
        if len(rows) > same:
            share = f"{100 * (counts[0] + counts[1]) / (len(rows) - same):.0f} %"
            print(f"| {name} | {' | '.join(map(str, (len(rows), *counts, same, share)))} |")
    print()
    for row in results:
        if row.outcome not in KILLED:
            print(f"- {row.outcome}: {row.mutant}{' (equivalent)' if is_equivalent(row.mutant) else ''}")


def read_results(path: Path) -> list[Result]:
    """Results of earlier runs."""
    if not path.is_file():
        return []
    rows = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    return [Result(Mutant(**row.pop("mutant")), **row) for row in rows]


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=160, help="mutants in the sample")
    parser.add_argument("--seed", type=int, default=1, help="which sample; a longer one begins with a shorter one")
    parser.add_argument("--only", default="", help="only files whose path has this in it, such as faults/ or rows.py")
    parser.add_argument("--limit", type=float, default=LIMIT, help="seconds of processor time for the tests of one")
    parser.add_argument(
        "--work", type=Path, help="folder of the copy, kept for the next run; by default a temporary one"
    )
    parser.add_argument("--out", type=Path, help="file of results, one JSON object a line")
    parser.add_argument("--workers", type=int, default=0, help="processes that time the tests without a change")
    parser.add_argument(
        "--part", default="1/1", metavar="I/N", help="only every N-th mutant of the sample, from the I-th"
    )
    parser.add_argument(
        "--again", action="store_true", help="run those in that file once more that no test has failed on"
    )
    options = parser.parse_args()
    # Ended from outside, the benchmark still ends the tests that it runs.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))
    _load_libraries()
    with tempfile.TemporaryDirectory() as temporary:
        folders = [folder for folder in FOLDERS if not options.only or options.only.startswith(folder)]
        project = Project(options.work or Path(temporary), options.limit)
        project.prepare(folders or list(FOLDERS), options.workers)
        wanted = [mutant for mutant, _ in zip(sample(list(FOLDERS), options.seed, options.only), range(options.count))]
        first, parts = map(int, options.part.split("/"))
        wanted = wanted[first - 1 :: parts]
        known = {row.mutant: row for row in read_results(options.out)} if options.out else {}
        results = []
        for mutant in wanted:
            row = known.get(mutant)
            if row is None or (options.again and row.outcome not in KILLED):
                row = project.run(mutant)
                print(f"{row.outcome:9}{row.seconds:5.0f} s  {mutant}  {row.test}", file=sys.stderr, flush=True)
                if options.out:
                    with options.out.open("a", encoding="utf-8") as file:
                        file.write(json.dumps({**row.__dict__, "mutant": mutant.__dict__}) + "\n")
            results.append(row)
    tell(results)


if __name__ == "__main__":
    main()
