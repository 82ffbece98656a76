"""One running page for all tests that leave it as it was."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from livepage import Client, Served, opened, served


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """A server whose garments nobody edits."""
    folder = tmp_path_factory.mktemp("page")
    with served(opened(folder)) as running:
        yield running


@pytest.fixture
def page(server: Served) -> Iterator[Client]:
    """A fresh page of it, which has the meshes of the garment."""
    with server.page() as client:
        client.request("meshes", garments=["tube smooth"])
        yield client


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Served]:
    """A server of this test alone, which may be edited and may write."""
    start = opened(tmp_path, settings_file=tmp_path / "follow.toml", out=tmp_path / "out", cases=tmp_path / "cases")
    with served(start) as running:
        yield running
