"""The shape that a garment was modelled on, as a table and as JSON."""

import json
from collections.abc import Sequence

from dressform.formats.results.failed import FailedGarment
from dressform.formats.results.record import plain
from dressform.infer.results import OTHER_BASE, OTHER_SHAPE, InferredShape
from dressform.report.tables.whole_table import WholeTable
from dressform.units import counted

INFERRED_SCHEMA = "dressform-inferred-shape/1"
DECIMALS = 3


def inferred_table(garment: str, found: InferredShape) -> WholeTable:
    """Verdict, and each weight with its 95 % interval; weights that the garment does not determine are marked."""
    title = f"{garment}: {found.verdict}. {found.sentence}"
    table = WholeTable(title)
    table.add_column(f"weight of {found.base}")
    for heading in ("likeliest", "from", "to"):
        table.add_column(heading, justify="right")
    table.add_column("note")
    silent = set(found.silent)
    for name, weight, low, high in zip(found.range.names, found.weights, found.low, found.high):
        if name in silent:
            table.add_row(name, "–", "–", "–", "the garment says nothing of it")
        else:
            table.add_row(name, *(_short(number) for number in (weight, low, high)), "")
    return table


def inferred_line(found: Sequence[tuple[str, InferredShape]], body: str) -> str:
    """The outcome in one sentence: which garments were modelled on another shape or base body, or that none was."""
    other = [name for name, shape in found if shape.verdict in (OTHER_SHAPE, OTHER_BASE)]
    if other:
        return (
            f"{len(other)} of {counted(len(found), 'garment')} modelled on another shape or base body than {body}: "
            f"{', '.join(other)}."
        )
    return f"{counted(len(found), 'garment')} on {body}: none modelled on another shape."


def _short(number: float) -> str:
    """Two digits, and no minus before nothing."""
    return f"{round(float(number), 2) + 0.0:.2f}"


def inferred_json(
    body: str, found: Sequence[tuple[str, InferredShape]], *, failed: Sequence[FailedGarment] = ()
) -> str:
    """Everything that was inferred about some garments, and which could not be read, as JSON text."""
    document = {
        "schema": INFERRED_SCHEMA,
        "body": body,
        "garments": [_plain(*one) for one in found],
        "failed": plain(tuple(failed)),
    }
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def _plain(garment: str, found: InferredShape) -> dict[str, object]:
    names, silent = found.range.names, set(found.silent)
    rows = zip(names, found.weights, found.low, found.high, found.spread)
    return {
        "garment": garment,
        "verdict": found.verdict,
        "sentence": found.sentence,
        "base": found.base,
        "weights": {
            name: {
                "likeliest": _round(weight),
                "low": _round(low),
                "high": _round(high),
                "spread": _round(spread),
                "told": name not in silent,
            }
            for name, weight, low, high, spread in rows
        },
        "directions": [
            {
                "spread": _round(direction.spread),
                "told": direction.told,
                "mix": {name: _round(part) for name, part in zip(names, direction.mix)},
            }
            for direction in found.directions
        ],
        "evidence": {name: _round(value) for name, value in found.evidence.items()},
    }


def _round(value: float) -> float:
    return round(float(value), DECIMALS) + 0.0
