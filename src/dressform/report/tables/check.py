"""Tables for the terminal, the worst first. They are built here and printed by the command line."""

import statistics
from collections.abc import Iterable, Mapping, Sequence

from rich.text import Text

from dressform.arrays import Weights
from dressform.faults.registry import ALL_FAULTS
from dressform.faults.results import SEVERITIES, Place, ShapeFaults
from dressform.faults.words import FAULT_WORDS, amount_words, place_amount, rounded
from dressform.formats.results.check_report import CheckReport, GarmentReport, ShapeRow
from dressform.report.tables.whole_table import WholeTable
from dressform.units import CM_PER_M, MS_PER_S, counted

SHAPES_SHOWN = 5
PLACES_SHOWN = 6
WEIGHTS_SHOWN = 3
SHAPE_WIDTH = 44
FOR_WIDTH = 24
WIDE = 132
"""A terminal of at least so many columns shows every figure."""
MEDIUM = 120
"""A narrower one shows a line per garment, its gravest fault and where that is."""
BRIEF_WORDS = "All figures: in a wider terminal, or with --tsv, --json or --out."
_BROKEN = "broken"
NOTHING = "–"
NO_JOINTS: Mapping[str, float] = {}
_COLUMNS = tuple(column for fault in ALL_FAULTS for column in fault.columns)
_TIMES = ("set-up\nms", "a shape\nms")
_NARROW_OMITS = (*(column.heading for column in _COLUMNS if column.is_wide), *_TIMES)
"""What a narrow table leaves out; every figure stands in the JSON and the CSV."""
SEVERITY_STYLES = {"clean": "green", "slight": "", "moderate": "bold yellow", "grave": "bold red"}


def summary_table(report: CheckReport, *, width: int = WIDE) -> WholeTable:
    """One line per garment and method: the worst of each figure over all shapes.

    A narrow table leaves some figures out and says which; below `MEDIUM` columns it is `brief_table`. Garments of which
    nothing is known come last.
    """
    if width < MEDIUM:
        return brief_table(report)
    several = len({garment.method for garment in report.garments}) > 1
    shown = _ways_together(report.worst_first())
    table = WholeTable("Garments, the worst first: each figure at its worst shape; faulty is moderate or worse")
    table.add_column("garment", overflow="fold")
    if several:
        table.add_column("method")
    table.add_column("verdict")
    table.add_column("for", overflow="fold", max_width=FOR_WIDTH)
    lines = [
        {"shapes\nfaulty": _faulty(garment), **_figures(row.faults for row in garment.rows), **_times(garment)}
        for garment in shown
    ]
    headings = _add_figures(table, lines, width)
    for garment, line in zip(shown, lines):
        names = [garment.name, garment.method] if several else [garment.name]
        table.add_row(*names, verdict(garment.severity), blamed(garment.rows), *(line[heading] for heading in headings))
    for failed in report.failed:
        names = [failed.name, failed.method or NOTHING] if several else [failed.name]
        table.add_row(*names, Text(failed.verdict, style=SEVERITY_STYLES["grave"]), *[NOTHING] * (1 + len(headings)))
    table.caption = _left_out(lines[0], headings)
    return table


def brief_table(report: CheckReport) -> WholeTable:
    """One line per garment and method: verdict, gravest fault, how much of it and where."""
    several = len({garment.method for garment in report.garments}) > 1
    table = WholeTable("Garments, the worst first", lead=3 if several else 2)
    for heading in ("garment", *(["method"] if several else []), "verdict", "gravest fault, and where"):
        table.add_column(heading)
    for garment in _ways_together(report.worst_first()):
        names = [garment.name, garment.method] if several else [garment.name]
        table.add_row(*names, verdict(garment.severity), _gravest(garment))
    for failed in report.failed:
        names = [failed.name, failed.method or NOTHING] if several else [failed.name]
        table.add_row(*names, Text(failed.verdict, style=SEVERITY_STYLES["grave"]), NOTHING)
    table.caption = BRIEF_WORDS
    return table


def verdict_line(report: CheckReport) -> str:
    """The outcome in one sentence: how many garments fail and which, or that none does."""
    garments = {garment.name: SEVERITIES[0] for garment in report.worst_first()}
    for garment in report.garments:
        garments[garment.name] = max(garments[garment.name], garment.severity, key=SEVERITIES.index)
    failing = [name for name, severity in garments.items() if severity in SEVERITIES[2:]]
    count = len(garments)
    if failing:
        words = f"{len(failing)} of {counted(count, 'garment')} {'fails' if len(failing) == 1 else 'fail'}: "
        words += ", ".join(failing)
    elif SEVERITIES[1] in garments.values():
        slight = ", ".join(name for name, severity in garments.items() if severity == SEVERITIES[1])
        whole = "no garment fails" if count > 1 else "the garment does not fail"
        words = f"{whole}; slight faults in {slight}"
    else:
        words = f"{counted(count, 'garment')} clean"
    broken = f"; {len(report.failed)} could not be checked" if report.failed else ""
    return f"{words}{broken}"


