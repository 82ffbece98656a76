"""Names where on the wearer every fault of a shape is."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np
from jaxtyping import Float
from msgspec.structs import replace

from dressform.arrays import Points
from dressform.faults.fault import BODY, Fault
from dressform.faults.look import Look
from dressform.faults.places import Surface, find_places, make_surface, negated, region_names
from dressform.faults.prepared import PreparedGarment
from dressform.faults.registry import ALL_FAULTS, FAULTS
from dressform.faults.results import SEVERITIES, Place
from dressform.faults.severity import Bands
from dressform.mesh.geometry import vertex_normals
from dressform.units import MM_PER_M, number


@dataclass(frozen=True)
class Whereabouts:
    """Names of the places of a garment on a body; see `name_whereabouts`.

    Attributes:
        cloth: The garment, with a region, a part and a side at every vertex.
        skin: The same of the body; its parts are those of the cloth over it.
        areas: Area of each cloth vertex at the base, m², (G,).
    """

    cloth: Surface
    skin: Surface
    areas: Float[np.ndarray, " G"]


def name_whereabouts(worn: PreparedGarment) -> Whereabouts:
    """Name the region, part and side of every vertex of cloth and skin."""
    body, garment, hidden = worn.body, worn.fit.garment, worn.through.hidden
    regions, parts = region_names(body.vertices, body.regions), np.array(garment.part_names)
    cloth = make_surface(
        garment.faces, regions[worn.foot_vertices], parts[garment.vertex_parts()], garment.vertices, worn.outward
    )
    # Directions are numbered from the normal outward, so the first that is blocked names what covers the skin.
    first = np.argmax(hidden.covers >= 0, axis=1)[:, None]
    covering = np.zeros(len(body.vertices), dtype=np.int64)
    covering[hidden.vertices] = garment.face_parts[np.take_along_axis(hidden.covers, first, axis=1)[:, 0]]
    normals = vertex_normals(body.vertices, body.faces)
    return Whereabouts(cloth, make_surface(body.faces, regions, parts[covering], body.vertices, normals), worn.areas)


def all_places(where: Whereabouts, look: Look, bands: Bands, graded: Mapping[str, float]) -> tuple[Place, ...]:
    """Spots of every fault that has a field and is present on the shape, the gravest first.

    Args:
        where: The names of places.
        look: The garment on the shape.
        bands: For the grades.
        graded: What the garment is graded by on this shape, by fault: no spot's value is more.
    """
    floor = float(look.body[:, 1].min())
    found: list[Place] = []
    for fault in ALL_FAULTS:
        if fault.field is None or bands.grade(fault.key, graded[fault.key]) == SEVERITIES[0]:
            continue
        surface, points = (where.skin, look.body) if fault.on == BODY else (where.cloth, look.cloth)
        values, areas = fault.field(look), where.areas if fault.areas is None else fault.areas(look)
        look_for = partial(find_places, surface, fault.key, bands=bands, areas=areas, floor=floor)
        look_for = partial(look_for, most=graded[fault.key])
        if fault.is_constant:  # the same places on every shape
            found += (_moved(place, points, floor) for place in look_for(values, points=_at_base(fault, look)))
            continue
        look_for = partial(look_for, points=points)
        found += look_for(values)
        if fault.is_signed:
            found += negated(look_for(-values))
    return tuple(sorted(found, key=_rank))


def _at_base(fault: Fault, look: Look) -> Points:
    """The mesh of a fault at the base, metres."""
    return look.worn.body.vertices if fault.on == BODY else look.worn.start.vertices


def _moved(place: Place, points: Points, floor: float) -> Place:
    """A place of the base where it is on another shape."""
    x, y, z = (number(coordinate) for coordinate in points[place.vertex])
    return replace(place, position_m=(x, y, z), height_mm=number((float(points[place.vertex, 1]) - floor) * MM_PER_M))


def _rank(place: Place) -> tuple[int, int]:
    """Gravest first; among equals in the order of `FAULTS`."""
    return (-SEVERITIES.index(place.severity), FAULTS.index(place.fault))
