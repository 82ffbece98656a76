"""A long campaign shared out among processes, each of which does every so-manyth piece of it."""

import json
import subprocess
import sys
from argparse import ArgumentParser, ArgumentTypeError, Namespace
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from typing import Any, TypeVar

Item = TypeVar("Item")


@dataclass(frozen=True)
class Part:
    """One process's part of the pieces: `number` counts from 0."""

    number: int = 0
    of: int = 1

    @classmethod
    def read(cls, text: str) -> "Part":
        """`2/15` as the second of fifteen.

        Raises:
            ArgumentTypeError: it is not that.
        """
        number, _, of = text.partition("/")
        if not (number.isdecimal() and of.isdecimal() and 1 <= int(number) <= int(of)):
            raise ArgumentTypeError(f"write for instance 2/15, not {text!r}")
        return cls(int(number) - 1, int(of))

    def own(self, pieces: Iterable[Item]) -> Iterator[Item]:
        """The pieces that are this part's."""
        return islice(pieces, self.number, None, self.of)

    def has_any(self, count: int) -> bool:
        """Whether any of so many pieces is this part's."""
        return self.number < count


def add_options(parser: ArgumentParser) -> None:
    """`--workers`, `--part` and `--json`."""
    parser.add_argument("--workers", type=int, default=1, help="processes that share the work")
    parser.add_argument("--part", type=Part.read, default=Part(), help="do this part alone, for instance 2/15")
    parser.add_argument("--json", action="store_true", help="print what was counted as one line of JSON")


def in_parts(module: str, words: Iterable[str], workers: int) -> list[Any]:
    """Do every part of a campaign at the same time; what each counted, from the last line that it printed.

    Raises:
        RuntimeError: a part did not come to its end.
    """
    command = [sys.executable, "-m", module, *words, "--json"]
    running = [
        subprocess.Popen([*command, "--part", f"{number}/{workers}"], stdout=subprocess.PIPE, text=True)
        for number in range(1, workers + 1)
    ]
    said = [one.communicate()[0].splitlines() for one in running]
    for number, (one, lines) in enumerate(zip(running, said), start=1):
        if not lines or not lines[-1].startswith(("[", "{")):
            raise RuntimeError(f"part {number} of {module} ended with {one.returncode} and counted nothing")
    return [json.loads(lines[-1]) for lines in said]


def words_of(asked: Namespace, *, without: Iterable[str] = ()) -> list[str]:
    """The options of a command line again, those of sharing left out."""
    left_out = {"workers", "part", "json", *without}
    given = {name: value for name, value in vars(asked).items() if name not in left_out and value is not None}
    return [word for name, value in given.items() for word in (f"--{name}", str(value))]
