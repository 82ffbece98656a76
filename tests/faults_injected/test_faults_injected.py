"""Nothing is lost when the program is killed, interrupted or starved: a short form of the campaign."""

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from faults_injected.campaign import CLOSED, Tally, together
from parts import Part, in_parts

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="children are forked from a warm process")
TESTS = Path(__file__).resolve().parents[1]


@pytest.fixture(scope="module")
def found() -> Any:
    """What the short form found, in a process of its own: this one has threads, which a fork does not bring along."""
    paths = os.pathsep.join([str(TESTS), os.environ.get("PYTHONPATH", "")])
    ended = subprocess.run(
        [sys.executable, "-m", "faults_injected.short"], env={**os.environ, "PYTHONPATH": paths},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert ended.returncode == 0, ended.stderr
    return json.loads(ended.stdout.splitlines()[-1])


def test_kills_interrupts_and_full_disks_lose_nothing(found: Any) -> None:
    assert [words for one in found["tallies"] for words in one["lost"]] == []
    struck = {one["name"]: one["struck"] for one in found["tallies"]}
    assert struck["kill -9, fit"] >= 3
    assert struck["Ctrl-C, fit"] >= 3
    assert struck["kill -9, export from the page"] >= 2


def test_kill_between_garment_and_receipt_leaves_no_receipt_of_another_garment(found: Any) -> None:
    """Each moment from the rename of the garment to that of its receipt."""
    assert found["between"]["wrong"] == []
    assert found["between"]["seen"] == [[], ["fitted.glb"], ["fitted.glb", "fitted.receipt.json"]]


def test_old_receipt_goes_before_a_new_garment_comes(found: Any) -> None:
    """Where both were there already: a receipt never stands beside a garment that it does not describe."""
    assert found["old receipt"]["wrong"] == []
    assert min(found["old receipt"]["olds"], found["old receipt"]["news"]) >= 2


def test_folder_closed_to_writing_is_refused(found: Any) -> None:
    assert found["closed"]["lost"] == []
    assert found["closed"]["struck"] == found["closed"]["tried"] == len(CLOSED)


def test_the_campaign_sees_what_is_half_written(found: Any) -> None:
    """The judge itself: a job that writes in place is found out."""
    assert any("half-written ['plain.txt']" in words for words in found["careless"])


def test_the_campaign_sees_a_crash(found: Any) -> None:
    assert any("ended with 70" in words for words in found["crashing"])


def test_parts_do_every_piece_once() -> None:
    parts = [Part.read(f"{number}/4") for number in range(1, 5)]
    assert sorted(piece for part in parts for piece in part.own(range(11))) == list(range(11))
    assert [part.has_any(2) for part in parts] == [True, True, False, False]


def test_counts_of_parts_add_up_and_a_part_that_breaks_off_is_told() -> None:
    first, second = Tally("kill -9, fit", 3, 2, ["a"], 0.5), Tally("kill -9, fit", 4, 4, ["b"], 0.2)
    assert together([[first], [], [second]]) == [Tally("kill -9, fit", 7, 6, ["a", "b"], 0.5)]
    with pytest.raises(RuntimeError, match="part 1 of this ended with 0 and counted nothing"):
        in_parts("this", [], 2)
