"""Tries a remedy: does what it says to the whole garment and measures again, at its places and everywhere."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool
from scipy.sparse import csr_array

from dressform.arrays import Weights
from dressform.body.stance import Stance
from dressform.causes.action import Effect, Tried
from dressform.causes.actions.graver import graver, more_crossings, out_of_the_skin, sunk_as_modelled
from dressform.causes.base_places import graded_room
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.patch import near_spot
from dressform.causes.remedies.remedy import Changed, Group, Remedy
from dressform.causes.results import Cluster
from dressform.faults.body_context import BodyContext
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.graded.clearance import CLEARANCE
from dressform.faults.graded.exposed import EXPOSED
from dressform.faults.graded.folded import FOLDED
from dressform.faults.registry import FAULT_OF, is_on_body
from dressform.faults.results import SEVERITIES, ShapeFaults
from dressform.faults.severity import Bands, graded_values
from dressform.faults.words import reading_of
from dressform.fit.fit import Fit
from dressform.sweep.results import SweepRow
from dressform.sweep.worst import worst_shapes

SeenAt = tuple[bytes, str]
"""A shape's weights and the name of a stance."""
OWN_SHAPES = 5
"""Shapes of its places on which a group's remedies are tried, at most,"""
OTHER_SHAPES = 4
"""and other shapes of the range: the worst, and some spread over the rest."""
OWN_CORNERS = 3
"""Beside them, cloth that follows by another method is tried at so many corners that are worst for it."""
HELPS = 0.5
"""A remedy is advised if at least this share of the fault goes away."""
CURED = 0.1
"""A place is cured if no more than this share of its fault is left, or if what is left is clean."""
GROWS_LITTLE = 1.25
"""From clean to slight by less than this factor is a little graver: it is told, but the remedy is offered."""
LITTLE = {FOLDED.key: 2.0}
"""or by so many triangles, which nobody sees."""


