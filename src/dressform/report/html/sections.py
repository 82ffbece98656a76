"""The static part of the report: plain HTML that is whole without a script, and prints."""

from collections.abc import Mapping, Sequence
from typing import Any

from rich.table import Table

from dressform.faults.severity import Bands
from dressform.faults.words import FAULT_WORDS
from dressform.report.html.charts import key_bar, pair_chart, slider_charts, spread_chart
from dressform.report.html.pictures import CLUSTER_SIZE, Key
from dressform.report.html.tags import Html, joined, tag, text
from dressform.report.tables.check import short
from dressform.units import CM_PER_M, PERCENT

Data = Mapping[str, Any]
VIEW_WORDS = {"front": "front", "side": "side", "back": "back", "worst": "worst shape"}


def head_of_report(about: Data) -> Html:
    """What was checked, on whom, when."""
    body = about["body"]
    what = f"{_count(len(about['garments']), 'garment')} on "
    facts = (
        f"{body['stature_m'] * CM_PER_M:.0f} cm tall, {_count(len(about['sliders']), 'slider')}, "
        f"{_count(len(about['shapes']), 'shape')} looked at, "
    )
    return tag(
        "header",
        tag("h1", what, tag("bdi", body["name"])),
        tag("p", facts, tag("span", about["made"][:10], class_="day"), class_="facts"),
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
    """Every cluster, by garment, the most noticed first: the pictured ones with cause and advice, the rest as a list.

    Args:
        about: The About.
        pictures: Name of the picture of a cluster, by its id.
        sources: What stands in for a picture, by its name.
        keys: Its colours.
    """
    if not about["clusters"]:
        return tag("p", "No fault was found at any shape that was looked at.", class_="none")
    sections = _shared(about)
    for garment in about["garments"]:
        clusters = sorted(
            (one for one in about["clusters"] if one["garment"] == garment["key"]),
            key=lambda one: (len(one["name"]), one["name"]),
        )
        near = [one for one in clusters if one["id"] in pictures]
        items = [_place(one, sources[pictures[one["id"]]], keys[pictures[one["id"]]]) for one in near]
        far = [one for one in clusters if one["id"] not in pictures]
        rest = [_rest(far)] if far else []
        if clusters:
            title = tag("h3", tag("bdi", garment["name"]))
            sections.append(tag("section", title, tag("ol", *items, class_="places"), *rest))
    return joined(sections)


def _place(one: Data, source: str, key: Key) -> Html:
    amount = f"{short(one['value'])} {one['unit']}".strip()
    title = tag("h4", tag("span", one["name"], class_="number"), f"{one['fault_words']}, {amount}")
    seen = f"; seen at {_count(one['seen'], 'shape')}"
    lines = [
        tag("div", title, severity(one["severity"]), class_="place-head"),
        tag("p", one["where"], class_="where"),
        tag("p", "worst at ", tag("bdi", one["shape"]["label"]), seen, class_="shape"),
    ]
    if one["because"]:
        lines.append(tag("p", *_coded(f"{one['because'][:1].upper()}{one['because'][1:]}."), class_="cause"))
    if one["advice"]:
        lines.append(tag("p", tag("b", "Advice: "), *_coded(one["advice"]), class_="advice"))
    if one["repair"]:
        lines.append(tag("p", tag("b", "Or: "), *_coded(one["repair"]), class_="repair"))
    if one["shares"]:
        lines.append(_shares(one))
    if one["evidence"]:
        lines.append(_evidence(one["evidence"]))
    width, height = CLUSTER_SIZE
    alt = f"{one['fault_words']}: {one['where']}, from near"
    picture = tag("img", src=source, alt=alt, width=width, height=height, loading="lazy")
    figure = tag("figure", picture, _key(one["id"], key))
    return tag("li", figure, tag("div", *lines, class_="words"), class_="place", id=place_anchor(one["id"]))


def _rest(clusters: Sequence[Data]) -> Html:
    """Places that a wearer notices less, one line each."""
    rows = [
        tag(
            "tr",
            tag("th", one["name"], scope="row", class_="figure"),
            tag("td", one["severity"]),
            tag("td", one["fault_words"]),
            tag("td", f"{short(one['value'])} {one['unit']}".strip(), class_="figure"),
            tag("td", one["where"]),
            tag("td", one["cause"] or "–"),
        )
        for one in clusters
    ]
    heads = (("", "figure"), ("verdict", None), ("fault", None), ("worst", "figure"), ("where", None), ("cause", None))
    head = tag("tr", *(tag("th", words or "number", scope="col", class_=kind) for words, kind in heads))
    words = f"{_count(len(rows), 'more place')}, less noticed"
    return tag("details", tag("summary", words), tag("table", tag("thead", head), tag("tbody", *rows)), class_="rest")


def _coded(words: str) -> list[Html]:
    """Words in which what stands between backticks is code."""
    return [tag("code", piece) if odd % 2 else text(piece) for odd, piece in enumerate(words.split("`"))]


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
    items = [tag("li", tag("b", f"{FAULT_WORDS[one['fault']]}: "), f"{one['sentence']}.") for one in about["shared"]]
    return [tag("section", tag("h3", "Where several garments fail"), tag("ul", *items, class_="shared"))]


def charts_of(about: Data, bands: Bands) -> Html:
    """The charts of every garment."""
    sliders = [slider["name"] for slider in about["sliders"]]
    sections = []
    for garment in about["garments"]:
        charts = about["charts"].get(garment["key"])
        if charts is None:
            continue
        fault = charts["pairs"]["fault"]
        pieces = [tag("h3", tag("bdi", garment["name"]))]
        if any(curve["values"].get(fault) for curve in charts["weights"].values()):
            unit = charts["pairs"]["unit"]
            words = f"{FAULT_WORDS[fault]}{f', {unit}' if unit else ''}, along each slider with the others at the base"
            pieces += [tag("h4", words), slider_charts(charts["weights"], fault, bands)]
        pair = pair_chart(charts["pairs"], sliders)
        beside = []
        if charts["clearance"] is not None:
            heading = tag("h4", "How far from the skin the cloth lies, by share of its area")
            beside.append(tag("div", heading, spread_chart(charts["clearance"])))
        if pair is not None:
            beside.append(tag("div", tag("h4", f"{FAULT_WORDS[fault]}, two sliders at their worse ends"), pair))
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
        for slider in about["sliders"]
        for piece in (
            tag("dt", tag("bdi", slider["name"])),
            tag("dd", f"{short(slider['low'])} to {short(slider['high'])}"),
        )
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


def _count(number: int, what: str) -> str:
    """So many of something."""
    return f"{number} {what}{'' if number == 1 else 's'}"


def _alt(garment: Data, view: str) -> str:
    if view == "worst":
        return f"{garment['name']} at its worst shape: {garment['verdict']}"
    return f"{garment['name']} at the base, from the {view}"


def _key(name: str, key: Key) -> Html:
    return key_bar(f"key-{place_anchor(name)}", key.colours, key.low, key.high, key.words)
