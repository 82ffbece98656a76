"""A body and a garment on disk, and the program run in this process."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from dressform.cli.app import run
from phantoms import phantom_files


@dataclass(frozen=True)
class Ended:
    """How a command line ended: its exit code, stdout and stderr."""

    code: int
    out: str
    err: str

    @property
    def line(self) -> str:
        """The one line on stderr."""
        lines = self.err.splitlines()
        assert len(lines) == 1, self.err
        return lines[0]


@pytest.fixture(scope="session")
def phantom(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Folder with phantom.obj, its morphs and tube.obj; not to be written to."""
    folder = tmp_path_factory.mktemp("phantom")
    phantom_files(folder)
    return folder


@pytest.fixture
def dressform(capfd: pytest.CaptureFixture[str]) -> Callable[..., Ended]:
    """Run the program with these words."""

    def call(*words: object) -> Ended:
        code = run([str(word) for word in words])
        captured = capfd.readouterr()
        return Ended(code, captured.out, captured.err)

    return call