@dataclass(frozen=True)
class Trials:
    """Shapes on which the remedies of one group are tried, and what the garment is like there before.

    Attributes:
        group: The places.
        rows: The shapes with their faults.
        cores: The vertices of cloth or body at each place, by its name.
        before: The fault at each place on each shape that shows it, by name and shape.
        stances: A stance of each pose of these shapes, by its name.
    """

    group: Group
    rows: tuple[SweepRow, ...]
    cores: Mapping[str, Bool[np.ndarray, " V"]]
    before: Mapping[tuple[str, SeenAt], float]
    stances: Mapping[str, Stance]

    @classmethod
    def of(cls, group: Group, rows: Sequence[SweepRow], stances: Sequence[Stance] = ()) -> "Trials":
        """Choose the shapes, at stances too where a place is seen there, and measure the places."""
        poses = {stance.pose: stance for stance in stances}
        chosen = _chosen(group, [row for row in rows if not row.faults.stance or row.faults.stance in poses])
        clusters = [one.cluster for one in group.explained]
        cores = {cluster.name: _core(group.worn, cluster) for cluster in clusters}
        before: dict[tuple[str, SeenAt], float] = {}
        for row in chosen:
            before |= _values(group.worn, clusters, cores, (row.weights, row.stood(poses), row.faults))
        return cls(group, chosen, cores, before, poses)

    def of_remedy(self, remedy: Remedy) -> Tried:
        """Do what a remedy says, and measure again.

        Proof: tests/causes/actions/test_actions.py
        """
        changed = remedy.apply()
        worn = _worn(self.group.worn, changed)
        clusters = [one.cluster for one in self.group.explained]
        cores = {name: _carried(core, changed.rows) for name, core in self.cores.items()}
        after: dict[tuple[str, SeenAt], float] = {}
        spoilt = more_crossings(self.group.worn, worn)
        measured = [(row.weights, row.stood(self.stances), row.faults) for row in self.rows]
        others = _worst_of_another(self.group.worn.fit, changed.fit)
        measured += [(one, None, self.group.worn.measure(one)) for one in others]
        sunk, seen = sunk_as_modelled(self.group.worn), dict[str, tuple[float, float]]()
        for weights, stance, was in measured:
            reached = weights if changed.box is None else changed.box.clip(weights)
            is_now = worn.measure(reached, stance)
            after |= _values(worn, clusters, cores, (weights, stance, is_now))
            instead = out_of_the_skin(was, is_now, sunk)
            worse = {fault: pair for fault, pair in graver(was, is_now).items() if fault not in instead}
            for found, told in ((worse, spoilt), (instead, seen)):
                for fault, pair in found.items():
                    if fault not in told or pair[1] > told[fault][1]:
                        told[fault] = pair
        worn.forget()
        return self._told(remedy, clusters, after, spoilt, seen)

    def _told(
        self,
        remedy: Remedy,
        clusters: Sequence[Cluster],
        after: Mapping[tuple[str, SeenAt], float],
        spoilt: Mapping[str, tuple[float, float]],
        seen: Mapping[str, tuple[float, float]],
    ) -> Tried:
        worst: dict[str, tuple[float, float]] = dict(seen)
        cured, gone, total = [], 0.0, 0.0
        for cluster in clusters:
            keys = [key for key in self.before if key[0] == cluster.name]
            was, is_now = (max((values[key] for key in keys), default=0.0) for values in (self.before, after))
            if was <= 0.0:
                continue
            total += cluster.noticed
            gone += cluster.noticed * float(np.clip(1.0 - is_now / was, 0.0, 1.0))
            is_clean = self.group.worn.bands.grade(cluster.fault, is_now) == SEVERITIES[0]
            if is_now <= CURED * was or (is_clean and is_now <= was):
                cured.append(cluster.name)
            old = worst.get(cluster.fault, (0.0, 0.0))
            worst[cluster.fault] = (max(old[0], was), max(old[1], is_now))
        share = gone / total if total else 0.0
        was, is_now = seen.get(EXPOSED.key, (1.0, 0.0))
        share = min(share, 1.0 - is_now / was)
        left = _effects(worst, self.group.worn.bands)
        helps = share >= HELPS and cured and not any(one.rises for one in left)
        return Tried(
            words=remedy.words,
            by=remedy.by,
            cured=tuple(cured),
            left=left,
            spoilt=_effects(spoilt, self.group.worn.bands),
            offered=bool(helps and not self._harm(spoilt)),
            share=share,
        )

    def _harm(self, spoilt: Mapping[str, tuple[float, float]]) -> bool:
        """Whether anything that became graver is more than a little graver."""
        bands = self.group.worn.bands
        for fault, (was, is_now) in spoilt.items():
            allowed = max(GROWS_LITTLE * was, was + LITTLE.get(fault, 0.0))
            if is_now > allowed or bands.grade(fault, is_now) not in SEVERITIES[:2]:
                return True
        return False


def _worst_of_another(fit: Fit, changed: Fit) -> list[Weights]:
    """Where cloth that follows by another method than it did is worst itself: its own corners of the range, not those
    of the cloth as it was."""
    if changed.following.method == fit.following.method:
        return []
    return [threat.shape.weights for threat in worst_shapes(changed, most=OWN_CORNERS)]


def best_first(tried: Iterable[Tried]) -> tuple[Tried, ...]:
    """What is advised first, then by how much goes away; among equals, what was tried first."""
    return tuple(sorted(tried, key=lambda one: (not one.offered, bool(one.spoilt), -round(one.share, 2))))


