"""Repairing: a fit is mended over the whole range, with what that cost and what is left."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from dressform.body.shapes import Shape, ShapeSettings
from dressform.body.stance import Stance
from dressform.calls import called
from dressform.errors import ArgumentError
from dressform.faults.body_context import BodyContext
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.graded.exposed import EXPOSED
from dressform.faults.graded.in_front import IN_FRONT
from dressform.faults.graded.layers import LAYERS
from dressform.faults.graded.pierced import PIERCED
from dressform.faults.graded.sunk import SUNK
from dressform.faults.results import SEVERITIES, ShapeFaults
from dressform.fit.fit import Fit
from dressform.fit.posed import posed_fit
from dressform.formats.gltf.refined_file import refine_file
from dressform.formats.load import GarmentFile
from dressform.formats.results.check_report import FAULTY
from dressform.jobs.arguments import refuse_shaped, refuse_stances, shape_settings
from dressform.jobs.check_report import body_source, following_object, garment_source
from dressform.jobs.progress import Progress, stage
from dressform.jobs.prove import NO_CLIPS, chosen_clips, prove
from dressform.jobs.provenance import versions
from dressform.mesh.tree import Tree
from dressform.proof.linear_mesh import LinearMesh
from dressform.repair import chain
from dressform.repair.chain import REPAIRS, repair_fit
from dressform.repair.names import BRING_OUT
from dressform.report.tables.proof import Proof
from dressform.report.tables.receipt import Receipt, receipt_table
from dressform.report.tables.text import table_text
from dressform.sweep.results import SweepRow
from dressform.sweep.run import REPAIR_SHAPES, choose_shapes
from dressform.sweep.search import search_worse
from dressform.sweep.worst_asked import worst_of

WORST_AT_STANCE = 2
"""So many of the worst corners of the range are looked at, at each stance after a repair."""


@dataclass(frozen=True, eq=False, repr=False)
class Repaired:
    """A repaired fit, and what became of it; what is measured and proven is so when it is first asked for.

    Attributes:
        start: The fit as it was.
        fit: The repaired fit.
        repairs: Names of the repairs that were asked for.
        shapes: Shapes at which resolution was tested and both fits are measured.
        changes: What each repair changed, cost and left.
        obstacle: The body as a moving mesh if it was at hand.
        keep_base: Whether the vertices of the base were kept where they were.
        stances: Stances that were repaired and are proven, beside rest.
        clips: Animations that are proven at every instant, as `prove` takes them.
    """

    start: Fit
    fit: Fit
    repairs: tuple[str, ...]
    shapes: tuple[Shape, ...]
    changes: chain.ChainResult
    obstacle: LinearMesh | None = None
    keep_base: bool = False
    stances: tuple[Stance, ...] = ()
    clips: str = NO_CLIPS

    @cached_property
    def before(self) -> tuple[ShapeFaults, ...]:
        """Faults of the fit as it was, one per shape."""
        return self._measured(self.start)

    @cached_property
    def after(self) -> tuple[ShapeFaults, ...]:
        """Faults of the repaired fit, one per shape."""
        return self._measured(self.fit)

    @cached_property
    def after_at_stances(self) -> tuple[ShapeFaults, ...]:
        """Faults of the repaired fit at its stances: at the base, at the worst corners, and what a search finds."""
        check, rows = GarmentOnBody(self.fit, context=self._context), list[SweepRow]()
        for stance in self.stances:
            corners = worst_of(posed_fit(self.fit, stance), most=WORST_AT_STANCE)
            for weights in (np.zeros(len(self.fit.body.morph_names)), *(one.shape.weights for one in corners)):
                rows.append(SweepRow("", "", weights, check.measure(weights, stance), 0.0, kept=False, stance=stance))
        return tuple(row.faults for row in (*rows, *search_worse(check, rows, self.stances)))

    @cached_property
    def proof(self) -> Proof:
        """What is proven of the repaired fit over the whole range."""
        return prove(self.fit, stances=self.stances, clips=self.clips, sliders=False, obstacle=self.obstacle)

    @cached_property
    def _context(self) -> BodyContext:
        """What both fits share of their body, prepared once."""
        return BodyContext(self.start.body)

    @property
    def faulty(self) -> bool:
        """Whether skin still shows, at rest or at a stance, or is in front at the base; see `is_seen_wrong`."""
        return is_seen_wrong((*self.after, *self.after_at_stances))

    @property
    def faulty_stances(self) -> tuple[str, ...]:
        """Stances at which something is still seen that should be covered."""
        return tuple(dict.fromkeys(one.stance for one in self.after_at_stances if is_seen_wrong([one])))

    @property
    def added_vertices(self) -> int:
        """Vertices that were added where triangles were split."""
        return len(self.fit.base) - len(self.start.base)

    @cached_property
    def receipt(self) -> Receipt:
        """Before and after, what was changed and what is proven, for a file."""
        following, body = self.start.following, self.start.body
        settings = {
            "method": following.method,
            "ease": following.ease,
            "rotation_share": following.effective_rotation_share,
            "repairs": list(self.repairs),
            "keep_base": self.keep_base,
            "margin_mm": following.margin_mm,
            "stances": [one.name for one in self.stances],
            "clips": [one.name for one in chosen_clips("repair", body, self.clips)],
            "following": following_object(following),
        }
        files = {"body": body_source(body), "garment": garment_source(self.start.garment)}
        labels = tuple(shape.label for shape in self.shapes)
        return Receipt(versions(), settings, files, labels, self.before, self.after, self.changes, self.proof,
                       self.after_at_stances)  # fmt: skip

    def _measured(self, fit: Fit) -> tuple[ShapeFaults, ...]:
        check = GarmentOnBody(fit, context=self._context)
        return tuple(check.measure(shape.weights) for shape in self.shapes)

    def __str__(self) -> str:
        return table_text(receipt_table(self.receipt))

    def __repr__(self) -> str:
        return f"<Repaired {self.fit!r} by {', '.join(self.repairs) or 'nothing'}>"


@called("repair", apart=("shapes", "stances"))
def repair(
    fit: Fit,
    *,
    repairs: Sequence[str] = REPAIRS,
    keep_base: bool = False,
    shapes: ShapeSettings | int = REPAIR_SHAPES,
    stances: Sequence[Stance] = (),
    correctives: bool = True,
    clips: str = NO_CLIPS,
    divide: bool = False,
    obstacle: LinearMesh | None = None,
    tree: Tree | None = None,
    progress: Progress | None = None,
) -> Repaired:
    """Mend a fit over the whole range of its body: vertices where too few are, rims of rigid patches, clearance.

    By default cloth that lies in the skin at the base is brought out first; the receipt says how far it moved.

    Args:
        fit: The fit; its following says which clearance to keep and which parts are hard.
        repairs: Names of the repairs, done in the order of `REPAIRS`.
        keep_base: Whether every vertex of the base stays where it is, also in the skin; morph deltas alone are mended,
            and what the base would have to yield is reported. Vertices may be added.
        shapes: Shapes at which resolution is tested, beside the base and the worst: a number for that many evenly
            spread ones.
        stances: Stances at which the cloth must keep off the skin under it too. What is clear at rest stays clear.
        correctives: Whether strong bends among them get targets that joints drive; else base and morphs serve them.
        clips: Animations of the body's file that the repaired fit is proven for at every instant; see `prove`.
        divide: Whether cloth that dividing the range proves to be clear is left where it is, as `prove` does. It
            takes longer, and moves coarse cloth much less.
        obstacle: Its body as a moving mesh if it is at hand.
        tree: Its body's triangles if they are at hand.
        progress: Told of the rounds of the clearance repair and the pairs of triangles that still fall short.

    Raises:
        ArgumentError: no repair has that name; the valid names are listed. Or stances of which two have one name, or
            that body or cloth cannot take. Or animations that the body's file does not have.

    Proof: tests/repair/test_chain.py
    """
    refuse_shaped("repair", fit)
    refuse_stances("repair", stances, [fit])
    chosen_clips("repair", fit.body, clips)
    names = (repairs,) if isinstance(repairs, str) else tuple(repairs)
    unknown = next((name for name in names if name not in REPAIRS), None)
    if unknown is not None:
        rule = f"some of {', '.join(REPAIRS)}"
        raise ArgumentError.of("repair", "repairs", rule, repr(unknown), "Use these names")
    names = tuple(name for name in names if not (keep_base and name == BRING_OUT))
    looked = shape_settings("repair", shapes, REPAIR_SHAPES)
    chosen = choose_shapes({"": fit}, settings=looked)[""]
    done = repair_fit(
        fit,
        repairs=names,
        keep_base=keep_base,
        shapes=chosen,
        stances=stances,
        correctives=correctives,
        divide=divide,
        obstacle=obstacle,
        tree=tree,
        progress=stage(progress, "repairing"),
    )
    return Repaired(fit, _with_file(fit, done), names, tuple(chosen), done, obstacle, keep_base, tuple(stances), clips)


def is_seen_wrong(found: Iterable[ShapeFaults]) -> bool:
    """Whether what should be covered is seen on some shape, from `moderate` on: skin, or a layer below."""
    seen = (one.severities[fault.key] for one in found for fault in (IN_FRONT, SUNK, EXPOSED, PIERCED, LAYERS))
    return any(SEVERITIES.index(severity) >= SEVERITIES.index(FAULTY) for severity in seen)


def _with_file(fit: Fit, done: chain.ChainResult) -> Fit:
    """The repaired fit, whose garment knows its file on the refined mesh."""
    source, end = fit.garment.source, done.fit
    if done.refined is None or len(end.base) == len(fit.base) or not isinstance(source, GarmentFile):
        return end
    return replace(end, garment=replace(end.garment, source=refine_file(source, done.refined.split)))
