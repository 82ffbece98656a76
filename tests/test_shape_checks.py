"""Under the tests types are checked, and lengths that share a letter must agree within a call."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pytest
from beartype.roar import BeartypeCallHintParamViolation, BeartypeCallHintReturnViolation
from jaxtyping import Float

from dressform.mesh.geometry import barycentric, edge_lengths
from shape_checks import checked

if TYPE_CHECKING:
    Elsewhere = None

Row = Float[np.ndarray, " N"]


@checked
def longer(first: Row, second: Row | None = None, *, by: int = 1) -> Row:
    inner(np.zeros(len(first) + 1))
    return np.zeros(len(first) + by - 1)


@checked
def inner(row: Row) -> None:
    del row


@checked
def rows(row: Row) -> Iterator[Row]:
    yield row


@checked
def first_of(pair: "Pair", other: "Elsewhere") -> Row:
    del other
    return pair.first


@checked
@dataclass(frozen=True)
class Pair:
    first: Row
    second: Row


def test_the_package_is_checked() -> None:
    edges = np.array([[0, 1]])
    with pytest.raises(BeartypeCallHintParamViolation, match="vertices"):
        edge_lengths(np.zeros((2, 2)), edges)
    with pytest.raises(BeartypeCallHintParamViolation, match="float64"):
        edge_lengths(np.zeros((2, 3)), edges.astype(np.float64))
    with pytest.raises(BeartypeCallHintParamViolation, match="corners"):
        barycentric(np.zeros((2, 3)), np.zeros((3, 3, 3)))


def test_lengths_of_one_letter_agree_within_a_call_and_not_between_calls() -> None:
    assert len(longer(np.zeros(3), np.zeros(3))) == 3
    assert len(longer(np.zeros(4))) == 4
    with pytest.raises(BeartypeCallHintParamViolation, match="second"):
        longer(np.zeros(3), np.zeros(4))


def test_a_result_of_another_length_is_refused() -> None:
    with pytest.raises(BeartypeCallHintReturnViolation):
        longer(np.zeros(3), by=2)


def test_plain_types_are_checked_too() -> None:
    with pytest.raises(BeartypeCallHintParamViolation, match="by"):
        longer(np.zeros(3), by="1")  # type: ignore[arg-type]


def test_hints_written_as_text_are_checked_where_their_names_are_known() -> None:
    assert first_of(Pair(np.zeros(2), np.zeros(2)), None).size == 2
    with pytest.raises(BeartypeCallHintParamViolation, match="pair"):
        first_of("pair", None)  # type: ignore[arg-type]


def test_fields_of_a_dataclass_agree() -> None:
    assert Pair(np.zeros(2), np.zeros(2)) is not None
    with pytest.raises(BeartypeCallHintParamViolation, match="second"):
        Pair(np.zeros(2), np.zeros(3))


def test_a_generator_s_arguments_are_checked() -> None:
    assert [len(row) for row in rows(np.zeros(2))] == [2]
    with pytest.raises(BeartypeCallHintParamViolation, match="row"):
        list(rows(np.zeros((2, 2))))
