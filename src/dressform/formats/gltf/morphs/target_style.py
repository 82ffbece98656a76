"""How the morph targets of a fitted garment are written: coded how, with normals or without, all of them or not."""

import math
from dataclasses import dataclass

from dressform.errors import ArgumentError
from dressform.units import MM_PER_M

SPARSE, DENSE = "sparse", "dense"
ENCODINGS = (SPARSE, DENSE)
MOST_TARGETS = 64
"""So many targets of one mesh a widespread engine plays; common practice, no source."""
MORPHED_ATTRIBUTES = 8
"""So many morphed attributes the standard asks of every client [glTF2 3.7.2.2]."""


@dataclass(frozen=True)
class TargetStyle:
    """How targets are written.

    Attributes:
        encoding: `sparse`, where that is smaller, or `dense`: for engines that read sparse accessors wrongly.
        normals: Whether each target turns the normals too, and the tangents where the file has some.
        still: Whether a morph that does not move the garment gets a target all the same.
        basis: Where fewer targets than morphs are to be written, how far a vertex may be off, metres; None for a target
            per morph.
    """

    encoding: str = SPARSE
    normals: bool = True
    still: bool = True
    basis: float | None = None

    def __post_init__(self) -> None:
        if self.encoding not in ENCODINGS:
            advice = "Use one of these names"
            raise ArgumentError.of(
                "TargetStyle", "encoding", f"one of {', '.join(ENCODINGS)}", repr(self.encoding), advice
            )
        if self.basis is not None and not 0.0 <= self.basis < math.inf:
            observed = f"{self.basis * MM_PER_M:g}"
            raise ArgumentError.of("TargetStyle", "basis", "0 mm or more", observed, "Say how far a vertex may be off")


DEFAULT_STYLE = TargetStyle()


def crowded_notes(name: str, targets: int, attributes: int) -> tuple[str, ...]:
    """What to say of a mesh with more targets than some clients play.

    Args:
        name: The mesh.
        targets: How many it has.
        attributes: How many attributes each of them moves.
    """
    notes = []
    if targets > MOST_TARGETS:
        notes.append(
            f"{name} has {targets} morph targets; engines are known that play no mesh with more than {MOST_TARGETS}. "
            "Leave out those that do not move it (--drop-still), or write a basis (--basis)."
        )
    if targets * attributes > MORPHED_ATTRIBUTES:
        words = "attribute" if attributes == 1 else "attributes"
        halve = "" if attributes == 1 else " --no-normals writes one attribute a target."
        notes.append(
            f"{name}: {targets} targets of {attributes} {words} each; the standard asks a client for "
            f"{MORPHED_ATTRIBUTES} morphed attributes at once, which are {MORPHED_ATTRIBUTES // attributes} active "
            f"morphs.{halve}"
        )
    return tuple(notes)
