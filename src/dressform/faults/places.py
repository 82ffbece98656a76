"""Places: connected spots of a fault, and words for where they are."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from jaxtyping import Bool, Float, Int, Shaped
from msgspec.structs import replace
from scipy.spatial import cKDTree

from dressform.arrays import BodyPoints, Faces, Points
from dressform.faults.kernels.place import spots
from dressform.faults.registry import FAULT_OF
from dressform.faults.results import SEVERITIES, Place
from dressform.faults.severity import Bands
from dressform.faults.words import reading_of
from dressform.mesh.topology import adjacency
from dressform.units import CM2_PER_M2, MM_PER_M, number

Names = Shaped[np.ndarray, " V"]
"""A word per vertex."""

MAX_PLACES = 6
"""So many spots of one fault are named, the gravest first."""
MIDDLE = 0.015
"""Nearer than this to the middle plane a spot is neither left nor right, metres."""
NO_REGION = ""


@dataclass(frozen=True)
class Surface:
    """A mesh with the place on the wearer of each vertex.

    Attributes:
        first: Where the neighbours of each vertex start in `around`, (V + 1,).
        around: Neighbours, one list after another, (E,).
        regions: Region name of each vertex.
        parts: Garment part of each vertex.
        sides: "front left" and the like, of each vertex.
    """

    first: Int[np.ndarray, " V1"]
    around: Int[np.ndarray, " E"]
    regions: Names
    parts: Names
    sides: Names


def make_surface(
    faces: Faces,
    regions: Names,
    parts: Names,
    base: Points,
    outward: Float[np.ndarray, "V 3"],
) -> Surface:
    """Name the side of each vertex: front or back by the skin's normal, left (+X) and right by its base position."""
    ends = np.where(outward[:, 2] >= 0, "front", "back")
    flanks = np.where(np.abs(base[:, 0]) < MIDDLE, "middle", np.where(base[:, 0] > 0, "left", "right"))
    sides = np.char.add(np.char.add(ends, " "), flanks)
    graph = adjacency(faces, len(base))
    return Surface(graph.indptr.astype(np.int64), graph.indices.astype(np.int64), regions, parts, sides)


def region_names(vertices: BodyPoints, regions: Mapping[str, Bool[np.ndarray, " B"]]) -> Names:
    """Region of each body vertex: the smallest that holds it, else the nearest vertex's region, else none."""
    labels = np.full(len(vertices), -1)
    names = sorted(regions, key=lambda name: -int(regions[name].sum()))
    for index, name in enumerate(names):
        labels[regions[name]] = index
    named, unnamed = np.flatnonzero(labels >= 0), np.flatnonzero(labels < 0)
    if not named.size:
        return np.full(len(vertices), NO_REGION)
    if unnamed.size:
        labels[unnamed] = labels[named[cKDTree(vertices[named]).query(vertices[unnamed])[1]]]
    return np.array(names)[labels]


def find_places(
    surface: Surface,
    fault: str,
    values: Float[np.ndarray, " V"],
    *,
    bands: Bands,
    points: Points,
    areas: Float[np.ndarray, " V"],
    floor: float,
    most: float = np.inf,
) -> tuple[Place, ...]:
    """Connected spots of a fault on one shape, the gravest first.

    Where a spot's value is the sum over its vertices (areas, counts), every vertex above 0 belongs to one, and the
    vertex nearest to its middle represents it. Otherwise every vertex that is not clean belongs to one, and the worst
    represents it; its value is no more than `most`, so that a spot is no graver than the surface that it lies on.

    Args:
        surface: The mesh.
        fault: One of `FAULTS`; its band grades each spot.
        values: The fault at each vertex, at least 0.
        bands: For the grades.
        points: The mesh on this shape, metres.
        areas: Area of each vertex, m².
        floor: Height of the body's lowest point on this shape, metres.
        most: What the whole surface is graded by: what too little of it exceeds counts as this.

    Proof: tests/faults/test_places.py::test_a_place_is_no_graver_than_its_garment
    """
    summed = FAULT_OF[fault].is_summed
    marked = np.flatnonzero(values > 0.0 if summed else values >= bands[fault][0])
    if not marked.size:
        return ()
    labels = spots(marked, surface.first, surface.around)
    sizes = np.bincount(labels, weights=areas[marked])
    sums = np.bincount(labels, weights=values[marked])
    height = values[marked]
    if summed:  # the vertex nearest to the spot's middle stands for it
        middles = np.stack([np.bincount(labels, weights=height * axis) for axis in points[marked].T], axis=1)
        height = -np.linalg.norm(points[marked] - (middles / sums[:, None])[labels], axis=1)
    worst = np.zeros(len(sizes), dtype=np.int64)
    order = np.argsort(height, kind="stable")
    worst[labels[order]] = marked[order]  # the last of a rising order stays
    own = sums if summed else values[worst]
    worth = own if summed else np.minimum(own, most)
    ranked = np.lexsort((-sizes, -own))[:MAX_PLACES]
    places: list[Place] = []
    for spot in ranked:
        vertex = int(worst[spot])
        x, y, z = (float(value) for value in points[vertex])
        grade = bands.grade(fault, float(worth[spot]))
        if grade == SEVERITIES[0] and places:
            break
        places.append(
            make_place(
                (x, y, z),
                vertex,
                region=str(surface.regions[vertex]),
                part=str(surface.parts[vertex]),
                side=str(surface.sides[vertex]),
                height=y - floor,
                area=float(sizes[spot]),
                fault=fault,
                severity=grade,
                value=float(worth[spot]),
            )
        )
    return tuple(places)


def make_place(
    position: tuple[float, float, float],
    vertex: int,
    *,
    region: str = "",
    part: str = "",
    side: str = "",
    height: float = 0.0,
    area: float = 0.0,
    fault: str = "",
    severity: str = "",
    value: float = 0.0,
) -> Place:
    """A place from metres and square metres; `value` in the unit of the fault's band. See `Place`.

    Raises:
        ArgumentError: no fault has that name.
    """
    x, y, z = (number(coordinate) for coordinate in position)
    reading, unit = reading_of(fault, value) if fault else (value, "")
    return Place(
        position_m=(x, y, z),
        vertex=vertex,
        region=region,
        part=part,
        side=side,
        height_mm=number(height * MM_PER_M),
        area_cm2=number(area * CM2_PER_M2),
        fault=fault,
        severity=severity,
        value=number(reading),
        unit=unit,
    )


def band_value(place: Place) -> float:
    """Value of a place in the unit of its fault's band.

    Raises:
        ArgumentError: no fault has that name.
    """
    return place.value / reading_of(place.fault, 1.0)[0]


def negated(places: tuple[Place, ...]) -> tuple[Place, ...]:
    """The same spots with the sign of their value reversed: cloth that came nearer instead of moving away."""
    return tuple(replace(place, value=-place.value) for place in places)
