"""`dressform explain --picture` makes the swap again from the files that were checked, and draws both sides."""

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from dressform.jobs.explain import picture as explain_picture
from dressform.report.pictures.swap import swap_picture as swap
from phantoms import phantom_files, tube, write_obj

pytestmark = pytest.mark.long

Run = Callable[..., Any]


@pytest.fixture(scope="module")
def checked(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A body, a tube through which its belly comes, and a place for the results of a check."""
    folder = tmp_path_factory.mktemp("checked")
    phantom_files(folder)
    write_obj(folder / "coarse.obj", *tube(rings=5, clearance=0.01))
    return folder


def check(folder: Path, run: Run) -> Path:
    results = folder / "r.json"
    if not results.exists():
        body, cloth = folder / "phantom.obj", folder / "coarse.obj"
        assert run("check", "--body", body, cloth, "--json", results, "--shapes", "0", "--workers", "1").code == 1
    return results


def orange(image: np.ndarray) -> float:
    values = image.astype(int)
    return float(((values[..., 0] - values[..., 2] > 110) & (values[..., 0] > 150)).mean())


def test_the_picture_shows_skin_before_and_none_after(
    checked: Path, tmp_path: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    picture = tmp_path / "swap.png"
    titles: list[str] = []

    def kept(*sides: Any, title: str, **options: Any) -> np.ndarray:
        titles.append(title)
        return swap(*sides, title=title, **options)

    monkeypatch.setattr(explain_picture, "swap_picture", kept)
    ended = dressform("explain", check(checked, dressform), "coarse/1", "--picture", picture)
    assert ended.code == 0, ended.err
    assert "belly=1" in titles[0]
    assert "shape=1" not in titles[0]  # the name of the only morph of a narrowed body
    assert ended.out.endswith(f"wrote {picture}\n")
    with Image.open(picture) as image:
        pixels = np.asarray(image.convert("RGB"))
    half = pixels.shape[1] // 2
    panels = pixels[100:600]
    assert orange(panels[:, :half]) > 0.1
    assert orange(panels[:, half:]) < 0.01


def test_a_file_that_was_changed_since_is_refused(checked: Path, tmp_path: Path, dressform: Run) -> None:
    results = check(checked, dressform)
    document = json.loads(results.read_text(encoding="utf-8"))
    moved = tmp_path / "coarse.obj"
    shutil.copy(checked / "coarse.obj", moved)
    with moved.open("a", encoding="utf-8") as stream:
        stream.write("# changed\n")
    document["garments"][0]["source"]["file"] = str(moved)
    other = tmp_path / "r.json"
    other.write_text(json.dumps(document), encoding="utf-8")
    ended = dressform("explain", other, "coarse/1", "--picture", tmp_path / "p.png")
    assert ended.code == 2
    assert "coarse.obj: is no longer the file that was checked" in ended.line
    moved.unlink()
    ended = dressform("explain", other, "coarse/1", "--picture", tmp_path / "p.png")
    assert ended.code == 2
    assert "coarse.obj: there is no such file" in ended.line
    assert not (tmp_path / "p.png").exists()


def test_a_cluster_at_which_nothing_was_tried_has_no_picture(checked: Path, tmp_path: Path, dressform: Run) -> None:
    document = json.loads(check(checked, dressform).read_text(encoding="utf-8"))
    document["garments"][0]["clusters"][0] |= {"shares": [], "cause": "", "owner": "", "advice": None}
    other = tmp_path / "r.json"
    other.write_text(json.dumps(document), encoding="utf-8")
    ended = dressform("explain", other, "coarse/1", "--picture", tmp_path / "p.png")
    assert ended.code == 2
    assert "`PLACE` must be one with a counterfactual, got 'coarse smooth/1'" in ended.line


@pytest.mark.parametrize(
    ("name", "said"), [("p.jpg", "p.jpg: does not end with .png"), ("file/p.png", "file/p.png: cannot be written")]
)
def test_a_picture_that_cannot_be_written_is_told_first(
    name: str, said: str, tmp_path: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "file").write_text("no folder")
    ended = dressform("explain", "missing.json", "coarse/1", "--picture", name)
    assert ended.code == 2
    assert said in ended.line


def test_results_that_name_code_run_none_that_was_not_named_again(tmp_path: Path, dressform: Run) -> None:
    """Results are passed on; what they name must not be started by looking at them."""
    phantom_files(tmp_path)
    code, ran = tmp_path / "still.py", tmp_path / "ran"
    code.write_text(
        f"def still(body, garment, following):\n    open({str(ran)!r}, 'w').close()\n"
        "    return 0.0 * garment.vertices + 0.0 * body.deltas[:, :1]\n",
        encoding="utf-8",
    )
    method, found = f"{code}:still", tmp_path / "found.json"
    words = ("--body", tmp_path / "phantom.obj", tmp_path / "tube.obj", "--method", method)
    assert dressform("check", *words, "--shapes", "0", "--workers", "1", "--json", found).code == 1
    ran.unlink()
    ended = dressform("explain", found, "tube/1", "--picture", tmp_path / "place.png")
    assert ended.code == 2
    assert "Say it to have that code run again" in ended.line
    assert not ran.exists()
    assert dressform("explain", found, "tube/1", "--picture", tmp_path / "place.png", "--method", method).code == 0
    assert ran.exists()
