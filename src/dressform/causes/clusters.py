"""Clusters: one fault at one connected place of one garment, over all shapes that show it."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Int
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from dressform.arrays import VertexScalars
from dressform.body.stance import Stance
from dressform.causes.results import Cluster, Sighting
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.graded.pierced import PIERCED
from dressform.faults.kernels.place import spots
from dressform.faults.registry import FAULT_OF, is_on_body
from dressform.faults.results import SEVERITIES, Place
from dressform.faults.severity import Bands
from dressform.garment.along import paths_along
from dressform.mesh.topology import adjacency
from dressform.sweep.results import SweepRow

NEAR = 0.04
"""Spots nearer to each other than this along the surface, beside their own extent, are one place, metres."""
HALF = 0.5
"""Share of the worst value that cloth must have to belong to its spot."""
WIDEST = 0.10
"""A spot reaches no farther than this from the vertex that stands for it, metres."""
MOST_AT_STANCES = 3
"""So many clusters of one fault are gathered at stances,"""
MOST_POSED = 8
"""and so many of them, the most noticed, of a garment."""
MIN_AREA = 1e-4
"""A spot counts as at least this large, m²: a square centimetre is what a wearer notices at all."""

WEIGHT = {"clean": 0.1, "slight": 1.0, "moderate": 10.0, "grave": 100.0}
"""How much each severity counts."""


def find_clusters(
    worn: GarmentOnBody,
    key: str,
    rows: Sequence[SweepRow],
    *,
    bands: Bands,
    at_base: Iterable[Place] = (),
    stances: Sequence[Stance] = (),
) -> tuple[Cluster, ...]:
    """Gather the places of one garment over all its shapes, the most noticed cluster first.

    The worst spot of a fault is taken first, with all vertices of the cloth that belong to it on its shape. Spots of
    the same fault on other shapes join it where they lie on it, or within `NEAR` plus their own radius along the
    surface; cloth that came nearer and cloth that moved away are kept apart. The worst spot that is left comes next,
    and so on. Spots at stances make clusters of their own, over all stances, few of each fault;
    left out are those at a place that is as bad at rest already.

    Args:
        worn: The garment on its body.
        key: Key of the garment's fit.
        rows: What a sweep found about it.
        bands: The bands that graded it.
        at_base: What is wrong at the base already; see `base_places`.
        stances: The stances whose rows count; rows at others are left out.

    Proof: tests/causes/test_clusters.py
    """
    zero = np.zeros(len(worn.fit.morph_names))
    poses = {stance.pose: stance for stance in stances}
    rows = [row for row in rows if not row.faults.stance or row.faults.stance in poses]
    start = next((row for row in rows if not row.weights.any()), rows[0] if rows else None)
    seen = [
        Sighting(row.label, row.weights, place, row.stood(poses))
        for row in rows
        for place in row.faults.places
        if _has_cause(worn, place.fault) and (not FAULT_OF[place.fault].is_constant or row is start)
    ]
    seen += [Sighting(_base_label(rows), zero, place) for place in at_base]
    kinds: dict[tuple[str, bool, bool, bool], list[Sighting]] = {}
    for sighting in seen:
        place, posed = sighting.place, sighting.stance is not None
        at_rest = not posed and not sighting.weights.any()
        kinds.setdefault((place.fault, place.value < 0, at_rest, posed), []).append(sighting)
    found: list[_Found] = []
    for (fault, lost, _, posed), sightings in sorted(kinds.items(), key=lambda kind: kind[0][3]):
        mesh = _Mesh.of(worn, fault)
        if posed:
            sightings = _new_at_stances(mesh, sightings, found)
        found += _gathered(mesh, worn, sightings, lost, bands, most=MOST_AT_STANCES if posed else None)
    there = sorted((one for one in found if one.sightings[0].stance is not None), key=lambda one: -one.noticed)
    left_out = {id(one) for one in there[MOST_POSED:]}
    found = [one for one in found if id(one) not in left_out]
    ranked = sorted(found, key=lambda each: (-each.noticed, each.sightings[0].place.fault, _spot(each.sightings[0])))
    return tuple(
        Cluster(str(number), key, each.sightings, each.vertices, each.noticed)
        for number, each in enumerate(ranked, start=1)
    )


def _new_at_stances(mesh: "_Mesh", sightings: list[Sighting], found: Sequence["_Found"]) -> list[Sighting]:
    """Sightings at stances but for those at a place of the same fault that is as bad at rest."""
    left = sightings
    for one in found:
        worst = one.sightings[0].place
        if left and worst.fault == left[0].place.fault and (worst.value < 0) == (left[0].place.value < 0):
            as_bad = SEVERITIES.index(worst.severity)
            there = _joined(mesh, one.vertices, [one.sightings[0], *left])[1:]
            pairs = zip(left, there)
            left = [each for each, joins in pairs if not joins or SEVERITIES.index(each.place.severity) > as_bad]
    return left


def _has_cause(worn: GarmentOnBody, fault: str) -> bool:
    """Whether a cause can be looked for: of what lies between layers where these are known."""
    return not FAULT_OF[fault].is_between or (fault == PIERCED.key and bool(worn.under))


@dataclass(frozen=True)
class _Found:
    """A cluster before it has a name."""

    sightings: tuple[Sighting, ...]
    vertices: Int[np.ndarray, " N"]
    noticed: float


@dataclass(frozen=True)
class _Mesh:
    """The surface that a fault lives on, as modelled, with the neighbours of every vertex."""

    paths: csr_array
    first: Int[np.ndarray, " V1"]
    around: Int[np.ndarray, " E"]

    @classmethod
    def of(cls, worn: GarmentOnBody, fault: str) -> "_Mesh":
        mesh = worn.context.body if is_on_body(fault) else worn.fit.garment
        graph = adjacency(mesh.faces, len(mesh.vertices))
        paths = paths_along(mesh.vertices, mesh.faces)
        return cls(paths, graph.indptr.astype(np.int64), graph.indices.astype(np.int64))

    def spot(self, marked: Bool[np.ndarray, " V"], vertex: int) -> Int[np.ndarray, " N"]:
        """The marked vertices that are connected with one; that vertex alone where it is not marked."""
        chosen = np.flatnonzero(marked)
        labels = spots(chosen, self.first, self.around)
        here = labels[chosen == vertex]
        return chosen[labels == here[0]] if here.size else np.array([vertex])


def marked_vertices(fault: str, values: VertexScalars, worst: float, bands: Bands) -> Bool[np.ndarray, " V"]:
    """Vertices that belong to some spot of a fault: all that have it, or at least half of the worst value, not clean.

    Half is used because on a grave shape one fault may cover the whole garment; a place is where it peaks.
    """
    return values > 0.0 if FAULT_OF[fault].is_summed else values >= max(bands[fault][0], HALF * worst)


def _gathered(
    mesh: _Mesh, worn: GarmentOnBody, sightings: list[Sighting], lost: bool, bands: Bands, *, most: int | None
) -> list[_Found]:
    """The clusters of one fault and sign, no more than `most`."""
    left = sorted(sightings, key=_worst_first)
    fault = left[0].place.fault if left else ""
    fields: dict[tuple[bytes, str], VertexScalars] = {}

    def marked(sighting: Sighting) -> Bool[np.ndarray, " V"]:
        if sighting.seen_at not in fields:
            values = worn.field(fault, sighting.weights, sighting.stance)
            fields[sighting.seen_at] = -values if lost else values
        values = fields[sighting.seen_at]
        return marked_vertices(fault, values, float(values[sighting.place.vertex]), bands)

    found = list[_Found]()
    while left and (most is None or len(found) < most):
        vertices = mesh.spot(marked(left[0]), left[0].place.vertex)
        joined = _joined(mesh, vertices, left)
        chosen = tuple(sighting for sighting, joins in zip(left, joined) if joins)
        left = [sighting for sighting, joins in zip(left, joined) if not joins]
        found.append(_Found(chosen, vertices, _noticed(chosen[0].place)))
    return found


def _joined(mesh: _Mesh, vertices: Int[np.ndarray, " N"], sightings: list[Sighting]) -> list[bool]:
    """Which sightings lie at the place of the first."""
    seeds = np.union1d(vertices, sightings[0].place.vertex)
    distance = dijkstra(mesh.paths, directed=False, indices=seeds, min_only=True, limit=NEAR + WIDEST)
    return [bool(distance[each.place.vertex] <= NEAR + _radius(each.place)) for each in sightings]


def _radius(place: Place) -> float:
    """Radius of a disc of the spot's area, metres, but no more than `WIDEST`."""
    return min(float(np.sqrt(place.area / np.pi)), WIDEST)


def _noticed(place: Place) -> float:
    """How much a wearer sees of a spot: m² × visibility of the fault × severity."""
    return FAULT_OF[place.fault].visible * WEIGHT[place.severity] * max(place.area, MIN_AREA)


def _worst_first(sighting: Sighting) -> tuple[int, float, float, str]:
    """Sorts sightings: the gravest first, then the largest value, the largest area, the label."""
    place = sighting.place
    return (-SEVERITIES.index(place.severity), -abs(place.value), -place.area, sighting.label)


def _spot(sighting: Sighting) -> tuple[float, ...]:
    """Tie-break for clusters that are noticed alike, independent of the order of their vertices."""
    return (-sighting.place.height, *sighting.place.position_m)


def _base_label(rows: Sequence[SweepRow]) -> str:
    """Label of the row of the base body."""
    return next((row.label for row in rows if not row.weights.any()), "base")
