"""A served page, checked over its range, for tests that only look at it."""

from collections.abc import Iterator

import pytest

from livetools import Running, live


@pytest.fixture(scope="module")  # a second driver of browsers would not start beside it
def checked(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Running]:
    """A server over small meshes that checks them, and a browser."""
    with live(tmp_path_factory.mktemp("page")) as running:
        running.server.hub.start_check()
        yield running
