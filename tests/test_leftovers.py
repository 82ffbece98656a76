"""What a killed process leaves is swept up; what anybody still uses is not."""

import os
import re
import signal
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np
import pytest

from dressform import leftovers
from dressform.formats.atomic import write_bytes
from dressform.formats.out_folder import whole_folder
from dressform.leftovers import HIDDEN, PLAIN, owned, sweep
from dressform.sweep.store import open_shared, shared

PROGRAMS = {
    "file": "from dressform.formats import atomic\natomic.os.replace = stop\n"
    "atomic.write_bytes(folder / 'a.glb', b'1')",
    "folder": "from dressform.formats.out_folder import whole_folder\n"
    "with whole_folder(folder) as partial:\n    (partial / 'a.png').write_bytes(b'1')\n    stop()",
    "shared": "from dressform.sweep.store import shared\nwith shared({'a': 1}):\n    stop()",
}


def killed(program: str, folder: Path) -> None:
    """Run a program until it waits in `stop`, then kill it so that it cannot tidy up."""
    head = (
        "import sys, time, tempfile\nfrom pathlib import Path\nfolder = Path(sys.argv[1])\n"
        "tempfile.tempdir = str(folder)\n"
        "def stop(*_):\n    print('there', flush=True)\n    time.sleep(100)\n"
    )
    running = subprocess.Popen(
        [sys.executable, "-c", head + PROGRAMS[program], str(folder)], stdout=subprocess.PIPE, text=True
    )
    assert running.stdout is not None
    assert running.stdout.readline() == "there\n"
    running.send_signal(signal.SIGKILL)
    running.communicate()


@pytest.mark.parametrize("program", PROGRAMS)
def test_next_start_sweeps_up_what_a_killed_one_left(
    program: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    killed(program, tmp_path)
    assert any(leftovers._NAME.match(name) for name in os.listdir(tmp_path))
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    if program == "file":
        write_bytes(tmp_path / "b.glb", b"2")
    elif program == "folder":
        with whole_folder(tmp_path) as partial:
            (partial / "b.glb").write_bytes(b"2")
    else:
        with shared({"b": np.zeros(3)}) as path:
            assert open_shared(path)["b"].tolist() == [0, 0, 0]
    assert os.listdir(tmp_path) == ([] if program == "shared" else ["b.glb"])


def made(folder: Path, name: str) -> Path:
    path = folder / name
    path.mkdir()
    (path / "content").write_bytes(b"1")
    return path


def test_what_a_living_process_uses_stays(tmp_path: Path) -> None:
    mine = made(tmp_path, owned(HIDDEN) + "abc")
    parent = re.sub(r"-\d+-\d+-$", f"-{os.getppid()}-0-", owned(PLAIN))
    other = made(tmp_path, parent + "abc")
    sweep(tmp_path)
    assert mine.exists()
    assert other.exists()


def test_process_that_was_given_the_number_of_another_does_not_keep_its_leftovers(tmp_path: Path) -> None:
    old = made(tmp_path, re.sub(r"-\d+-$", "-1-", owned(HIDDEN)) + "abc")
    sweep(tmp_path)
    assert not old.exists()


@pytest.mark.parametrize("name", ["dressform-abc", ".dressform-notes", "dressform-00000000-99999999-5-x", "coat.glb"])
def test_what_is_not_known_to_be_ours_stays(name: str, tmp_path: Path) -> None:
    other = made(tmp_path, name)
    sweep(tmp_path)
    assert other.exists()


def test_link_to_a_folder_is_removed_without_its_content(tmp_path: Path) -> None:
    kept = made(tmp_path, "kept")
    gone = re.sub(r"-\d+-$", "-1-", owned(PLAIN))
    (tmp_path / f"{gone}link").symlink_to(kept)
    sweep(tmp_path)
    assert sorted(os.listdir(tmp_path)) == ["kept"]
    assert (kept / "content").exists()


def test_missing_folder_is_no_error(tmp_path: Path) -> None:
    sweep(tmp_path / "nowhere")
