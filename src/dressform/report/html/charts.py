"""The charts of the report as SVG that needs no script, takes the colours of the page and prints."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from dressform.faults.results import SEVERITIES
from dressform.faults.severity import Bands
from dressform.faults.words import FAULT_WORDS, reading_of
from dressform.report.html.tags import Html, joined, tag
from dressform.report.pictures.colours import CLOTH_STOPS, Scale
from dressform.report.tables.check import short
from dressform.units import PERCENT

HEADROOM = 1.08  # a chart's field over its highest value
SLIDER_SIZE = (168.0, 104.0)
SLIDER_EDGES = (30.0, 8.0, 10.0, 22.0)  # left, top, right and bottom of the drawn field
SPREAD_SIZE = (560.0, 220.0)
SPREAD_EDGES = (40.0, 12.0, 12.0, 38.0)
MAX_TENS = 80.0  # mm of clearance up to which every ten is written
CELL = 34.0
NAME_ROOM = 84.0
SLANT = -40
MIN_SHOWN = 0.03  # share of the highest value below which a slider gets no chart of its own
MIN_FINE = 1e-3  # below this a cell has room for one digit,
MIN_WRITTEN = 1e-4  # and below this for none
MAX_NAMED = 14  # letters of a slider's name beside the heat map
DARK_FROM = 0.55  # place on the scale from which letters on it are white


@dataclass(frozen=True)
class _Field:
    """Where values are drawn: x and y from values to the picture."""

    x: tuple[float, float]
    y: tuple[float, float]
    size: tuple[float, float]
    edges: tuple[float, float, float, float]

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Place of a value in the picture."""
        left, top, right, bottom = self.edges
        across = (x - self.x[0]) / ((self.x[1] - self.x[0]) or 1.0)
        up = (y - self.y[0]) / ((self.y[1] - self.y[0]) or 1.0)
        return left + across * (self.size[0] - left - right), self.size[1] - bottom - up * (self.size[1] - top - bottom)

    def path(self, xs: Sequence[float], ys: Sequence[float]) -> str:
        """A line through values."""
        return "M" + "L".join(f"{px:.1f} {py:.1f}" for px, py in (self.at(x, y) for x, y in zip(xs, ys)))


def slider_charts(weights: Mapping[str, Any], fault: str, bands: Bands) -> Html:
    """One fault along every slider, the others at the base: one small chart per slider, all at one height."""
    bounds = [reading_of(fault, bound)[0] for bound in bands[fault]]
    curves = {name: (curve["at"], curve["values"].get(fault, [])) for name, curve in weights.items()}
    tops = {name: max(values) for name, (_, values) in curves.items() if values}
    top = max([*tops.values(), bounds[0]])
    moving = [name for name in tops if tops[name] >= MIN_SHOWN * top]
    charts = [_slider_chart(name, *curves[name], fault, (HEADROOM * top, bounds)) for name in moving]
    still = [name for name in tops if name not in moving]
    words = f"Next to nothing along {', '.join(still)}." if moving else "Next to nothing along any slider alone."
    return joined([tag("div", *charts, class_="sliders"), *([tag("p", words, class_="still")] if still else [])])


