"""A name that is likely meant is offered in place of one that is unknown."""

import pytest

from dressform.body.pose import turned_worlds
from dressform.calls import likely
from dressform.errors import ArgumentError
from dressform.jobs.stances import find_stances
from limbs import limb, skeleton


def test_the_nearest_name_is_offered_whatever_its_case_and_none_where_nothing_is_near() -> None:
    assert likely("LeftElbo", ("leftelbow", "head")) == "Write leftelbow"
    assert likely("LEFTELBOW", ("LeftElbow",)) == "Write LeftElbow"
    assert likely("zzz", ("LeftElbow",), "Use these") == "Use these"
    assert likely("a", ()) == "Use one of these names"


def test_a_joint_and_a_set_of_stances_that_are_misspelt_are_answered_with_the_right_name() -> None:
    with pytest.raises(ArgumentError, match=r"got 'foree'\. Write fore\."):
        turned_worlds(skeleton(), {"foree": [0.0, 0.0, 0.0, 1.0]})
    with pytest.raises(ArgumentError, match=r"got 'everyday,strog'\. Write strong\."):
        find_stances(limb(along=9, around=8), "everyday,strog")
