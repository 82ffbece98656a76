"""Reports for makers go beside that of all garments, and only where there is such a garment."""

from pathlib import Path

import pytest

from dressform.cli.makers import makers_reports, refuse_unknown_makers
from dressform.errors import ArgumentError


def test_a_makers_report_lies_beside_the_keepers() -> None:
    assert makers_reports(Path("out/village.html"), ["coat"]) == {"coat": Path("out/village-coat.html")}
    assert makers_reports(None, []) == {}


def test_a_maker_without_a_report_is_refused() -> None:
    with pytest.raises(ArgumentError, match="Name a report as well"):
        makers_reports(None, ["coat"])


def test_a_name_with_a_folder_is_refused() -> None:
    with pytest.raises(ArgumentError, match="Leave folders out"):
        makers_reports(Path("village.html"), ["../coat"])


def test_an_unknown_garment_is_refused_and_the_known_ones_are_listed() -> None:
    refuse_unknown_makers(["coat"], ["coat", "skirt"])
    with pytest.raises(ArgumentError, match="coat, skirt"):
        refuse_unknown_makers(["hat"], ["coat", "skirt"])
