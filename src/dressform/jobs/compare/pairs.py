"""Which rows of two results are the same garment on the same shape at the same stance; unlike results are refused."""

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass

import msgspec

from dressform.calls import likely
from dressform.errors import ArgumentError, MatchError
from dressform.formats.results.check_schema import StoredBody, StoredGarment, StoredResults
from dressform.formats.results.shape_schema import StoredShape

Moved = tuple[tuple[str, float], ...]
RowKey = tuple[str, Moved, Moved]
"""A stance, the weights that are not 0, and the sliders of joints that are not 0."""
DIGITS = 6
ALIKE = ("bands", "base")
"""Settings in which two results must agree, or their severities mean different things."""
NOT_TOLD = ("following", "workers", "causes", "methods")
"""Settings in which a difference is the matter of the comparison, or none at all."""


@dataclass(frozen=True)
class RowPair:
    """One shape at one stance, measured on both sides.

    Attributes:
        stance: The stance; empty at rest.
        first: What was found on the first side.
        second: What was found on the second side.
    """

    stance: str
    first: StoredShape
    second: StoredShape

    def of(self, side: int) -> StoredShape:
        """What was found on side 0 or 1."""
        return self.second if side else self.first


@dataclass(frozen=True)
class GarmentPair:
    """A garment on both sides.

    Attributes:
        first: On the side that is compared with.
        second: On the side that is judged.
        rows: Those that both have.
        alone: Labels of the rows that only the first side has, and only the second.
    """

    first: StoredGarment
    second: StoredGarment
    rows: tuple[RowPair, ...]
    alone: tuple[tuple[str, ...], tuple[str, ...]]


def renamed_garments(first: StoredResults, second: StoredResults, pairs: Mapping[str, str]) -> StoredResults:
    """The second results with each paired garment under the name that it has in the first.

    Raises:
        ArgumentError: a pair names a garment that its side does not have, or two name one; a near name is offered.
    """
    for place, told, named in ((1, first, tuple(pairs)), (2, second, tuple(pairs.values()))):
        known = list(dict.fromkeys(one.name for one in told.garments))
        for name in named:
            if name not in known:
                rule = f"of garments, on side {place} one of {', '.join(known)}"
                raise ArgumentError.of("compare", "pairs", rule, repr(name), likely(name, known, "Use these names"))
    if len(set(pairs.values())) < len(pairs):
        raise ArgumentError.of("compare", "pairs", "of different garments", "one twice", "Pair each once")
    new = {other: one for one, other in pairs.items()}
    kept = [one for one in second.garments if one.name in new or one.name not in pairs]
    garments = tuple(msgspec.structs.replace(one, name=new.get(one.name, one.name)) for one in kept)
    return msgspec.structs.replace(second, garments=garments)


def pair_garments(
    first: StoredResults, second: StoredResults, *, other_files: bool = False, alike: Collection[str] = ()
) -> list[GarmentPair]:
    """The garments that both results have.

    Args:
        first: The results that are compared with.
        second: The results that are judged.
        other_files: Whether garments of one name may be of different files.
        alike: Garments that are meant to be compared though their files differ.

    Raises:
        MatchError: the bodies differ, the bands differ, a garment of one name is another file, one result has a garment
            by several methods that the other has by others, or nothing can be paired.

    Proof: tests/jobs/compare/test_compared.py::test_unlike_results_are_refused
    """
    _refuse_other_body(first.body, second.body)
    for name in ALIKE:
        one, other = first.settings.get(name), second.settings.get(name)
        if one != other:
            raise MatchError(
                f"compare: results must have the same `{name}`, got {_short(one)} and {_short(other)}. "
                "Check both sides with the same settings."
            )
    pairs = []
    for one, other in _same_garments(first, second):
        if not other_files and one.name not in alike and not _is_same(one, other):
            raise MatchError(
                f"compare: {one.name!r} must be the same garment on both sides, got {one.source.file or 'one'} and "
                f"{other.source.file or 'another'} with different content. Say --other-files to compare them."
            )
        pairs.append(_paired(one, other))
    if not any(pair.rows for pair in pairs):
        raise MatchError(
            "compare: results must have a garment on the same shape, got none. Check the same garments with the same "
            "--shapes and --stances."
        )
    return [pair for pair in pairs if pair.rows]


