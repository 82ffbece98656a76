"""The definition of a fault: everything that results, tables, pictures, the page and the documents use."""

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
        label: Name shown to people.
        unit: Unit of its values; empty for a pure number.
        factor: From the values of `field` to that unit.
        kind: `RISING` from nothing, or `DIVERGING` round 0.
        meaning: One sentence.
        field: Values at the vertices of the cloth, or of the body, on one shape.
        top: Value at which its colours end, in the layer's unit; where the fault is grave if left out.
    """

    name: str
    label: str
    unit: str
    factor: float
    kind: LayerKind
    meaning: str
    field: Callable[[Look], VertexScalars]
    top: float | None = None


@dataclass(frozen=True)
class Column:
    """A column of the tables in the terminal.

    Attributes:
        heading: Its heading, at most two lines.
        text: The worst value over several shapes, as text.
        is_wide: Whether it appears only in wide tables.
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
        bands: Values from which it is slight, moderate and grave.
        reason: Why these values were chosen.
        value: The one number that is graded.
        visible: How visible it is per area: 20 for bare skin, 0.1 for cloth under the skin. Ranks clusters.
        digits: Significant digits shown; digits before the decimal point are always shown.
        on: The surface on which it lies: `CLOTH` or `BODY`.
        is_summed: Whether a spot's value is the sum over its vertices (areas, counts) or the worst vertex.
        is_signed: Whether its field has a sign. Spots of each sign are then found separately.
        field: The fault at each vertex on one shape; None where it has no spots of its own.
        at_base: The field at the base, where a check is clean by definition; `field` if None.
        is_constant: Whether it is a fault of the base and the same on every shape.
        is_between: Whether no change of a patch of one garment shows its cause: it lies between two, or in the whole.
        areas: Area of each vertex that counts for the size of a spot, m²; that of the cloth at the base if None.
        layer: How it is shown in colours, or None.
        columns: Its own columns in tables, if any.
        brief: Its text in the shared column, with `{}` for the value.
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
    is_constant: bool = False
    is_between: bool = False
    areas: Callable[[Look], VertexScalars] | None = None
    layer: FaultLayer | None = None
    columns: tuple[Column, ...] = ()
    brief: str = ""


def spread(items: Int[np.ndarray, "N C"], count: int) -> Float[np.ndarray, " V"]:
    """One unit per row, in equal parts at its vertices, (V,): spots of triangles or pairs sum these."""
    if not len(items):
        return np.zeros(count)
    return np.bincount(items.ravel(), minlength=count) / items.shape[1]
