"""The static part of the report: plain HTML that is whole without a script, and prints."""

from collections.abc import Mapping, Sequence
from itertools import groupby
from typing import Any

from rich.table import Table

from dressform.faults.severity import Bands
from dressform.report.offline_pictures import CLUSTER_SIZE, Key
from dressform.report.offline_svg import dial_charts, key_bar, pair_chart, spread_chart
from dressform.report.offline_tags import Html, joined, tag
from dressform.report.tables import short
from dressform.report.units import FAULT_WORDS, PERCENT

Data = Mapping[str, Any]
VIEW_WORDS = {"front": "front", "side": "side", "back": "back", "worst": "worst shape"}
HASH_SHOWN = 12


def head_of_report(about: Data) -> Html:
    """What was checked, on whom, when."""
    count = len(about["garments"])
    body = about["body"]
    what = f"{count} garment{'' if count == 1 else 's'} on "
    facts = (
        f"{body['stature_m'] * 100:.0f} cm tall, {len(about['dials'])} dials, "
        f"{len(about['shapes'])} shapes looked at · {about['made'][:10]}"
    )
    return tag(
        "header",
        tag("h1", what, tag("bdi", body["name"])),
        tag("p", facts, class_="facts"),
        class_="report-head",
    )


def verdict_of(
    garment: Data,
    views: Mapping[str, str],
    sources: Mapping[str, str],
    keys: Mapping[str, Key],
    sizes: tuple[int, int],
) -> Html:
    """One garment: its verdict in a line, and its pictures, all of one size."""
    figures = [
        tag(
            "figure",
            tag("img", src=sources[file], alt=_alt(garment, view), width=sizes[0], height=sizes[1]),
            tag("figcaption", VIEW_WORDS[view]),
        )
        for view, file in views.items()
    ]
    pictured = [_key(file, keys[file]) for file in views.values() if file in keys]
    return tag(
        "article",
        tag(
            "div",
            tag("h2", _sign(garment["severity"]), tag("bdi", garment["name"])),
            tag("p", tag("bdi", garment["verdict"]), class_="line"),
            class_="verdict",
        ),
        tag("div", *figures, class_="views"),
        *pictured,
        class_="garment",
    )


def severity(word: str) -> Html:
    """A verdict as a word with a mark; the mark's form says the same as its colour."""
    return tag("span", tag("span", class_="sign", aria_hidden="true"), word, class_=f"severity {word}")


def _sign(word: str) -> Html:
    """The mark alone, where words beside it say the verdict."""
    return tag("span", tag("span", class_="sign", aria_hidden="true"), class_=f"severity {word}")


def table_of(table: Table) -> Html:
    """A table of the command line as HTML."""
    headings = [str(column.header).replace("\n", " ") for column in table.columns]
    rows = zip(*(tuple(str(cell) for cell in column.cells) for column in table.columns))
    right = [column.justify == "right" for column in table.columns]
    body = [
        tag(
            "tr",
            *(
                tag("th", tag("bdi", cell), scope="row")
                if index == 0
                else tag("td", cell, class_="figure" if right[index] else None)
                for index, cell in enumerate(row)
            ),
        )
        for row in rows
    ]
    return tag(
        "div",
        tag(
            "table",
            tag("caption", str(table.title)),
            tag(
                "thead",
                tag(
                    "tr",
                    *(
                        tag("th", words, scope="col", class_="figure" if flag else None)
                        for words, flag in zip(headings, right)
                    ),
                ),
            ),
            tag("tbody", *body),
        ),
        class_="wide",
        role="region",
        aria_label=str(table.title),
        tabindex=0,
    )


