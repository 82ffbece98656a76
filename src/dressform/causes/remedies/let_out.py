"""Too tight: let the cloth out at the base."""

from collections.abc import Iterator
from functools import partial

import numpy as np

from dressform.arrays import VertexScalars
from dressform.causes.advice_words import length
from dressform.causes.remedies.remedy import Changed, Group, Remedy, moved
from dressform.causes.results import GARMENT
from dressform.causes.room import AROUND
from dressform.causes.swaps.too_tight import outward

MORE = 0.004
"""Room beside that of the cloth around, tried where that is not enough, metres."""
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


def _let_out(group: Group, room: VertexScalars) -> Changed:
    worn = group.worn
    return moved(worn, outward(worn.context.tree, worn.fit.garment.vertices, room))
