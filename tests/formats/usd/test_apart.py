"""USD files are read in a process of their own: what ends it costs one file, and nothing else."""

import os
from pathlib import Path

import numpy as np
import pytest

from dressform.errors import FileError
from dressform.formats.usd import apart
from dressform.formats.usd.apart import UsdReader, layer_files, read_usd
from usd_files import usd_body


def test_a_file_that_ends_the_reading_process_is_refused_and_the_next_is_read(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, reader = usd_body(tmp_path / "phantom.usdc"), UsdReader()
    monkeypatch.setattr(apart, "CHILD", "this")  # a module that ends at once
    with pytest.raises(FileError, match=r"phantom\.usdc: is damaged: the library ends when it reads it"):
        reader.ask(path, "mesh", None)
    monkeypatch.undo()
    assert len(reader.ask(path, "mesh", None).morph_names) == 3
    reader.close()


def test_a_file_that_takes_too_long_is_refused_and_its_process_ended(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path, reader = usd_body(tmp_path / "phantom.usdc"), UsdReader()
    monkeypatch.setattr(apart, "MOST_SECONDS", 0.0)
    with pytest.raises(FileError, match="took longer than 0 s to read"):
        reader.ask(path, "mesh", None)
    assert reader._child is None


def test_one_process_reads_files_one_after_another_and_no_forked_one_ends_it(tmp_path: Path) -> None:
    path = usd_body(tmp_path / "phantom.usdc")
    read_usd(path)
    reader = apart._reader(os.getpid())
    first = reader._child
    assert first is not None
    reader._owner += 1  # as if this process had been forked from the owner
    reader.close()
    reader._owner -= 1
    assert layer_files(path) == ()
    assert reader._child is first
    assert first.poll() is None


@pytest.mark.parametrize("ending", [".usdc", ".usda"])
def test_files_damaged_at_random_are_read_or_refused_in_one_line_and_nothing_else(ending: str, tmp_path: Path) -> None:
    whole, random = usd_body(tmp_path / f"phantom{ending}").read_bytes(), np.random.default_rng(11)
    refused: list[str] = []
    for number in range(40):
        data = bytearray(whole)
        for _ in range(int(random.integers(1, 5))):
            place = int(random.integers(8, len(data)))
            length = int(random.integers(0, 9))
            data[place : place + length] = random.bytes(int(random.integers(0, 9)))
        path = tmp_path / f"damaged_{number}{ending}"
        path.write_bytes(data)
        try:
            mesh = read_usd(path)
            assert np.isfinite(mesh.vertices).all()
            assert np.isfinite(mesh.deltas).all()
        except FileError as problem:
            refused.append(str(problem))
    assert len(refused) > 5
    assert not any("\n" in words for words in refused)