def places_of(about: Data, pictures: Mapping[str, str], sources: Mapping[str, str], keys: Mapping[str, Key]) -> Html:
    """Every cluster, by garment, the worst first, with its cause and what to do."""
    clusters = about["clusters"]
    if not clusters:
        return tag("p", "No fault was found at any shape that was looked at.", class_="none")
    names = {garment["key"]: garment["name"] for garment in about["garments"]}
    order = {garment["key"]: index for index, garment in enumerate(about["garments"])}
    sections = []
    for key, group in groupby(sorted(clusters, key=lambda one: order[one["garment"]]), lambda one: one["garment"]):
        items = [
            _place(one, number, sources.get(pictures.get(one["id"], "")), keys.get(pictures.get(one["id"], "")))
            for number, one in enumerate(group, start=1)
        ]
        sections.append(tag("section", tag("h3", tag("bdi", names[key])), tag("ol", *items, class_="places")))
    return joined([*_shared(about), *sections])


def _place(one: Data, number: int, source: str | None, key: Key | None) -> Html:
    amount = f"{short(one['value'])} {one['unit']}".strip()
    shape = one["shape"]["label"]
    title = tag("h4", tag("span", str(number), class_="number"), f"{one['fault_words']}, {amount}")
    lines = [
        tag("div", title, severity(one["severity"]), class_="place-head"),
        tag("p", one["where"], class_="where"),
        tag(
            "p",
            "worst at ",
            tag("bdi", shape),
            f"; seen at {one['seen']} shape{'' if one['seen'] == 1 else 's'}",
            class_="shape",
        ),
    ]
    if one["cause"]:
        lines.append(tag("p", tag("b", "Cause: "), f"{one['cause']} ({one['owner']})", class_="cause"))
    if one["advice"]:
        lines.append(tag("p", tag("b", "Advice: "), one["advice"], class_="advice"))
    if one["repair"]:
        lines.append(tag("p", tag("b", "Repair: "), one["repair"], class_="repair"))
    if one["shares"]:
        lines.append(_shares(one))
    if one["evidence"]:
        lines.append(_evidence(one["evidence"]))
    picture = (
        []
        if source is None
        else [
            tag(
                "figure",
                tag(
                    "img",
                    src=source,
                    alt=f"{one['fault_words']}: {one['where']}, from near",
                    width=CLUSTER_SIZE[0],
                    height=CLUSTER_SIZE[1],
                    loading="lazy",
                ),
                *([] if key is None else [_key(one["id"], key)]),
            )
        ]
    )
    return tag("li", *picture, tag("div", *lines, class_="words"), class_="place", id=place_anchor(one["id"]))


def place_anchor(cluster: str) -> str:
    """The anchor of a cluster: its letters and digits as they are, all else by number."""
    return "place-" + "".join(
        letter if letter.isascii() and letter.isalnum() else f"_{ord(letter):x}" for letter in cluster
    )


def _shares(one: Data) -> Html:
    """What each swap took away, the largest first."""
    items = [
        tag(
            "tr",
            tag("th", share["cause"], scope="row"),
            tag("td", f"{share['share'] * PERCENT:.0f} %", class_="figure"),
            tag("td", share["counterfactual"]),
            tag("td", f"{short(share['alone'])} {one['unit']}".strip(), class_="figure"),
        )
        for share in one["shares"]
    ]
    heads = (("cause", None), ("share", "figure"), ("swapped", None), ("left", "figure"))
    head = tag("tr", *(tag("th", words, scope="col", class_=kind) for words, kind in heads))
    return tag(
        "details",
        tag("summary", "What was swapped and measured again"),
        tag("table", tag("thead", head), tag("tbody", *items)),
    )


def _evidence(figures: Sequence[Data]) -> Html:
    items = [
        piece
        for one in figures
        for piece in (tag("dt", one["words"]), tag("dd", f"{short(one['value'])} {one['unit']}".strip()))
    ]
    return tag("details", tag("summary", "Figures behind it"), tag("dl", *items))


