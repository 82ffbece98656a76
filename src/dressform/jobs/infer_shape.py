"""Inferring: the body shape that a garment was modelled on."""

from collections.abc import Sequence
from dataclasses import dataclass

from dressform.body.body import Body
from dressform.calls import called
from dressform.errors import FileError
from dressform.formats.frames.plausible import refuse_still
from dressform.garment.garment import Garment
from dressform.infer import shape
from dressform.infer.results import OTHER_BASE, OTHER_SHAPE, InferredShape
from dressform.jobs.arguments import left_at_zero
from dressform.jobs.explain.explain import others_of
from dressform.jobs.load import judged_garment
from dressform.report.tables.inferred_shape import inferred_table
from dressform.report.tables.text import table_text


@dataclass(frozen=True, eq=False, repr=False)
class InferResult:
    """The shape that a garment was modelled on, as a set; `print` shows the table that a person reads.

    Attributes:
        body: The body that it is meant for.
        garment: The garment.
        shape: The shapes on which it may have been modelled.
    """

    body: Body
    garment: Garment
    shape: InferredShape

    @property
    def faulty(self) -> bool:
        """Whether it was modelled on another shape or another base body than it is meant for."""
        return self.shape.verdict in (OTHER_SHAPE, OTHER_BASE)

    @property
    def notes(self) -> tuple[str, ...]:
        """What was not looked at: sliders that move joints."""
        return left_at_zero(self.body)

    def __str__(self) -> str:
        notes = "".join(f"note: {note}\n" for note in self.notes)
        return notes + table_text(inferred_table(self.garment.name, self.shape))

    def __repr__(self) -> str:
        return f"<InferResult of {self.garment.name!r}: {self.shape.verdict}>"


@called("infer_shape")
def infer_shape(body: Body, garment: Garment, *, others: Sequence[Body] | None = None) -> InferResult:
    """Infer the body shape that a garment was modelled on, among weights of morphs: sliders of joints stay at 0.

    Args:
        body: The body that the garment is meant for.
        garment: Cloth, on whatever shape it was modelled on.
        others: Other base bodies on which it may have been modelled, with the triangles of `body`; those of the body's
            file that have them if omitted.

    Raises:
        FileError: the body has no morphs, or the garment cannot be meant for it.
        MatchError: another base body has other triangles.

    Proof: tests/jobs/test_more_jobs.py
    """
    refuse_still(body)
    garment = judged_garment(body, garment)
    known = _alike(body) if others is None else others
    return InferResult(body, garment, shape.infer_shape(body, garment, others=known))


def _alike(body: Body) -> list[Body]:
    """The other base bodies of the file that have the triangles of this one."""
    try:
        read = others_of(body)()
    except FileError:  # a base body that is not asked for may be of any kind
        return []
    return [one for one in read if one.faces.shape == body.faces.shape and (one.faces == body.faces).all()]
