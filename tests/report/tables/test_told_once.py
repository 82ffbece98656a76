"""Notes that several bodies or garments share are told once, under all their names."""

from dressform.report.tables.text import told_once


def test_a_note_of_several_is_told_once_under_all_names_in_the_order_of_its_first() -> None:
    noted = [("woman", ("Feet.", "Cut.")), ("coat", ("Turned.", "Cut.")), ("hat", ("Turned.",))]
    assert told_once(noted) == [("woman", "Feet."), ("woman, coat", "Cut."), ("coat, hat", "Turned.")]


def test_a_name_that_comes_twice_stands_once() -> None:
    assert told_once([("coat", ("Cut.",)), ("coat", ("Cut.",))]) == [("coat", "Cut.")]
    assert told_once([]) == []
