"""No door of the library writes over a file that a fit was read from: by name, by link, by another name of it."""

import os
from collections.abc import Callable
from pathlib import Path

import pytest

import dressform as df
from dressform.errors import FileError
from dressform.fit.fit import Fit
from dressform.formats.gltf.save import save_body, save_garment
from dressform.jobs.outfit import OutfitResult
from dressform.repair.layers import repair_outfit
from solids import capped_body, open_tube


@pytest.fixture
def worn(tmp_path: Path) -> Fit:
    """A fit read from files, with links to them, and a range beside the body."""
    save_body([capped_body("woman")], tmp_path / "body.glb")
    save_garment(open_tube(), tmp_path / "tube.glb")
    (tmp_path / "body.range.toml").write_text("[range]\n")
    (tmp_path / "link.glb").symlink_to("body.glb")
    os.link(tmp_path / "tube.glb", tmp_path / "again.glb")
    os.link(tmp_path / "tube.glb", tmp_path / "tube.case.json")
    os.link(tmp_path / "body.glb", tmp_path / "body.html")
    os.link(tmp_path / "body.range.toml", tmp_path / "range.glb")
    body = df.load_body(tmp_path / "body.glb")
    return df.fit(body, df.load_garment(tmp_path / "tube.glb", beside=body))


def write_outfit(fit: Fit, path: Path) -> None:
    df.save_outfit(OutfitResult("ashore", repair_outfit([fit])), path.parent)


def write_report(fit: Fit, path: Path) -> None:
    df.report(df.check(fit, shapes=0, causes=False), path)


REFUSED: list[tuple[Callable[[Fit, Path], object], str, str]] = [
    (df.save, "body.glb", r"body\.glb: is an input"),
    (df.save, "tube.glb", r"tube\.glb: is an input"),
    (df.save, "link.glb", r"link\.glb: is an input \(.*body\.glb\)"),
    (df.save, "again.glb", r"again\.glb: is an input \(.*tube\.glb\)"),
    (df.save, "range.glb", r"range\.glb: is an input \(.*body\.range\.toml\)"),
    (df.save_case, "tube.case.json", r"tube\.case\.json: is an input"),
    (write_report, "body.glb", r"body\.glb: does not end with \.html"),
    (write_report, "body.html", r"body\.html: is an input"),
    (write_outfit, "tube.glb", r"tube\.glb: is an input"),
]


@pytest.mark.parametrize(("write", "name", "said"), REFUSED, ids=[f"{w.__name__} {name}" for w, name, _ in REFUSED])
def test_no_door_writes_over_what_the_fit_was_read_from(
    write: Callable[[Fit, Path], object], name: str, said: str, worn: Fit, tmp_path: Path
) -> None:
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    with pytest.raises(FileError, match=said):
        write(worn, tmp_path / name)
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_what_a_script_wrote_itself_it_may_write_again(worn: Fit, tmp_path: Path) -> None:
    for _ in range(2):
        df.save(worn, tmp_path / "fitted.glb")
    assert df.load_fit(tmp_path / "fitted.glb", worn.body).morph_names == worn.morph_names