def _gravest(garment: GarmentReport) -> str:
    """The gravest fault of a garment with its amount and place, or else what is as bad over the whole of it."""
    named = blamed(garment.rows)
    places = [place for _, place in worst_places(garment) if place.severity == garment.severity]
    for words in named.split(", "):
        for place in places:
            if FAULT_WORDS[place.fault] == words:
                return f"{words}, {place_amount(place)}: {where(place)}"
    return named


def _left_out(line: Mapping[str, str], headings: Sequence[str]) -> str | None:
    """Which figures had no room."""
    missing = [" ".join(heading.split()) for heading in line if heading not in headings]
    words = f"not shown, or all zero: {', '.join(missing)}; a wider terminal, --tsv and --json have them"
    return words if missing else None


def _ways_together(garments: Sequence[GarmentReport]) -> list[GarmentReport]:
    """Entries grouped by garment; garments and methods keep the order given."""
    names = list(dict.fromkeys(garment.name for garment in garments))
    return sorted(garments, key=lambda garment: names.index(garment.name))


def shapes_table(
    garment: GarmentReport, morphs: Sequence[str], *, shown: int = SHAPES_SHOWN, width: int = WIDE
) -> WholeTable:
    """The worst shapes of one garment with their figures. A narrow table has fewer figures."""
    table = WholeTable(f"{_title(garment)}: worst shapes of {len(garment.rows)}")
    table.add_column("shape", overflow="fold", max_width=SHAPE_WIDTH)
    table.add_column("verdict")
    table.add_column("for", overflow="fold", max_width=FOR_WIDTH)
    rows = garment.worst_first()[:shown]
    lines = [_figures([row.faults]) for row in rows]
    headings = _add_figures(table, lines, width)
    for row, line in zip(rows, lines):
        cells = (line[heading] for heading in headings)
        table.add_row(shape_words(row, morphs), verdict(row.faults.severity), blamed([row]), *cells)
    return table


def blamed(rows: Iterable[ShapeRow]) -> str:
    """The faults for which the verdict is as bad as it is; a dash where it is clean."""
    return _gravest_faults(row.faults for row in rows)


def severity_words(found: Sequence[ShapeFaults]) -> str:
    """The verdict over some shapes and stances and, where it is not clean, the faults that make it so bad."""
    worst = max((one.severity for one in found), key=SEVERITIES.index, default=SEVERITIES[0])
    return worst if worst == SEVERITIES[0] else f"{worst} ({_gravest_faults(found)})"


def _gravest_faults(found: Iterable[ShapeFaults]) -> str:
    graded = [(fault, severity) for one in found for fault, severity in one.severities.items()]
    worst = max((SEVERITIES.index(severity) for _, severity in graded), default=0)
    named = dict.fromkeys(FAULT_WORDS[fault] for fault, severity in graded if SEVERITIES.index(severity) == worst)
    return ", ".join(named) if worst else NOTHING


def overall_sentences(garment: GarmentReport, morphs: Sequence[str]) -> list[str]:
    """Faults that are worse over the whole garment than at any place: how bad, how much, and at which shape."""
    said = []
    for fault in ALL_FAULTS:
        row = max(garment.rows, key=lambda one: fault.value(one.faults))
        overall = row.faults.severities[fault.key]
        local = [one.severity for each in garment.rows for one in each.faults.places if one.fault == fault.key]
        if SEVERITIES.index(overall) > max((SEVERITIES.index(one) for one in local), default=0):
            amount = amount_words(fault.key, fault.value(row.faults))
            said.append(f"{overall} over the whole garment: {fault.words}, {amount}, at {shape_words(row, morphs)}")
    return said


def places_table(garment: GarmentReport, morphs: Sequence[str], *, shown: int = PLACES_SHOWN) -> WholeTable:
    """Where the faults of one garment are: each kind of fault at each place once, at its worst shape."""
    table = WholeTable(f"{_title(garment)}: where, and how much")
    for heading in ("verdict", "fault", "where"):
        table.add_column(heading, overflow="fold")
    for heading in ("cm above\nground", "cm²", "worst"):
        table.add_column(heading, justify="right")
    table.add_column("at shape", overflow="fold", max_width=SHAPE_WIDTH)
    for row, place in worst_places(garment)[:shown]:
        table.add_row(
            verdict(place.severity),
            FAULT_WORDS[place.fault],
            where(place),
            f"{place.height * CM_PER_M:.0f}",
            f"{place.area_cm2:.1f}",
            place_amount(place),
            shape_words(row, morphs),
        )
    return table


