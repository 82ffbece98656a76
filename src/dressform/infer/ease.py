"""The ease that a maker is expected to give a garment, and how far a garment may depart from it."""

from dataclasses import dataclass

import numpy as np
from jaxtyping import Float

from dressform.infer.cloth import AskedCloth
from dressform.infer.skin import SkinView

MIN_ROOM = 0.01  # metres; cloth nearer than this is as regular as cloth so far off
LOOSE = 0.02  # metres; where the room is this wide its variation has doubled: loose cloth hangs as it likes
EVEN = 0.05  # metres; the room that is the same everywhere may be any up to about this
SPANNED, SPANNED_BY = 0.3, 0.5  # share of a hollow's depth that cloth stands off more there, and its spread
HUNG, HUNG_BY = 0.4, 0.4  # the same of the overhang above
RESTING, RESTING_BY = -0.2, 0.6  # share of the room that cloth on upward skin has more: it rests there
WIDE_SHARE, CLOSE_SHARE, PART_SHARE = 0.45, 0.16, 0.35  # spread of the ease over garment, panel and parts, by freedom
LOCAL_SHARE = 0.14  # and from one point to the next
LOCAL = 0.0015  # metres; wrinkles, thickness and the triangles of either mesh
HOLLOW_SHARE = 0.5  # of a hollow's depth: nobody knows how tautly it is spanned
HANG_SHARE = 0.5  # of an overhang: nobody knows how straight cloth falls from it
RIM_SHARE = 1.0  # of the room at an opening: hems are turned in, collars stand off
RIM_LOCAL = 0.012  # metres; the same where there is no room


@dataclass(frozen=True)
class EaseModel:
    """Clearance as a constant plus known patterns in unknown amounts plus scatter: `clearance ≈ patterns @ amounts`.

    Attributes:
        patterns: One column per amount, metres, (N, M).
        expected: Expected amounts, (M,).
        precision: 1 / variance of each amount, (M,).
        scatter: Spread of each point about the patterns, metres, (N,).
    """

    patterns: Float[np.ndarray, "N M"]
    expected: Float[np.ndarray, " M"]
    precision: Float[np.ndarray, " M"]
    scatter: Float[np.ndarray, " N"]


def ease_model(
    cloth: AskedCloth, look: SkinView, hollows: Float[np.ndarray, " N"], hang: Float[np.ndarray, " N"]
) -> EaseModel:
    """The ease to expect if a maker fitted the cloth to this shape.

    A maker gives the same room everywhere, apart from smooth patterns. These patterns and the scatter grow faster than
    in proportion to the room: the ease of a close jersey is even within millimetres, while a skirt hangs freely. Cloth
    spans hollows, and openings may be finished differently.
    """
    room = _room(cloth, look)
    hollows, hang = np.minimum(hollows, room), np.minimum(hang, room)
    freedom = room * (1.0 + room / LOOSE)
    shares = np.where(cloth.is_wide > 0, WIDE_SHARE, CLOSE_SHARE)
    edges = (RIM_SHARE * room + RIM_LOCAL)[:, None] * cloth.openings
    free = np.hstack([freedom[:, None] * np.hstack([cloth.patterns * shares, PART_SHARE * cloth.parts]), edges])
    patterns = np.hstack(
        [np.ones((len(room), 1)), hollows[:, None], hang[:, None], (room * cloth.upward)[:, None], free]
    )
    expected = np.zeros(patterns.shape[1])
    expected[1:4] = SPANNED, HUNG, RESTING
    precision = np.ones(patterns.shape[1])
    precision[:4] = 1.0 / np.array([EVEN, SPANNED_BY, HUNG_BY, RESTING_BY]) ** 2
    causes = (LOCAL_SHARE * freedom, HOLLOW_SHARE * hollows, HANG_SHARE * hang, RIM_LOCAL * cloth.rim)
    squares = LOCAL**2 + sum(np.square(each) for each in causes)
    return EaseModel(patterns, expected, precision, np.sqrt(squares))


def _room(cloth: AskedCloth, look: SkinView) -> Float[np.ndarray, " N"]:
    """Mean room around each point, metres, (N,). Openings are turned in or stand off, so they get the overall mean."""
    room = np.maximum(cloth.around @ look.clearance, MIN_ROOM)
    return room + cloth.rim * np.maximum(np.median(room) - room, 0.0)
