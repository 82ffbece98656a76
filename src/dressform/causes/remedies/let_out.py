"""Too tight: let the cloth out at the base."""

from collections.abc import Iterator
from functools import partial

import numpy as np
from jaxtyping import Float
from scipy.sparse import diags_array

from dressform.arrays import VertexScalars
from dressform.causes.advice_words import length
from dressform.causes.explained_garment import ExplainedGarment
from dressform.causes.remedies.remedy import Changed, Group, Remedy, moved
from dressform.causes.results import GARMENT
from dressform.causes.room import AROUND
from dressform.causes.swaps.too_tight import outward
from dressform.mesh.factor import Factor
from dressform.mesh.geometry import vertex_areas
from dressform.mesh.laplacian import cotangent
from dressform.mesh.nearest import signed_clearance

MORE = 0.004
"""Room beside that of the cloth around, tried where that is not enough, metres."""
EVENLY = ((0.04, np.inf), (0.06, np.inf), (0.02, 0.006))
"""Where vertices would run into each other, cloth goes the mean way of that within the one, metres, to the room of the
cloth around it, but no more than the other."""
ROUNDS, LARGEST, ENOUGH = 6, 3.0, 0.0002
"""It takes steps until less than this is missing, metres, each no more than so many times the mean."""
MIN_AREA = 1e-3
"""A vertex weighs at least this share of the mean."""
SURE = 0.001
"""Cloth that is let out by this much gets all of it, metres; less gets a part, so that the cloth stays smooth."""


def let_out(group: Group) -> Iterator[Remedy]:
    """Let the tight cloth out to the room of the cloth around it, and to a little more."""
    worn = group.worn
    lack = np.maximum(worn.room - worn.clearance, 0.0)
    where = (
        f"wherever the cloth lies nearer to the skin than {length(worn.margin)} at the base, and up to "
        f"{length(AROUND)} around"
    )
    let = worn.room[lack > 0.0]
    if not let.size:
        return
    for more in (0.0, MORE):
        room = worn.room + more * np.clip(lack / SURE, 0.0, 1.0)
        low, high = np.percentile(let + more, (5.0, 95.0))
        stands = length(low) if high - low < SURE else f"{length(low)} to {length(high)}"
        most = length(float((room - worn.clearance).max()))
        like = "as the cloth around it does" if not more else f"{length(more)} more than the cloth around it"
        words = f"{where}, let it out by up to {most}, until it stands {stands} off the skin, {like}"
        yield Remedy(words, GARMENT, partial(_let_out, group, room))
    for reach, most_room in EVENLY:
        room = np.where(lack > 0.0, np.minimum(worn.room, np.maximum(most_room, worn.clearance)), worn.clearance)
        moves, least = evenly_outward(worn, room, reach)
        most = length(float(np.linalg.norm(moves, axis=1).max()))
        until = f"until it stands {length(least, down=True)} and more off the skin, " if least > 0.0 else ""
        words = f"{where}, let it out by up to {most}, {until}"
        words += f"evenly: each spot goes the mean way of the cloth within {length(reach)}, so that it does not fold"
        yield Remedy(words, GARMENT, partial(moved, worn, moves))


def evenly_outward(worn: ExplainedGarment, room: VertexScalars, reach: float) -> tuple[Float[np.ndarray, "G 3"], float]:
    """How far each vertex moves to get about a given room, evened out along the cloth; and the least room it then has.

    In a hollow, as beside the chin or between the legs, the ways out from the nearest skin cross: cloth that takes them
    runs into itself. Averaged by a step of heat flow over `reach`, they do not.

    Args:
        worn: The garment.
        room: Clearance that each vertex should have, (G,), metres.
        reach: Over what length along the cloth the ways are averaged, metres.

    Proof: tests/causes/test_let_out.py
    """
    points, faces, tree = worn.fit.garment.vertices, worn.fit.garment.faces, worn.context.tree
    areas = vertex_areas(points, faces)
    mass = np.maximum(areas, max(MIN_AREA * float(areas.mean()), np.finfo(float).tiny))
    around = Factor(diags_array(mass) + reach**2 * cotangent(points, faces))
    moves = np.zeros_like(points)
    for _ in range(ROUNDS):
        lack = outward(tree, points + moves, room)
        most = float(np.linalg.norm(lack, axis=1).max())
        if most < ENOUGH:
            break
        mean = around.solve(mass[:, None] * lack)
        moves += min(most / max(float(np.linalg.norm(mean, axis=1).max()), 1e-9), LARGEST) * mean
    clearance, _ = signed_clearance(tree, points + moves)
    return moves, float(clearance[worn.clearance < room].min(initial=np.inf))


def _let_out(group: Group, room: VertexScalars) -> Changed:
    worn = group.worn
    return moved(worn, outward(worn.context.tree, worn.fit.garment.vertices, room))
