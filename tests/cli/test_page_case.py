"""What the page saves, the command line reads: a case is replayed with the same figures, settings are followed."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from PIL import Image

from dressform.formats.case_file import read_case
from dressform.formats.following_file import read_following
from livepage import opened, served

Run = Callable[..., Any]
KEY = "tube smooth"
VIEW = {"position": [0.0, 1.0, 3.0], "target": [0.0, 1.0, 0.0], "layer": "exposed"}


def test_a_case_of_the_page_is_replayed_with_the_same_figures(tmp_path: Path, dressform: Run) -> None:
    start = opened(tmp_path, settings_file=tmp_path / "follow.toml", cases=tmp_path / "cases")
    with served(start) as running, running.page() as page:
        page.request("meshes", garments=[KEY])
        page.request("edit", garment=KEY, settings={"strength": 0.0, "ease": "scale"})
        asked = {"weights": [0.0, 1.0], "garments": [KEY], "view": VIEW, "pose": {"animation": 0, "time": 0.5}}
        file = page.request("case", **asked).header["file"]
        page.request("save")
    case = read_case(tmp_path / "cases" / file)
    assert case.garment.following.strength == 0.0
    ended = dressform("case", "replay", tmp_path / "cases" / file, "--units", "m", "--picture", tmp_path / "view.png")
    assert ended.code in {0, 1}, ended.err
    rows = [line for line in ended.out.splitlines() if line.rstrip().endswith(("slight", "moderate", "grave"))]
    assert rows
    for row in rows:
        words = [word for word in row.split() if word in {"slight", "moderate", "grave"} or word[0].isdigit()]
        assert words[: len(words) // 2] == words[len(words) // 2 :], row
    with Image.open(tmp_path / "view.png") as drawn:
        assert np.asarray(drawn).std() > 5
    assert read_following(tmp_path / "follow.toml")["tube"].ease == "scale"
    fitted = dressform(
        "fit", tmp_path / "tube.glb", "--body", tmp_path / "body.glb", "--base", "woman", "--units", "m",
        "-o", tmp_path / "out.glb", "--no-repair", "--settings", tmp_path / "follow.toml",
    )  # fmt: skip
    assert fitted.code == 0, fitted.err
