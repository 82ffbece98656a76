"""Places that garments share are told once, of this report's garments alone, and never against each other."""

from typing import Any

from dressform.formats.results.cluster_schema import StoredShared
from dressform.report.html.shared import shared_lines

SUSPECTS = {
    "garment": "each of them is cut alike there, and each maker has to change it",
    "body": "the body's own morphs are the suspect, before any garment",
}


def place(side: str, height_mm: float, suspect: Any = "garment", keys: tuple[str, ...] = ("coat", "skirt")) -> Any:
    return StoredShared(
        fault="stretch", region="upper_arm", side=side, height_mm=height_mm,
        clusters=tuple(f"{key} smooth/1" for key in keys), suspect=suspect,
        sentence=f"2 garments ({', '.join(keys)}) fail alike at upper_arm, {side}: {SUSPECTS[suspect]}",
    )  # fmt: skip


def lines(*shared: Any, garments: tuple[str, ...] = ("coat", "skirt")) -> Any:
    return shared_lines(shared, {f"{name} smooth": name for name in garments})


def test_a_place_and_its_mirror_image_are_one_line() -> None:
    (line,) = lines(place("back right", 1200), place("back left", 1220))
    assert line.where == "upper arm, back right and back left, 121 cm above the ground"
    assert line.garments == ("coat", "skirt")
    assert line.suspect == SUSPECTS["garment"]


def test_of_a_place_that_is_blamed_on_two_nothing_is_said() -> None:
    """The chest at 1.14 m was the body's fault and at 1.13 m the makers'."""
    assert lines(place("front right", 1140, "body"), place("front right", 1130)) == []


def test_places_far_apart_are_two_lines() -> None:
    assert len(lines(place("back right", 1200), place("back left", 900))) == 2


def test_garments_that_the_report_does_not_hold_are_not_named() -> None:
    (line,) = lines(place("back right", 1200, keys=("coat", "skirt", "secret")))
    assert "secret" not in line.garments
    assert lines(place("back right", 1200), garments=("coat",)) == []
