"""Both demo people, one after the other."""

import pytest

from demo_people import people
from dressform.body.body import Body

BUILDS = ("woman", "man")


@pytest.fixture(params=BUILDS)
def body(request: pytest.FixtureRequest) -> Body:
    return people()[request.param]
