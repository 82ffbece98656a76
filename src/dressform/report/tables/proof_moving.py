"""What is proven between the moments of animations, and at every value of sliders that move joints."""

import math
from collections.abc import Sequence

from dressform.proof.clip import ClipCertificate
from dressform.proof.slider_range import OpenPiece, SliderCertificate
from dressform.report.tables.whole_table import WholeTable
from dressform.units import MM_PER_M, PERCENT

MOST_INTERVALS = 5
"""Open intervals of an animation that a table names, those with most pairs first; the JSON has all."""
MOST_PIECES = 5
"""Open pieces that the table names, those with most pairs first; the JSON has all."""


def sure_share(one: ClipCertificate) -> str:
    """Share of the time for which pairs are certified, in words, rounded down so that it never claims too much."""
    return f"{math.floor(one.share * PERCENT * 1000) / 1000:.3f} %"


def clip_data(one: ClipCertificate) -> dict[str, object]:
    """The certificate between the moments of an animation as data for JSON; seconds, mm, shares from 0 to 1."""
    return {
        "name": one.name,
        "seconds": one.duration,
        "proven": one.complete,
        "margin_mm": one.margin * MM_PER_M,
        "near_pairs": len(one.pairs),
        "certified_share": one.share,
        "contact_share": one.contact_share,
        "intervals": one.pieces,
        "open": [
            {"from": part.start, "to": part.end, "pairs": part.pairs.tolist() if part.bounded else "all",
             "contact_pairs": part.contacts, "bounded": part.bounded}
            for part in one.open
            if len(part.pairs)
        ],
    }  # fmt: skip


def clips_table(clips: Sequence[ClipCertificate]) -> WholeTable:
    """One line per animation: for what share of the time it is proven, and when it is open."""
    table = WholeTable("Between the moments of animations")
    table.add_column("animation")
    for heading in ("seconds", "pairs", "certified, % of the time", "contact, %", "intervals"):
        table.add_column(heading, justify="right")
    table.add_column("open from to, s (pairs)", overflow="fold")
    for one in clips:
        parts = [part for part in one.open if len(part.pairs)]
        worst = sorted(parts, key=lambda part: -len(part.pairs))[:MOST_INTERVALS]
        words = ", ".join(f"{part.start:.3f} {part.end:.3f} ({len(part.pairs)})" for part in worst)
        words += f", and {len(parts) - len(worst)} more" if len(parts) > len(worst) else ""
        cells = (f"{one.duration:.2f}", f"{len(one.pairs)}", sure_share(one), f"{one.contact_share * PERCENT:.2f}")
        table.add_row(one.name, *cells, f"{one.pieces}", words or "none")
    return table


def slider_share(one: SliderCertificate) -> str:
    """Share of the sliders' range for which pairs are certified, in words, rounded down: it never claims too much."""
    return f"{math.floor(one.share * PERCENT * 1000) / 1000:.3f} %"


def slider_words(one: SliderCertificate) -> str:
    """The sliders by name."""
    return ", ".join(one.sliders)


def slider_data(one: SliderCertificate) -> dict[str, object]:
    """The certificate over sliders as data for JSON; mm, shares from 0 to 1."""
    return {
        "sliders": list(one.sliders),
        "proven": one.complete,
        "margin_mm": one.margin * MM_PER_M,
        "near_pairs": len(one.pairs),
        "certified_share": one.share,
        "contact_share": one.contact_share,
        "pieces": one.pieces,
        "corners_exact": one.exact,
        "open": [
            {
                "values": {name: list(ends) for name, ends in part.values.items()},
                "pairs": part.pairs.tolist(),
                "contact_pairs": part.contacts,
            }
            for part in _open(one)
        ],
    }


def sliders_table(one: SliderCertificate) -> WholeTable:
    """For what share of the sliders' range it is proven, and where it is open."""
    table = WholeTable("At every value of sliders that move joints, in the modelled pose")
    table.add_column("sliders", overflow="fold")
    for heading in ("pairs", "certified, % of their range", "contact, %", "pieces"):
        table.add_column(heading, justify="right")
    table.add_column("open from to (pairs)", overflow="fold")
    parts = _open(one)
    worst = sorted(parts, key=lambda part: -len(part.pairs))[:MOST_PIECES]
    words = "; ".join(_words(part) for part in worst)
    words += f"; and {len(parts) - len(worst)} more" if len(parts) > len(worst) else ""
    cells = (f"{len(one.pairs)}", slider_share(one), f"{one.contact_share * PERCENT:.2f}", f"{one.pieces}")
    table.add_row(slider_words(one), *cells, words or "none")
    return table


def _open(one: SliderCertificate) -> list[OpenPiece]:
    return [part for part in one.open if len(part.pairs)]


def _words(part: OpenPiece) -> str:
    values = ", ".join(f"{name} {low:.3g} {high:.3g}" for name, (low, high) in part.values.items())
    return f"{values} ({len(part.pairs)})"