def shape_words(row: ShapeRow, morphs: Sequence[str]) -> str:
    """The shape of a row in words, its pose first: see `row_words`."""
    words = row_words(row, morphs)
    return f"{row.stance}, {words}" if row.stance else words


def row_words(row: ShapeRow, morphs: Sequence[str]) -> str:
    """The shape of a row in words, sliders that move joints among the others: see `label_words`."""
    return label_words(row.label, row.faults.weights, morphs, joints=row.faults.joints)


def label_words(label: str, weights: Weights, morphs: Sequence[str], *, joints: Mapping[str, float] = NO_JOINTS) -> str:
    """A shape's label, with its largest weights where the label lacks them: `worst 1 (belly=1 hips=1 …)`.

    Values of sliders that move joints stand among the weights.
    """
    moved = [(name, float(value)) for name, value in joints.items() if value]
    if "=" in label:
        return " ".join([label, *(f"{name}={value:.2g}" for name, value in moved)])
    named = moved + [(name, float(weight)) for name, weight in zip(morphs, weights) if weight]
    largest = sorted(named, key=lambda pair: -abs(pair[1]))[:WEIGHTS_SHOWN]
    words = [f"{name}={weight:.2g}" for name, weight in largest] + ["…"] * (len(named) > WEIGHTS_SHOWN)
    return f"{label} ({' '.join(words)})" if words else label


def worst_places(garment: GarmentReport) -> list[tuple[ShapeRow, Place]]:
    """Places that are faulty, each (fault, where) once at its worst shape, the gravest and largest first."""
    worst: dict[tuple[str, str], tuple[ShapeRow, Place]] = {}
    for row in garment.rows:
        for place in row.faults.places:
            key = (place.fault, where(place))
            if place.severity != SEVERITIES[0] and (key not in worst or _rank(place) > _rank(worst[key][1])):
                worst[key] = (row, place)
    return sorted(worst.values(), key=lambda pair: _rank(pair[1]), reverse=True)


def where(place: Place) -> str:
    """A place in words: part of the garment, region of the body, side."""
    return ", ".join(dict.fromkeys(word for word in (place.part, place.region, place.side) if word))


def _rank(place: Place) -> tuple[int, float, float]:
    return (SEVERITIES.index(place.severity), place.area, abs(place.value))


def _add_figures(table: WholeTable, lines: Sequence[Mapping[str, str]], width: int) -> list[str]:
    """A column for each figure that a table of this width has room for; their headings. A narrow one shows no zeros."""
    headings = [
        heading
        for heading in lines[0]
        if width >= WIDE or (heading not in _NARROW_OMITS and any(_is_more(line[heading]) for line in lines))
    ]
    for heading in headings:
        if heading == _BROKEN:
            table.add_column(heading, overflow="fold")
        else:
            table.add_column(heading, justify="right", no_wrap=True)
    return headings


def _is_more(text: str) -> bool:
    """Whether a cell says more than that there is nothing."""
    return any(letter in "123456789" for letter in text)


def _figures(found: Iterable[ShapeFaults]) -> dict[str, str]:
    """The worst of each figure over `found`, by heading."""
    faults = list(found)
    return {column.heading: column.text(faults) for column in _COLUMNS} | {_BROKEN: _broken(faults)}


def _broken(faults: list[ShapeFaults]) -> str:
    """What is broken, in a few words; a dash if nothing is."""
    words = []
    for fault in ALL_FAULTS:
        if fault.brief:
            value = max(fault.value(one) for one in faults) * fault.factor
            told = f"{value:.0f}" if fault.is_summed else f"{value:.1f}"
            words += [fault.brief.format(told)] if float(told) else []
    return ", ".join(words) or NOTHING


def _faulty(garment: GarmentReport) -> str:
    """At how many shapes it is moderate or grave, of how many: for these a check fails."""
    return f"{sum(row.faults.severity in SEVERITIES[2:] for row in garment.rows)}/{len(garment.rows)}"


def _times(garment: GarmentReport) -> dict[str, str]:
    middle = statistics.median(row.seconds for row in garment.rows)
    return dict(zip(_TIMES, (f"{garment.setup_seconds * MS_PER_S:.0f}", f"{middle * MS_PER_S:.0f}")))


def _title(garment: GarmentReport) -> str:
    return f"{garment.name} ({garment.method})"


def verdict(severity: str) -> Text:
    """A severity in its colour."""
    return Text(severity, style=SEVERITY_STYLES[severity])


def short(value: float) -> str:
    """Three significant digits; digits before the decimal point are always kept."""
    return rounded(value, 3)
