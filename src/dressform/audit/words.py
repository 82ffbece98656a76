"""Findings of an audit in sentences: where, how much, and what the body's maker can do about it."""

from collections.abc import Mapping, Sequence

from dressform.audit.results import BOTH, LEFT, LOPSIDED, OPPOSITE, RIGHT, UNKNOWN, BodyAudit, Finding, MorphAudit, Spot
from dressform.units import CM2_PER_M2, CM_PER_M, MM_PER_M, PERCENT

BODY_FAULT_WORDS: Mapping[str, str] = {
    "rigid_patch": "moves a rigid patch",
    "crossing": "skin through skin",
    "folded": "turned over",
    "stray": "stray vertices",
    "behind": "piece left behind",
    "islands": "stray islands",
    "lopsided": "left unlike right",
    "rough": "rough",
    "extremity": "tips move apart",
}
"""How a report calls each of `BODY_FAULTS`."""

SIDE_WORDS: Mapping[str, str] = {
    BOTH: "alike",
    LEFT: "left only",
    RIGHT: "right only",
    OPPOSITE: "opposed",
    LOPSIDED: "unlike",
    UNKNOWN: "not told",
}

GENTLE_SLOPE = 0.25
"""Step over width that a rim may have: as steep as a rim is, cloth must shear."""
VERTICES_NAMED = 3
AT_ONCE = 0.1
"""What breaks before this share of a weight cannot be avoided by ending the interval."""
STILL = 1e-6  # metres; a morph that moves nothing farther does nothing

_READINGS = {
    "rigid_patch": (MM_PER_M, "mm"),
    "crossing": (1.0, "pairs"),
    "folded": (1.0, "triangles"),
    "stray": (MM_PER_M, "mm"),
    "behind": (MM_PER_M, "mm"),
    "islands": (MM_PER_M, "mm"),
    "lopsided": (MM_PER_M, "mm"),
    "rough": (1.0, ""),
    "extremity": (CM2_PER_M2, "cm²"),
}


def body_reading(fault: str, value: float) -> tuple[float, str]:
    """The value of a finding in the unit that people read, and that unit."""
    factor, unit = _READINGS[fault]
    return value * factor, unit


def spot_words(spot: Spot) -> str:
    """A spot's place: region, side, height."""
    words = [word for word in (spot.place.region, spot.place.side) if word]
    return ", ".join([*words, f"{spot.place.height * CM_PER_M:.0f} cm above the ground"])


def sentence(found: Finding) -> str:
    """One finding in one sentence that its maker can act on."""
    return _SENTENCES[found.fault](found)


def morph_sentences(one: MorphAudit) -> list[str]:
    """A sentence for every finding of a morph, or for a morph that moves nothing."""
    if one.move_max <= STILL:
        return [
            "It moves nothing over its whole interval: remove it, or give it the displacement it was meant to have."
        ]
    return [sentence(found) for found in one.findings]


def body_sentences(audit: BodyAudit) -> list[str]:
    """Sentences about the body as a whole."""
    said = [
        f"{audit.pairs_looked_at} of {audit.pairs_that_overlap} pairs of morphs that move the same skin were taken to "
        f"their ends together; {_counted(len(audit.pairs), 'breaks', 'break')} what is whole with either alone."
    ]
    if audit.base_crossing or audit.base_folded:
        said.append(
            f"at the base {_counted(audit.base_crossing, 'pair', 'pairs')} of triangles cross and "
            f"{_counted(audit.base_folded, 'is', 'are')} turned over already; no morph is blamed for these."
        )
    if audit.mirror_gap > 0.005:
        said.append(
            f"Left and right of the base body differ by up to {audit.mirror_gap * MM_PER_M:.0f} mm over most of it; "
            "morphs are compared at the nearest mirrored points."
        )
    return said


def _rigid_patches(found: Finding) -> str:
    figures = found.figures
    step = figures["step"] * MM_PER_M
    return (
        f"{_area(figures['area'])} of skin ({_places(found)}) moves as {_stiff(found.spots)} and steps by "
        f"{step:.1f} mm across {figures['spacing'] * MM_PER_M:.0f} mm at its rim: let the move fade out over at least "
        f"{step / GENTLE_SLOPE:.0f} mm around {_vertices(found)}, or smooth it for the garments only."
    )


def _crossing(found: Finding) -> str:
    pairs = f"{_counted(round(found.value), 'pair', 'pairs')} of triangles cross, {_from_where_on(found)}"
    if found.figures["across"]:
        first, second = (spot_words(spot) for spot in (*found.spots, found.spots[0])[:2])
        return (
            f"Two parts of the body meet, {first} and {second}: {pairs}; let the morph keep these parts "
            f"apart{_or_end_there(found)}."
        )
    return (
        f"Skin passes through skin at {_places(found)}: {pairs}; pull the skin around {_vertices(found)} "
        f"apart{_or_end_there(found)}."
    )


