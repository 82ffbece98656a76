"""What the report says of stances: a heat map of shapes against stances, and the worst stances as pictures."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from dressform.body.body import Body
from dressform.body.stance import Stance
from dressform.body.stances.sliders import slid_stance
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.results import SEVERITIES
from dressform.formats.results.check_report import GarmentReport, ShapeRow
from dressform.report.html.pictures import Key, plain_look, worst_view
from dressform.report.pictures.faults import Appearance
from dressform.report.pictures.raster import Image
from dressform.report.tables.check import row_words
from dressform.report.tables.stances import stance_sentence, stances_first
from dressform.units import CM2_PER_M2

REST = "rest"
PICTURED = 3
"""So many stances of a garment are drawn, the worst first, where they are not clean."""
SHAPES_MAPPED = 24
"""So many shapes have a line in the heat map, those first that are worst at any stance."""
RINGED_THERE = 3


@dataclass(frozen=True)
class HeatCell:
    """One shape at one stance: its severity, empty where it was not looked at, and the skin seen, cm², as text."""

    severity: str
    text: str


@dataclass(frozen=True)
class HeatMap:
    """Shapes against stances.

    Attributes:
        stances: Headings, rest first.
        rows: Each shape in words, with a cell per stance.
        more: How many shapes are left out, none of them worse.
    """

    stances: tuple[str, ...]
    rows: tuple[tuple[str, tuple[HeatCell, ...]], ...]
    more: int


@dataclass(frozen=True)
class StanceSection:
    """What the report says of one garment at stances.

    Attributes:
        name: Name of the garment.
        sentence: The worst, in one line.
        heat: The heat map.
        captions: Words under each picture, by its name.
        images: The pictures by name.
        keys: What their colours mean, by name.
    """

    name: str
    sentence: str
    heat: HeatMap
    captions: Mapping[str, str] = field(default_factory=dict)
    images: Mapping[str, Image] = field(default_factory=dict)
    keys: Mapping[str, tuple[Key, ...]] = field(default_factory=dict)


def stance_section(
    garment: GarmentReport,
    worn: GarmentOnBody,
    look: Appearance | None,
    stances: Mapping[str, Stance],
    *,
    stem: str,
) -> StanceSection:
    """Make the report's content about one garment at stances.

    Args:
        garment: What was found, at stances too.
        worn: The garment on its body.
        look: Its own colours, if they are known.
        stances: A stance of each pose, by its name; those that are missing are not drawn.
        stem: What the names of its pictures begin with.

    Proof: tests/report/html/test_stances.py
    """
    morphs = worn.body.morph_names
    captions, images, keys = {}, {}, {}
    ranked = [pair for pair in stances_first(garment) if pair[1].faults.severity != SEVERITIES[0]]
    for number, (name, row) in enumerate((pair for pair in ranked[:PICTURED] if pair[0] in stances), start=1):
        file = f"{stem}-stance-{number}.png"
        fields = worn.fields(row.faults.weights, _stance_of(row, worn.body, stances[name]))
        places = {str(rank): place for rank, place in enumerate(row.faults.places[:RINGED_THERE], start=1)}
        paint = plain_look(worn.fit) if look is None else look
        images[file], keys[file] = worst_view(worn.body, worn.fit, paint, row.faults, fields, places, bands=worn.bands)
        captions[file] = f"{name}, {row_words(row, morphs)}: {row.faults.severity}"
    return StanceSection(
        garment.name, stance_sentence(garment, morphs), heat_map(garment, morphs), captions, images, keys
    )


def _stance_of(row: ShapeRow, body: Body, stance: Stance) -> Stance:
    """The stance of a row: its pose, and sliders that move joints at the row's values."""
    if body.skeleton is None or dict(stance.sliders) == dict(row.faults.joints):
        return stance
    return slid_stance(stance, body.skeleton, body.joint_sliders, row.faults.joints)


def heat_map(garment: GarmentReport, morphs: Sequence[str]) -> HeatMap:
    """How grave a garment is on each shape at each stance, the shapes first that are worst anywhere.

    Shapes that were looked at only at rest have no line.
    """
    columns = (REST, *garment.stances)
    by_shape: dict[object, dict[str, ShapeRow]] = {}
    for row in garment.rows:
        by_shape.setdefault(row.shape, {})[row.stance or REST] = row
    posed = [rows for rows in by_shape.values() if set(rows) - {REST}]
    posed.sort(key=lambda rows: max(row.badness for row in rows.values()), reverse=True)
    lines = []
    for rows in posed[:SHAPES_MAPPED]:
        first = next(iter(rows.values()))
        cells = tuple(_cell(rows.get(column)) for column in columns)
        lines.append((row_words(first, morphs), cells))
    return HeatMap(columns, tuple(lines), max(len(posed) - SHAPES_MAPPED, 0))


def _cell(row: ShapeRow | None) -> HeatCell:
    if row is None:
        return HeatCell("", "")
    seen = row.faults.show_through.exposed_area * CM2_PER_M2
    return HeatCell(row.faults.severity, f"{seen:.0f}" if seen >= 0.5 else "")
