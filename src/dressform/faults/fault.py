"""What a fault is: everything that results, tables, pictures, the page and the documents need to know of it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import VertexScalars
from dressform.faults.look import Look
from dressform.faults.prepared import PreparedGarment
from dressform.faults.results import ShapeFaults

Surface = Literal["cloth", "body"]
CLOTH: Final = "cloth"
BODY: Final = "body"
LayerKind = Literal["rising", "diverging", "classes"]
RISING: Final = "rising"
DIVERGING: Final = "diverging"
CLASSES: Final = "classes"

Band = tuple[float, float, float]
"""The values from which on a fault is slight, moderate and grave; below the first it is clean."""


@dataclass(frozen=True)
class FaultLayer:
    """How the page and pictures show a fault as colours on a surface.

    Attributes:
        name: Name in packs.
        label: What a person reads.
        unit: Unit of its values; empty for a pure number.
        factor: From the values of `field` to that unit.
        kind: `RISING` from nothing, or `DIVERGING` round 0.
        meaning: One sentence.
        least: A picture's scale reaches at least this far, in the layer's unit.
        field: Values at the vertices of the cloth, or of the body, on one shape.
        top: Value at which the page's scale ends, in the layer's unit; where the fault is grave if left out.
    """

    name: str
    label: str
    unit: str
    factor: float
    kind: LayerKind
    meaning: str
    least: float
    field: Callable[[Look], VertexScalars]
    top: float | None = None


@dataclass(frozen=True)
class Column:
    """A column of the tables in the terminal.

    Attributes:
        heading: Its heading, at most two lines.
        text: What it says of several shapes together: the worst of them.
        is_wide: Whether only wide tables have it.
    """

    heading: str
    text: Callable[[Sequence[ShapeFaults]], str]
    is_wide: bool = False


@dataclass(frozen=True)
class Fault:
    """One fault that is graded.

    Attributes:
        key: Its name in files and in code.
        words: Its name for people.
        unit: Unit in which people read its value; empty for a pure number.
        factor: From its value (metres, m², shares, counts) to that unit.
        figure: What is graded, in words.
        bands: From which values on it is slight, moderate and grave.
        reason: Why there.
        value: The one number that is graded.
        visible: How plainly it is seen, area for area: bare skin 20, what lies under the skin 0.1. Ranks clusters.
        digits: A person reads so many digits of its value, or all before the point.
        on: The surface on which it lies: `CLOTH` or `BODY`.
        is_summed: Whether a spot is worth the sum over its vertices (areas, counts); else the worst vertex counts.
        is_signed: Whether its field has a sign. Spots of both signs are then looked for, each by itself.
        field: The fault at each vertex on one shape; None where it has no spots of its own.
        at_base: The field at the base, where a check is clean by definition; the same field if None.
        areas: Area of each vertex that counts for the size of a spot, m²; that of the cloth at the base if None.
        layer: How it is shown in colours, if it is.
        columns: Its columns in tables, where it has some of its own.
        brief: Its words in the column that it shares with others, with `{}` for the value.
    """

    key: str
    words: str
    unit: str
    factor: float
    figure: str
    bands: Band
    reason: str
    value: Callable[[ShapeFaults], float]
    visible: float
    digits: int = 3
    on: Surface = CLOTH
    is_summed: bool = False
    is_signed: bool = False
    field: Callable[[Look], VertexScalars] | None = None
    at_base: Callable[[PreparedGarment], VertexScalars] | None = None
    areas: Callable[[Look], VertexScalars] | None = None
    layer: FaultLayer | None = None
    columns: tuple[Column, ...] = ()
    brief: str = ""


def spread(items: Int[np.ndarray, "N C"], count: int) -> Float[np.ndarray, " V"]:
    """One unit per row, in equal parts at its vertices, (V,): what spots of triangles or pairs add up."""
    if not len(items):
        return np.zeros(count)
    return np.bincount(items.ravel(), minlength=count) / items.shape[1]