def _shared(about: Data) -> list[Html]:
    """Places where several garments fail."""
    if not about["shared"]:
        return []
    items = [
        tag("li", tag("b", f"{FAULT_WORDS[one['fault']]}: "), f"{one['sentence']} Suspect: {one['suspect']}.")
        for one in about["shared"]
    ]
    return [tag("section", tag("h3", "Where several garments fail"), tag("ul", *items, class_="shared"))]


def charts_of(about: Data, bands: Bands) -> Html:
    """The charts of every garment."""
    dials = [dial["name"] for dial in about["dials"]]
    sections = []
    for garment in about["garments"]:
        charts = about["charts"].get(garment["key"])
        if charts is None:
            continue
        fault = charts["pairs"]["fault"]
        pieces = [tag("h3", tag("bdi", garment["name"]))]
        if any(curve["values"].get(fault) for curve in charts["weights"].values()):
            unit = charts["pairs"]["unit"]
            words = f"{FAULT_WORDS[fault]}{f', {unit}' if unit else ''}, along each dial with the others at the base"
            pieces += [tag("h4", words), dial_charts(charts["weights"], fault, bands)]
        pair = pair_chart(charts["pairs"], dials)
        beside = []
        if charts["clearance"] is not None:
            heading = tag("h4", "How far from the skin the cloth lies, by share of its area")
            beside.append(tag("div", heading, spread_chart(charts["clearance"])))
        if pair is not None:
            beside.append(tag("div", tag("h4", f"{FAULT_WORDS[fault]}, two dials at their worse ends"), pair))
        pieces.append(tag("div", *beside, class_="beside"))
        sections.append(tag("section", *pieces, class_="charts"))
    return joined(sections)


def grounds_of(about: Data) -> Html:
    """What a reader needs to make the same again: files, settings, versions."""
    files = [(about["body"]["file"], about["body"]["sha256"])]
    files += list(dict.fromkeys((one["file"], one["sha256"]) for one in about["garments"]))
    hashes = [
        piece
        for name, digest in files
        for piece in (tag("dt", tag("bdi", name)), tag("dd", tag("code", digest), class_="hash"))
    ]
    ranges = [
        piece
        for dial in about["dials"]
        for piece in (tag("dt", tag("bdi", dial["name"])), tag("dd", f"{short(dial['low'])} to {short(dial['high'])}"))
    ]
    notes = [tag("li", tag("bdi", f"{one['name']}: {note}")) for one in about["garments"] for note in one["notes"]]
    return joined(
        [
            tag("div", tag("h3", "Files"), tag("dl", *hashes), class_="ground files"),
            tag("div", tag("h3", "Settings"), _pairs(about["settings"]), class_="ground"),
            tag("div", tag("h3", "Range"), tag("dl", *ranges), class_="ground"),
            tag("div", tag("h3", "Versions"), _pairs(about["versions"]), class_="ground"),
            *([tag("div", tag("h3", "Notes on the files"), tag("ul", *notes), class_="ground")] if notes else []),
        ]
    )


def cautions_of(about: Data) -> Html:
    """What must be said with the figures."""
    return tag("ul", *(tag("li", words) for words in about["cautions"]))


def _pairs(values: Data) -> Html:
    """Names and values as a list."""
    items = [
        piece for name, value in values.items() for piece in (tag("dt", str(name)), tag("dd", tag("bdi", _said(value))))
    ]
    return tag("dl", *items)


def _said(value: object) -> str:
    """A setting in words."""
    if value is None or value == "" or value == []:
        return "–"
    if isinstance(value, Mapping):
        return "; ".join(f"{name} {_said(each)}" for name, each in value.items())
    if isinstance(value, list | tuple):
        return ", ".join(_said(each) for each in value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def _alt(garment: Data, view: str) -> str:
    if view == "worst":
        return f"{garment['name']} at its worst shape: {garment['verdict']}"
    return f"{garment['name']} on the base shape, from the {view}"


def _key(name: str, key: Key) -> Html:
    return key_bar(f"key-{place_anchor(name)}", key.colours, key.low, key.high, key.words)
