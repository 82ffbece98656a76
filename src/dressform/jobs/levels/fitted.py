"""Levels of detail that were fitted together: what became of each, and how far it is from the next finer one."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from scipy.sparse import csr_array

from dressform.body.body import Body
from dressform.fit.fit import Fit
from dressform.formats.gltf.morphs.target_style import DEFAULT_STYLE, TargetStyle
from dressform.formats.results.check_report import Source
from dressform.formats.results.levels_schema import LevelBeside, StoredLevel, StoredLevels
from dressform.jobs.provenance import NO_FILE, now, versions
from dressform.jobs.repair import Repaired
from dressform.jobs.save import Small, made_small
from dressform.levels.apart import LevelsApart, levels_apart, shared_shapes
from dressform.report.levels.table import levels_table
from dressform.report.tables.proof import proof_line
from dressform.report.tables.receipt import figures
from dressform.report.tables.text import table_text
from dressform.units import MM_PER_M, PERCENT, number

DEFAULT_POP_MM = 5.0
"""So much farther apart than as modelled may outlines be; common practice, no source."""


@dataclass(frozen=True, eq=False, repr=False)
class FittedLevel:
    """One level of detail, fitted and repaired; what is measured of it is so when it is first asked for.

    Attributes:
        repaired: The level on its own level of the body.
        finer: The next finer level; None for the finest.
        rows: Matrix that reads the finer cloth at the vertices of this one; None for the finest.
        notes: What should be said of how it was made to move as the finer one.
        small: The file made small, where that was asked for.
    """

    repaired: Repaired
    finer: "FittedLevel | None" = None
    rows: csr_array | None = None
    notes: tuple[str, ...] = ()
    small: Small | None = None

    @property
    def name(self) -> str:
        """Name of the level's garment."""
        return self.repaired.fit.garment.name

    @property
    def body(self) -> Body:
        """The level of the body that it is worn on."""
        return self.repaired.fit.body

    @cached_property
    def shipped(self) -> Repaired:
        """What is measured and proven: the repaired level, or what the small file holds of it."""
        return self.repaired if self.small is None else replace(self.repaired, fit=self.small.fit)

    @cached_property
    def apart(self) -> LevelsApart | None:
        """How far it is from the next finer level; None for the finest."""
        if self.finer is None or self.rows is None:
            return None
        fine, coarse = self.finer.repaired, self.repaired
        shapes = shared_shapes(self.finer.body, self.body, coarse.shapes, fine.shapes)
        return levels_apart(fine.fit, coarse.fit, self.rows, shapes)

    @property
    def pop(self) -> float:
        """How much farther its outline is from the finer one on the worst shape than as modelled, metres."""
        return 0.0 if self.apart is None else self.apart.pop


@dataclass(frozen=True, eq=False, repr=False)
class FittedLevels:
    """One garment's levels of detail; `print` shows the table that a person reads.

    Attributes:
        levels: From fine to coarse.
        allowed_pop: So much farther apart than as modelled may outlines be on any shape, metres.
    """

    levels: tuple[FittedLevel, ...]
    allowed_pop: float

    @property
    def fits(self) -> tuple[Fit, ...]:
        """The repaired fits, from fine to coarse."""
        return tuple(level.shipped.fit for level in self.levels)

    def pops(self, level: FittedLevel) -> bool:
        """Whether a level pops: on some shape its outline is too much farther from the finer one than as modelled."""
        return level.pop > self.allowed_pop

    @property
    def faulty(self) -> bool:
        """Whether skin or cloth in the body is seen at some level, or a level pops."""
        return any(level.shipped.faulty or self.pops(level) for level in self.levels)

    def worst_first(self) -> tuple[FittedLevel, ...]:
        """The levels: those at which something is seen wrong, then those that pop, then by how far they are apart."""
        return tuple(sorted(self.levels, key=self._gravity, reverse=True))

    def _gravity(self, level: FittedLevel) -> tuple[bool, bool, float]:
        return level.shipped.faulty, self.pops(level), level.pop

    def made_small(self, style: TargetStyle = DEFAULT_STYLE, *, compress: bool = True) -> "FittedLevels":
        """The same levels, each as a small file that is proven as it is read back; see `fit --optimize`."""
        made = [replace(one, small=made_small(one.repaired.fit, style=style, compress=compress)) for one in self.levels]
        return replace(self, levels=tuple(made))

    def record(self, files: Sequence[Source] = ()) -> StoredLevels:
        """All levels as one record, the worst first.

        Args:
            files: The file that each was written to, from fine to coarse.
        """
        told = dict(zip((level.name for level in self.levels), files))
        numbers = {level.name: at for at, level in enumerate(self.levels)}
        levels = [self._stored(one, numbers[one.name], told.get(one.name, NO_FILE)) for one in self.worst_first()]
        return StoredLevels(
            schema="dressform-levels/1",
            made=now(),
            versions=dict(versions()),
            pop_allowed_mm=number(self.allowed_pop * MM_PER_M),
            faulty=self.faulty,
            levels=tuple(levels),
        )

    def _stored(self, level: FittedLevel, at: int, file: Source) -> StoredLevel:
        shipped = level.shipped
        return StoredLevel(
            name=level.name,
            level=at,
            body=level.body.name,
            vertices=len(level.repaired.fit.base),
            triangles=len(level.repaired.fit.garment.faces),
            file=file.file,
            sha256=file.sha256,
            seen_wrong=shipped.faulty,
            stances=shipped.faulty_stances,
            skin_cm2=number(figures(shipped.after)["exposed_cm2"]),
            certified_percent=number(shipped.proof.certificate.share * PERCENT),
            proof=proof_line(shipped.proof),
            pops=self.pops(level),
            beside=None if level.apart is None or level.finer is None else _beside(level.apart, level.finer.name),
            notes=level.notes,
        )

    def __str__(self) -> str:
        return table_text(levels_table(self.record()))

    def __repr__(self) -> str:
        return f"<FittedLevels {', '.join(level.name for level in self.levels)}>"


def _beside(apart: LevelsApart, finer: str) -> LevelBeside:
    widest, loosest = apart.widest, apart.loosest
    return LevelBeside(
        finer=finer,
        shapes=len(apart.rows),
        outline_modelled_mm=number(apart.modelled.apart * MM_PER_M),
        outline_mm=number(widest.seen.apart * MM_PER_M),
        outline_within_mm=number(widest.seen.pixel * MM_PER_M),
        outline_shape=widest.shape.label,
        outline_seen=widest.seen.direction.words,
        pop_mm=number(apart.pop * MM_PER_M),
        clearance_mm=number(loosest.clearance_usual * MM_PER_M),
        clearance_shape=loosest.shape.label,
        clearance_most_mm=number(max(row.clearance_most for row in apart.rows) * MM_PER_M),
    )