def missing_garments(first: StoredResults, second: StoredResults, names: tuple[str, str]) -> dict[str, str]:
    """Garments that one side alone has, and which side that is."""
    one, other = ({garment.name for garment in told.garments} for told in (first, second))
    return {name: names[0] for name in sorted(one - other)} | {name: names[1] for name in sorted(other - one)}


def differing_settings(first: StoredResults, second: StoredResults) -> dict[str, tuple[str, str]]:
    """Settings and versions in which both sides differ, as text."""
    found = {}
    for name in sorted({*first.settings, *second.settings} - set(NOT_TOLD)):
        one, other = first.settings.get(name), second.settings.get(name)
        if one != other:
            found[name] = _short(one), _short(other)
    for name in sorted({*first.versions, *second.versions}):
        one, other = first.versions.get(name), second.versions.get(name)
        if one != other:
            found[f"version of {name}"] = _short(one), _short(other)
    return found


def _refuse_other_body(first: StoredBody, second: StoredBody) -> None:
    same_file = bool(first.source.sha256) and first.source.sha256 == second.source.sha256
    same = (same_file or (bool(first.content) and first.content == second.content)) and first.name == second.name
    if not same or first.range != second.range:
        raise MatchError(
            f"compare: results must be of the same body with the same range, got {first.name!r} of "
            f"{first.source.file or 'memory'} and {second.name!r} of {second.source.file or 'memory'}. "
            "Check both sides on one body."
        )


def _is_same(first: StoredGarment, second: StoredGarment) -> bool:
    same_file = bool(first.source.sha256) and first.source.sha256 == second.source.sha256
    return same_file or (bool(first.content) and first.content == second.content)


def _same_garments(first: StoredResults, second: StoredResults) -> Iterator[tuple[StoredGarment, StoredGarment]]:
    for name in dict.fromkeys(garment.name for garment in first.garments):
        ones, others = ([one for one in told.garments if one.name == name] for told in (first, second))
        if len(ones) == 1 and len(others) == 1:
            yield ones[0], others[0]
            continue
        by_method = {one.method: one for one in others}
        shared = [one for one in ones if one.method in by_method]
        if others and not shared:
            raise MatchError(
                f"compare: {name!r} must follow by one method on each side, or by the same ones, got "
                f"{', '.join(one.method for one in ones)} and {', '.join(by_method)}. Check one method a side."
            )
        yield from ((one, by_method[one.method]) for one in shared)


def _paired(first: StoredGarment, second: StoredGarment) -> GarmentPair:
    ones, others = _rows(first), _rows(second)
    rows = tuple(RowPair(key[0], ones[key], others[key]) for key in ones if key in others)
    alone = tuple(_labels(here, there) for here, there in ((ones, others), (others, ones)))
    return GarmentPair(first, second, rows, (alone[0], alone[1]))


def _labels(here: Mapping[RowKey, StoredShape], there: Mapping[RowKey, StoredShape]) -> tuple[str, ...]:
    """Rows that one side alone has, by shape and stance."""
    return tuple(
        f"{shape.label}, {key[0]}" if key[0] else shape.label for key, shape in here.items() if key not in there
    )


def _rows(garment: StoredGarment) -> Mapping[RowKey, StoredShape]:
    shapes = [("", shape) for shape in garment.shapes]
    shapes += [(stance.name, shape) for stance in garment.stances for shape in stance.shapes]
    return {(stance, _moved(shape.weights), _moved(shape.joints)): shape for stance, shape in shapes}


def _moved(values: Mapping[str, float]) -> Moved:
    return tuple(sorted((name, round(value, DIGITS)) for name, value in values.items()))


def _short(value: object) -> str:
    text = "none" if value is None else str(value)
    return text if len(text) <= 60 else f"{text[:57]}..."
