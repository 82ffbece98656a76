"""Where on the wearer every fault of a shape sits."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import Faces
from dressform.body.body import Body
from dressform.faults.fault import BODY
from dressform.faults.look import Look
from dressform.faults.places import Surface, find_places, make_surface, negated, region_names
from dressform.faults.registry import ALL_FAULTS, FAULTS
from dressform.faults.results import SEVERITIES, Place
from dressform.faults.severity import Bands
from dressform.faults.show_through import ShowThroughBase
from dressform.garment.garment import Garment
from dressform.mesh.geometry import vertex_areas, vertex_normals


@dataclass(frozen=True)
class Whereabouts:
    """What names the places of a garment on a body; see `name_whereabouts`.

    Attributes:
        cloth: The garment, with a region, a part and a side at every vertex.
        skin: The same of the body; its parts are those of the cloth over it.
        faces: Triangles of the garment, (F, 3).
        areas: Area of each cloth vertex at the base, m², (G,).
        seams: Pairs of cloth vertices that coincide there, (M, 2).
        foot_vertices: Body vertex nearest to the foot of each cloth vertex, (G,).
    """

    cloth: Surface
    skin: Surface
    faces: Faces
    areas: Float[np.ndarray, " G"]
    seams: Int[np.ndarray, "M 2"]
    foot_vertices: Int[np.ndarray, " G"]


def name_whereabouts(
    body: Body,
    garment: Garment,
    through: ShowThroughBase,
    outward: Float[np.ndarray, "G 3"],
    seams: Int[np.ndarray, "M 2"],
) -> Whereabouts:
    """Give every vertex of cloth and skin its words.

    Args:
        body: The body.
        garment: The garment, as its maker modelled it.
        through: What the base body says: feet and hidden skin.
        outward: Normal of the skin under each cloth vertex.
        seams: Pairs of cloth vertices that coincide.
    """
    regions, parts = region_names(body.vertices, body.regions), np.array(garment.part_names)
    feet, hidden = through.sides, through.hidden
    foot_vertices = body.faces[feet.nearest, np.argmax(feet.barycentric, axis=1)]
    cloth = make_surface(
        garment.faces, regions[foot_vertices], parts[garment.vertex_parts()], garment.vertices, outward
    )
    # Directions are numbered from the normal outward, so the first that is blocked names what covers the skin.
    first = np.argmax(hidden.covers >= 0, axis=1)[:, None]
    covering = np.zeros(len(body.vertices), dtype=np.int64)
    covering[hidden.vertices] = garment.face_parts[np.take_along_axis(hidden.covers, first, axis=1)[:, 0]]
    normals = vertex_normals(body.vertices, body.faces)
    skin = make_surface(body.faces, regions, parts[covering], body.vertices, normals)
    areas = vertex_areas(garment.vertices, garment.faces)
    return Whereabouts(cloth, skin, garment.faces, areas, seams, foot_vertices)


def all_places(where: Whereabouts, look: Look, bands: Bands, severities: Mapping[str, str]) -> tuple[Place, ...]:
    """Spots of every fault that has a field and that the shape is not clean of, the gravest first."""
    floor = float(look.body[:, 1].min())
    found: list[Place] = []
    for fault in ALL_FAULTS:
        if fault.field is None:
            continue
        surface, points = (where.skin, look.body) if fault.on == BODY else (where.cloth, look.cloth)
        values, areas = fault.field(look), where.areas if fault.areas is None else fault.areas(look)
        look_for = partial(find_places, surface, fault.key, bands=bands, points=points, areas=areas, floor=floor)
        found += look_for(values)
        if fault.is_signed:
            found += negated(look_for(-values))
    counted = [place for place in found if severities[place.fault] != SEVERITIES[0]]
    return tuple(sorted(counted, key=_rank))


def _rank(place: Place) -> tuple[int, int]:
    """Gravest first; among equals in the order of `FAULTS`."""
    return (-SEVERITIES.index(place.severity), FAULTS.index(place.fault))
