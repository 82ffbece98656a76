"""The page that ships in the package is what its sources give, and its own checks pass."""

import json
from importlib import resources
from pathlib import Path

import pytest

from nodetools import WEB, node

pytestmark = pytest.mark.node
BUILT = ("page.js", "page.css")


def test_a_fresh_build_gives_every_byte_that_is_committed(tmp_path: Path) -> None:
    node("build.mjs", tmp_path, folder=WEB)
    shipped = resources.files("dressform.report").joinpath("page")
    for name in BUILT:
        assert (tmp_path / name).read_bytes() == shipped.joinpath(name).read_bytes(), f"{name}: npm run build"


def test_it_is_built_with_the_locked_versions() -> None:
    node("--version", folder=WEB)
    locked = json.loads((WEB / "package-lock.json").read_text())["packages"]
    installed = json.loads((WEB / "node_modules" / ".package-lock.json").read_text())["packages"]
    direct = {**locked[""]["dependencies"], **locked[""]["devDependencies"]}
    for name, version in direct.items():
        assert locked[f"node_modules/{name}"]["version"] == version, f"{name} is not pinned"
        assert installed[f"node_modules/{name}"]["version"] == version, "run npm ci --prefix web"


def test_the_types_of_the_page_are_sound() -> None:
    node("node_modules/typescript/bin/tsc", "--noEmit", folder=WEB)


def test_the_page_keeps_its_own_promises() -> None:
    told = node("test.mjs", folder=WEB)
    assert "# fail 0" in told
    assert "# pass 0" not in told


def test_the_page_asks_no_other_machine_for_anything() -> None:
    shipped = resources.files("dressform.report").joinpath("page")
    style = shipped.joinpath("page.css").read_text()
    assert "url(" not in style
    assert "@import" not in style
