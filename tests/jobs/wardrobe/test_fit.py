"""A wardrobe that is fitted: each garment as fitted alone, done again only where its file is gone or changed."""

import hashlib
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import dressform as df
from dressform.errors import FileError
from dressform.formats.gltf.morphs.target_style import DEFAULT_STYLE, TargetStyle
from dressform.formats.gltf.optimise import ALLOWED
from dressform.formats.results.receipt_read import following_by_receipt, receipt_beside
from dressform.garment.following import DEFAULT_FOLLOWING
from dressform.jobs.save import save_with_receipt
from dressform.jobs.store.finished import FinishedStore
from dressform.jobs.wardrobe.files import WardrobeFile, wardrobe_files
from dressform.jobs.wardrobe.fit import WardrobeFitted, fit_wardrobe
from dressform.report.tables.proof import proof_line
from dressform.sweep.crew import Processes
from dressform.sweep.engine import Engine
from dressform.units import MM_PER_M
from wardrobes import HereAsElsewhere, body_of, small_wardrobe


@pytest.fixture(scope="module")
def wardrobe(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return small_wardrobe(tmp_path_factory.mktemp("small"), count=1)


@pytest.fixture(scope="module")
def fitted(wardrobe: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, FinishedStore]]:
    """The folder with what was fitted, and the store."""
    out = tmp_path_factory.mktemp("fitted")
    with FinishedStore(out.parent / "fit.db") as store:
        found = fit_into(wardrobe, out, store)
        assert (found.run.done, found.run.kept) == (2, 0)
        assert [one.name for one in found.failed] == ["bad"]
        yield out, store


def fit_into(
    wardrobe: Path, out: Path, store: FinishedStore, engine: Engine | None = None, *, asked: Path | None = None
) -> WardrobeFitted:
    return fit_wardrobe(
        body_of(wardrobe), wardrobe_files([asked or wardrobe]), out, following=lambda _: DEFAULT_FOLLOWING,
        engine=engine or Processes(1), store=store,
    )  # fmt: skip


def test_each_garment_is_the_file_that_fitting_it_alone_writes(
    wardrobe: Path, fitted: tuple[Path, FinishedStore], tmp_path: Path
) -> None:
    out, _ = fitted
    body = body_of(wardrobe)
    alone = df.repair(df.fit(body, df.load_garment(wardrobe / "t0.glb", beside=body)))
    save_with_receipt(alone, tmp_path / "t0.glb", named=out / "t0.glb")
    assert (out / "t0.glb").read_bytes() == (tmp_path / "t0.glb").read_bytes()
    receipts = [(folder / "t0.receipt.json").read_text(encoding="utf-8") for folder in (out, tmp_path)]
    assert receipts[0] == re.sub('"seconds": [0-9.e-]+', '"seconds": 0.0', receipts[1])
    assert following_by_receipt(out / "t0.glb") is not None
    assert sorted(path.name for path in out.glob("*.glb")) == ["t0.glb", "tight.glb"]


def test_only_a_garment_whose_file_is_gone_or_changed_is_done_again(
    wardrobe: Path, fitted: tuple[Path, FinishedStore]
) -> None:
    out, store = fitted
    assert fit_into(wardrobe, out, store).run.kept == 2
    before = (out / "t0.glb").read_bytes()
    (out / "t0.glb").write_bytes(b"somebody else's")
    assert fit_into(wardrobe, out, store).run.done == 1
    assert (out / "t0.glb").read_bytes() == before
    receipt = out / "t0.receipt.json"
    told = receipt.read_bytes()
    receipt.write_bytes(told + b" ")
    assert fit_into(wardrobe, out, store).run.done == 1
    assert receipt.read_bytes() == told


@pytest.mark.parametrize("engine", [HereAsElsewhere(), Processes(2)], ids=["elsewhere", "two"])
def test_a_process_of_its_own_that_sees_the_files_or_not_writes_the_same_bytes(
    engine: Engine, wardrobe: Path, fitted: tuple[Path, FinishedStore], tmp_path: Path
) -> None:
    out, _ = fitted
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    (out / "t0.glb").unlink()
    with FinishedStore(tmp_path / "s.db") as store:
        found = fit_into(wardrobe, out, store, engine, asked=wardrobe / "t0.glb")
    assert found.failed == ()
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


def test_small_files_are_proven_as_they_are_and_done_again_when_the_options_change(
    wardrobe: Path, tmp_path: Path
) -> None:
    garment = wardrobe / "t0.glb"
    files, body = [WardrobeFile("folder/t0", garment, garment.stat().st_size)], body_of(wardrobe)
    with FinishedStore(tmp_path / "s.db") as store:

        def fitted_as(style: TargetStyle, *, compress: bool = False) -> WardrobeFitted:
            return fit_wardrobe(
                body, files, tmp_path, following=lambda _: DEFAULT_FOLLOWING, repairs=("clearance",), style=style,
                compress=compress, engine=Processes(1), store=store,
            )  # fmt: skip

        (plain,) = fitted_as(DEFAULT_STYLE).lines
        assert plain.error_mm is None
        for style, compress, most in (
            (DEFAULT_STYLE, True, ALLOWED * MM_PER_M),
            (TargetStyle(basis=5e-4), False, 0.5),
        ):
            found = fitted_as(style, compress=compress)
            assert (found.run.done, found.failed) == (1, ())
            (line,), file = found.lines, tmp_path / "folder" / "t0.glb"
            assert line.size == file.stat().st_size != plain.size
            assert line.error_mm is not None
            assert 0 < line.error_mm <= most
            assert proof_line(df.prove(df.load_fit(file, body))) == line.proof
            receipt = json.loads(receipt_beside(file).read_text(encoding="utf-8"))
            assert receipt["files"]["fitted"]["sha256"] == hashlib.sha256(file.read_bytes()).hexdigest()
        assert fitted_as(style, compress=compress).run.kept == 1


def test_nothing_is_written_over_an_input(wardrobe: Path, fitted: tuple[Path, FinishedStore]) -> None:
    with pytest.raises(FileError, match="is an input"):
        fit_into(wardrobe, wardrobe, fitted[1])
