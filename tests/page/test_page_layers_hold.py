"""The layers of the page's own sources: imports point down, and the check that says so can fail."""

import shutil
from pathlib import Path

import pytest

from nodetools import WEB, node

pytestmark = pytest.mark.node


@pytest.fixture
def sources(tmp_path: Path) -> Path:
    """A copy of the page's sources to spoil."""
    return shutil.copytree(WEB / "src", tmp_path / "src")


def test_no_file_of_the_page_imports_a_layer_above_its_own() -> None:
    assert "points down" in node("layers.mjs", folder=WEB)


@pytest.mark.parametrize(
    ("file", "line", "told"),
    [
        ("parts/pin.ts", 'import { openPage } from "../app/page.ts";', r"parts/pin\.ts imports app/page\.ts"),
        ("stage/stage.ts", 'import type { Context } from "../context.ts";', r"stage/stage\.ts imports context\.ts"),
        ("parts/pin.ts", 'export * from "./tabs/range_tab.ts";', r"parts/pin\.ts imports parts/tabs/range_tab\.ts"),
        ("data/pack.ts", 'const late = import("../draw/scale.ts");', r"data/pack\.ts imports draw/scale\.ts"),
    ],
)
def test_an_upward_import_is_refused_with_both_names(sources: Path, file: str, line: str, told: str) -> None:
    with (sources / file).open("a", encoding="utf-8") as spoilt:
        spoilt.write(f"\n{line}\n")
    with pytest.raises(AssertionError, match=told):
        node("layers.mjs", sources, folder=WEB)


def test_a_file_outside_every_layer_is_refused(sources: Path) -> None:
    (sources / "odd.ts").write_text("export const odd = 1;\n", encoding="utf-8")
    with pytest.raises(AssertionError, match=r"odd\.ts stands in no layer"):
        node("layers.mjs", sources, folder=WEB)
