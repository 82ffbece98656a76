"""No damaged file breaks anything: those that once did, and a minute of new ones on every run."""

import os
import subprocess
import sys
from pathlib import Path
from random import Random

import pytest

from fuzz.kinds import KINDS
from fuzz.mutate import damaged
from fuzz.run import ACCEPTED, REFUSED, outcome

FOLDER = Path(__file__).parent
CORPUS = sorted((FOLDER / "corpus").iterdir())
SECONDS = 20
PLAIN = {"glb-picture-of-400-million-pixels.glb"}
"""Read all the same: its picture is never decoded, and a note says so."""
SEED = "11"  # the same damage on every run; `make fuzz` draws another each time
LEAST = 150  # files in that time, however slow the machine


@pytest.mark.parametrize("path", CORPUS, ids=[path.name for path in CORPUS])
def test_file_that_once_broke_something_breaks_nothing(path: Path, tmp_path: Path) -> None:
    expected = ACCEPTED if path.name in PLAIN else REFUSED
    assert outcome(path.name.partition("-")[0], path.read_bytes(), tmp_path) == expected


@pytest.mark.parametrize("kind", KINDS)
def test_sound_files_are_accepted(kind: str, tmp_path: Path) -> None:
    seeds = KINDS[kind].seeds(tmp_path)
    assert [outcome(kind, data, tmp_path) for data in seeds] == [ACCEPTED] * len(seeds)


@pytest.mark.parametrize("kind", KINDS)
def test_damage_is_the_same_for_the_same_seed_and_differs_from_the_sound_file(kind: str, tmp_path: Path) -> None:
    seeds = KINDS[kind].seeds(tmp_path)
    runs = [
        [damaged(seeds[0], KINDS[kind].form, random, seeds) for _ in range(20)] for random in (Random(5), Random(5))
    ]
    assert runs[0] == runs[1]
    assert sum(data != seeds[0] for data in runs[0]) >= 15


def test_reader_that_hangs_or_fails_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def hang(_: Path) -> None:
        while True:
            pass

    def fail(_: Path) -> None:
        raise KeyError("material")

    monkeypatch.setattr("fuzz.run.LONGEST", 0.2)
    for read, said in ((hang, "TooLongError"), (fail, "KeyError at test_fuzz.py")):
        monkeypatch.setitem(KINDS, "broken", KINDS["npy"].__class__(".x", "bytes", lambda _: [b""], read))
        assert said in outcome("broken", b"x", tmp_path)


@pytest.mark.timeout(180)
def test_damage_for_some_seconds_breaks_nothing(tmp_path: Path) -> None:
    """In a process of its own, whose memory is limited."""
    paths = os.pathsep.join([str(FOLDER.parent), os.environ.get("PYTHONPATH", "")])
    words = ["-m", "fuzz.run", "--minutes", str(SECONDS / 60), "--seed", SEED, "--found", str(tmp_path / "found")]
    ended = subprocess.run(
        [sys.executable, *words], env={**os.environ, "PYTHONPATH": paths}, capture_output=True, text=True, check=False
    )
    assert ended.returncode == 0, ended.stdout + ended.stderr
    assert int(ended.stdout.splitlines()[-1].split()[0]) >= LEAST