def _chosen(group: Group, rows: Sequence[SweepRow]) -> tuple[SweepRow, ...]:
    """Shapes that show the group's places, the worst of each first, then others of the range."""
    if all(one.cluster.worst.stance is None for one in group.explained):
        rows = [row for row in rows if not row.faults.stance]
    by_key = {_seen_at(row): row for row in rows}
    own: dict[SeenAt, SweepRow] = {}
    for one in group.explained:
        key = one.cluster.worst.seen_at
        if len(own) < OWN_SHAPES and key in by_key and key not in own:
            own[key] = by_key[key]
    rest = [row for row in rows if _seen_at(row) not in own]
    worst = sorted(rest, key=lambda row: -SEVERITIES.index(row.faults.severity))[: OTHER_SHAPES // 2]
    left = [row for row in rest if all(row is not one for one in worst)]
    step = max(1, len(left) // (OTHER_SHAPES - OTHER_SHAPES // 2))
    return (*own.values(), *worst, *left[step // 2 :: step][: OTHER_SHAPES - OTHER_SHAPES // 2])


def _seen_at(row: SweepRow) -> SeenAt:
    return row.weights.tobytes(), row.faults.stance if row.stance is None else row.stance.name


def _core(worn: ExplainedGarment, cluster: Cluster) -> Bool[np.ndarray, " V"]:
    points = (worn.fit.body if is_on_body(cluster.fault) else worn.fit.garment).vertices
    return near_spot(points[cluster.vertices], points)


def _carried(core: Bool[np.ndarray, " V"], rows: csr_array) -> Bool[np.ndarray, " W"]:
    """A mask of old cloth vertices on the new ones; a mask of the skin stays as it is."""
    return np.asarray(rows @ core.astype(np.float64) >= 0.5) if len(core) == rows.shape[1] else core


def _worn(old: ExplainedGarment, changed: Changed) -> GarmentOnBody:
    fit, was = changed.fit, old.fit
    if fit is was and changed.under is None:
        return old
    unmoved = (
        fit.garment is was.garment and np.array_equal(fit.base, was.base) and np.array_equal(fit.deltas, was.deltas)
    )
    if changed.under is None and fit.body is was.body and fit.skin is not None and unmoved:
        return old.carried_by(fit.skin)
    context = old.context if changed.fit.body is old.fit.body else BodyContext(changed.fit.body)
    meant = None if old.meant is None else changed.rows @ old.meant
    under = old.under if changed.under is None else changed.under
    return GarmentOnBody(changed.fit, context=context, bands=old.bands, under=under, meant=meant)


def _values(
    worn: GarmentOnBody,
    clusters: Sequence[Cluster],
    cores: Mapping[str, Bool[np.ndarray, " V"]],
    measured: tuple[Weights, Stance | None, ShapeFaults],
) -> dict[tuple[str, SeenAt], float]:
    """The fault at each place that was seen on a shape, at rest or at a stance, in the unit of its band.

    As in a check no place is worth more than what the garment is graded by. What was measured may be the nearest shape
    that a shorter range leaves.
    """
    weights, stance, faults = measured
    key, found = (weights.tobytes(), "" if stance is None else stance.name), {}
    fields: dict[str, np.ndarray] = {}
    at_rest = stance is None and not weights.any()
    most = {CLEARANCE.key: graded_room(worn)} if at_rest else graded_values(faults)
    for cluster in clusters:
        if not any(sighting.seen_at == key for sighting in cluster.sightings):
            continue
        if cluster.fault not in fields:
            fields[cluster.fault] = worn.field(cluster.fault, faults.weights, stance)
        field = fields[cluster.fault] * (-1.0 if cluster.worst.place.value < 0 else 1.0)
        values = field[cores[cluster.name]]
        is_summed = FAULT_OF[cluster.fault].is_summed
        worst = values.sum() if is_summed else min(values.max(initial=0.0), most.get(cluster.fault, np.inf))
        found[cluster.name, key] = max(float(worst), 0.0)
    return found


def _effects(pairs: Mapping[str, tuple[float, float]], bands: Bands) -> tuple[Effect, ...]:
    """In the units that people read, in the order of the registry."""
    found = []
    for fault in FAULT_OF:
        if fault in pairs:
            before, after = (reading_of(fault, value)[0] for value in pairs[fault])
            graded = (bands.grade(fault, value) for value in pairs[fault])
            found.append(Effect(fault, before, after, FAULT_OF[fault].unit, *graded))
    return tuple(found)