def _slider_chart(
    name: str, at: Sequence[float], values: Sequence[float], fault: str, heights: tuple[float, Sequence[float]]
) -> Html:
    top, bounds = heights
    field = _Field((at[0], at[-1]), (0.0, top), SLIDER_SIZE, SLIDER_EDGES)
    left, right = field.at(at[0], 0.0)[0], field.at(at[-1], 0.0)[0]
    unit = reading_of(fault, 0.0)[1]
    marks = [
        tag("path", d=f"M{left:.1f} {field.at(0.0, bound)[1]:.1f}H{right:.1f}", class_=f"bound {severity}")
        for bound, severity in zip(bounds, SEVERITIES[1:])
        if bound < top
    ]
    foot = field.at(at[0], 0.0)[1]
    labels = [
        tag("text", short(at[0]), x=left, y=SLIDER_SIZE[1] - 8, class_="tick"),
        tag("text", short(at[-1]), x=right, y=SLIDER_SIZE[1] - 8, class_="tick end"),
        tag("text", "0", x=left - 4, y=foot, class_="tick end"),
        tag("text", short(top / HEADROOM), x=left - 4, y=field.at(0.0, top / HEADROOM)[1] + 4, class_="tick end"),
    ]
    points = [
        tag(
            "circle",
            tag("title", f"{name} {short(weight)}: {short(value)} {unit}".strip()),
            cx=field.at(weight, value)[0],
            cy=field.at(weight, value)[1],
            r=2.6,
        )
        for weight, value in zip(at, values)
    ]
    worst = max(zip(values, at))
    words = f"{FAULT_WORDS[fault]} along {name}: most {short(worst[0])} {unit}".strip() + f" at {short(worst[1])}"
    drawing = tag(
        "svg",
        tag("path", d=f"M{left:.1f} {foot:.1f}H{right:.1f}", class_="axis"),
        *marks,
        tag("path", d=field.path(at, values), class_="curve"),
        *points,
        *labels,
        viewBox=f"0 0 {SLIDER_SIZE[0]:g} {SLIDER_SIZE[1]:g}",
        role="img",
        aria_label=words,
    )
    return tag("figure", tag("figcaption", tag("bdi", name)), drawing)


def spread_chart(clearance: Mapping[str, Any]) -> Html:
    """Clearance as a distribution: as modelled, at the worst shape, and there after a repair."""
    edges = clearance["edges"]
    series = [
        ("modelled", "as modelled, base body", clearance["base"]),
        ("followed", "as it follows, worst shape", clearance["before"]),
        ("repaired", "repaired, worst shape", clearance["after"]),
    ]
    shown = [one for one in series if one[2] is not None]
    top = HEADROOM * max(max(shares) for _, _, shares in shown)
    field = _Field((edges[0], edges[-1]), (0.0, top), SPREAD_SIZE, SPREAD_EDGES)
    skin, foot = field.at(0.0, 0.0)
    tick = 10 if edges[-1] <= MAX_TENS else 50
    ticks = [
        tag("text", f"{edge:g}", x=field.at(edge, 0.0)[0], y=foot + 15, class_="tick middle")
        for edge in edges
        if edge % tick == 0
    ]
    drawing = tag(
        "svg",
        *(tag("path", d=_steps(field, edges, shares), class_=name) for name, _, shares in shown),
        tag("path", d=f"M{skin:.1f} {foot:.1f}V{SPREAD_EDGES[1]:g}", class_="axis skin"),
        tag("path", d=field.path([edges[0], edges[-1]], [0.0, 0.0]), class_="axis"),
        *ticks,
        tag(
            "text",
            "clearance, mm; left of 0 the cloth is in the body",
            x=field.at(edges[-1], 0.0)[0],
            y=foot + 32,
            class_="tick end",
        ),
        tag(
            "text",
            f"{PERCENT * top / HEADROOM:.0f} %",
            x=SPREAD_EDGES[0] - 5,
            y=field.at(0.0, top / HEADROOM)[1] + 4,
            class_="tick end",
        ),
        viewBox=f"0 0 {SPREAD_SIZE[0]:g} {SPREAD_SIZE[1]:g}",
        role="img",
        aria_label="Share of the cloth's area by its clearance: " + _below_zero(edges, shown),
    )
    keys = [tag("li", tag("span", class_=f"swatch {name}"), words) for name, words, _ in shown]
    return tag("div", tag("ul", *keys, class_="legend"), drawing, class_="spread")


def _steps(field: _Field, edges: Sequence[float], shares: Sequence[float]) -> str:
    """The outline of a histogram."""
    xs = [edges[0], *(edge for edge in edges[1:-1] for _ in (0, 1)), edges[-1]]
    ys = [share for share in shares for _ in (0, 1)]
    return field.path([edges[0], *xs, edges[-1]], [0.0, *ys, 0.0])


def _below_zero(edges: Sequence[float], shown: Sequence[tuple[str, str, Sequence[float]]]) -> str:
    """How much of each series lies in the body, in words."""
    inside = np.array(edges[1:]) <= 0
    words = [
        f"{words}, {PERCENT * float(np.array(shares)[inside].sum()):.1f} % in the body" for _, words, shares in shown
    ]
    return "; ".join(words)