def _folded(found: Finding) -> str:
    return (
        f"{_counted(round(found.value), 'triangle turns', 'triangles turn')} over at {_places(found)}, "
        f"{_from_where_on(found)}: even out the moves around {_vertices(found)}{_or_end_there(found)}."
    )


def _stray(found: Finding) -> str:
    count = sum(len(spot.vertices) for spot in found.spots)
    return (
        f"{_counted(count, 'vertex leaves its', 'vertices leave their')} neighbours by up to "
        f"{found.value * MM_PER_M:.1f} mm ({_places(found)}): give {_vertices(found)} the mean move of "
        f"{'its' if count == 1 else 'their'} neighbours."
    )


def _behind(found: Finding) -> str:
    count = len(found.spots)
    return (
        f"{_counted(count, 'separate piece does', 'separate pieces do')} not go with the skin beside "
        f"{'it' if count == 1 else 'them'}, by up to {found.value * MM_PER_M:.1f} mm ({_places(found)}): give "
        f"{'its' if count == 1 else 'their'} vertices, such as {_vertices(found)}, the move of that skin."
    )


def _islands(found: Finding) -> str:
    count = sum(len(spot.vertices) for spot in found.spots)
    return (
        f"{_counted(count, 'vertex moves', 'vertices move')} by up to {_length(found.value)} ({_places(found)}), far "
        f"from all else that moves: set {'its move' if count == 1 else 'their moves'} to zero unless meant "
        f"({_vertices(found)})."
    )


def _lopsided(found: Finding) -> str:
    most = found.figures["most"] * MM_PER_M
    if found.partner:
        return (
            f"It is no mirror image of {found.partner}: the two differ by {found.value * MM_PER_M:.1f} mm over 5 % of "
            f"the moved skin and by up to {most:.1f} mm ({_places(found)}); mirror the better one onto the other."
        )
    return (
        f"Left and right move differently, by {found.value * MM_PER_M:.1f} mm over 5 % of the moved skin and by up to "
        f"{most:.1f} mm ({_places(found)}): mirror the better side onto the other, or name it as one side's."
    )


def _rough(found: Finding) -> str:
    area = sum(spot.place.area for spot in found.spots)
    return (
        f"The skin itself puckers, with an index of {found.value:.3f} over 1 % of what moves and up to "
        f"{found.figures['largest']:.3f} ({_places(found)}): smooth the move over these {_area(area)}, since "
        "cloth can be no calmer than what it follows."
    )


def _extremity(found: Finding) -> str:
    return (
        f"{_area(found.value)} of tips ({_places(found)}) turn or grow unlike the limb they sit on, moving by up to "
        f"{found.figures['farthest'] * MM_PER_M:.0f} mm: loose cloth stands on them by a point and cannot follow; bend "
        "them by joints instead, or let gloves and shoes follow as whole parts."
    )


_SENTENCES = {
    "rigid_patch": _rigid_patches,
    "crossing": _crossing,
    "folded": _folded,
    "stray": _stray,
    "behind": _behind,
    "islands": _islands,
    "lopsided": _lopsided,
    "rough": _rough,
    "extremity": _extremity,
}


def _places(found: Finding) -> str:
    """The first spot in words, and how many more there are."""
    more = len(found.spots) - 1
    rest = f", and {_counted(more, 'more place', 'more places')}" if more else ""
    return f"{spot_words(found.spots[0])}{rest}"


def _stiff(spots: Sequence[Spot]) -> str:
    return "one stiff piece" if len(spots) == 1 else f"{len(spots)} stiff pieces"


def _from_where_on(found: Finding) -> str:
    """The weight up to which there is no fault; for a pair, the share of both weights."""
    share = found.figures["sound_share"]
    if share < AT_ONCE:
        return "almost from the base body on"
    if found.partner:
        return f"none up to {PERCENT * share:.0f} % of both weights"
    return f"none up to weight {found.weight * share:.2g}"


def _or_end_there(found: Finding) -> str:
    return "" if found.figures["sound_share"] < AT_ONCE else ", or end the interval there"


def _vertices(found: Finding) -> str:
    """The vertices that represent the first spots."""
    named = [str(spot.place.vertex) for spot in found.spots[:VERTICES_NAMED]]
    return f"vertex {named[0]}" if len(named) == 1 else f"vertices {', '.join(named)}"


def _area(value: float) -> str:
    area = value * CM2_PER_M2
    return f"{area:.0f} cm²" if area >= 10 else f"{area:.2g} cm²"


def _length(value: float) -> str:
    return f"{value * MM_PER_M:.2g} mm"


def _counted(count: int, one: str, more: str) -> str:
    return f"{count} {one if count == 1 else more}"
