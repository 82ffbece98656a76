"""Where on the wearer every fault of a shape sits."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from jaxtyping import Float, Int

from dressform.arrays import Faces
from dressform.body.body import Body
from dressform.faults.look import Look
from dressform.faults.places import Surface, find_places, make_surface, negated, region_names, spread
from dressform.faults.results import FAULTS, SEVERITIES, Place
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
    """Spots of every fault that the shape is not clean of, the gravest first.

    `inside` has none: it is a share of area, and `depth` tells where that area is.
    """
    faces, count = where.faces, len(look.cloth)
    floor = float(look.body[:, 1].min())
    exposed = look.through.exposed.areas
    gaps = np.zeros(count)
    np.maximum.at(gaps, where.seams, look.gaps[:, None])
    crossing = np.concatenate([faces[look.crossing[:, 0]], faces[look.crossing[:, 1]]], axis=1)

    def on_cloth(
        fault: str,
        values: Float[np.ndarray, " G"],
        *,
        areas: Float[np.ndarray, " G"] = where.areas,
        summed: bool = False,
    ) -> tuple[Place, ...]:
        return find_places(
            where.cloth, fault, values, bands=bands, points=look.cloth, areas=areas, floor=floor, summed=summed
        )

    found = [
        find_places(
            where.skin, "exposed", exposed, bands=bands, points=look.body, areas=exposed, floor=floor, summed=True
        ),
        on_cloth("depth", look.depths, areas=look.under_skin),
        on_cloth("pucker", look.pucker),
        on_cloth("stretch", look.stretch),
        on_cloth("ease", look.drift),
        negated(on_cloth("ease", -look.drift)),
        on_cloth("folded", spread(faces[look.folded], count), summed=True),
        on_cloth("crossing", spread(crossing, count), summed=True),
        on_cloth("seam", gaps),
        on_cloth("hard", look.bends),
        on_cloth("layers", spread(look.swaps[:, None], count), summed=True),
    ]
    counted = [place for places in found for place in places if severities[place.fault] != SEVERITIES[0]]
    return tuple(sorted(counted, key=_rank))


def _rank(place: Place) -> tuple[int, int]:
    """Gravest first; among equals in the order of `FAULTS`."""
    return (-SEVERITIES.index(place.severity), FAULTS.index(place.fault))