def pair_chart(pairs: Mapping[str, Any], sliders: Sequence[str]) -> Html | None:
    """One fault with two sliders at their worse ends, as a triangle of cells; None where no pair was measured."""
    values = pairs["values"]
    used = [
        row
        for row in range(len(sliders))
        if any(value is not None for column, value in enumerate(values[row]) if column != row)
    ]
    flat = [values[row][column] for row in used for column in used if values[row][column] is not None]
    if len(used) < 2 or not any(flat):
        return None
    top = max(flat)
    scale = Scale(0.0, top, CLOTH_STOPS)
    size = NAME_ROOM + CELL * len(used)
    cells = [
        _cell(pairs, sliders, (row, column), (across, down), scale)
        for down, row in enumerate(used)
        for across, column in enumerate(used[: down + 1])
        if values[row][column] is not None
    ]
    rows = [
        tag("text", _cut(sliders[row]), x=NAME_ROOM - 6, y=CELL * down + CELL / 2 + 4, class_="tick end")
        for down, row in enumerate(used)
    ]
    bottom = CELL * len(used) + 12
    columns = [
        tag(
            "text",
            _cut(sliders[column]),
            class_="tick end",
            transform=f"translate({NAME_ROOM + CELL * across + CELL / 2 + 4:.1f} {bottom:.1f}) rotate({SLANT})",
        )
        for across, column in enumerate(used)
    ]
    words = f"{FAULT_WORDS[pairs['fault']]} with two sliders at their worse ends: most {short(top)} {pairs['unit']}"
    return tag(
        "svg",
        *cells,
        *rows,
        *columns,
        viewBox=f"0 0 {size:g} {size:g}",
        role="img",
        aria_label=words.strip(),
        class_="pairs",
        width=f"{size:g}",
    )


def _cell(
    pairs: Mapping[str, Any], sliders: Sequence[str], pair: tuple[int, int], place: tuple[int, int], scale: Scale
) -> Html:
    (row, column), (across, down) = pair, place
    value, weights = pairs["values"][row][column], pairs["weights"][row][column]
    red, green, blue = (round(255 * float(channel)) for channel in scale.colours(np.array([value]))[0])
    names = f"{sliders[row]}={short(weights[0])}"
    if row != column:
        names = f"{names} {sliders[column]}={short(weights[1])}"
    dark = value > DARK_FROM * scale.high
    x, y = NAME_ROOM + CELL * across, CELL * down
    return tag(
        "g",
        tag("title", f"{names}: {short(value)} {pairs['unit']}".strip()),
        tag("rect", x=x + 1, y=y + 1, width=CELL - 2, height=CELL - 2, rx=3, fill=f"rgb({red},{green},{blue})"),
        tag(
            "text", _cell_words(value), x=x + CELL / 2, y=y + CELL / 2 + 3.5, class_="value light" if dark else "value"
        ),
    )


def _cell_words(value: float) -> str:
    """A value in the few letters that a cell holds."""
    if value >= 100:
        return f"{value:.0f}"
    digits = 2 if value >= MIN_FINE else 1
    return f"{value:.{digits}g}".removeprefix("0") if value >= MIN_WRITTEN else "0"


def _cut(name: str) -> str:
    return name if len(name) <= MAX_NAMED else f"{name[: MAX_NAMED - 1]}…"


def key_bar(name: str, colours: Sequence[str], low: str, high: str, words: str) -> Html:
    """What the colours of a picture mean; `name` tells it from all others of the page."""
    stops = [
        tag("stop", offset=f"{100 * index / (len(colours) - 1):.0f}%", stop_color=colour)
        for index, colour in enumerate(colours)
    ]
    bar = tag(
        "svg",
        tag("defs", tag("linearGradient", *stops, id=name)),
        tag("rect", width="100%", height="100%", rx=2, fill=f"url(#{name})"),
        aria_hidden="true",
        class_="bar",
    )
    pieces = tag("span", words, class_="words"), tag("span", low), bar, tag("span", high)
    return tag("p", *pieces, class_="key")
