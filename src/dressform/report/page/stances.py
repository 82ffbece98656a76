"""What was found at stances, in the form of the page."""

from collections.abc import Sequence

from dressform.body.body import Body
from dressform.body.stance import AS_MODELLED
from dressform.faults.results import SEVERITIES
from dressform.faults.words import FAULT_WORDS, figure_words, reading_of
from dressform.formats.results.check_report import CheckReport
from dressform.formats.results.page.stances import PosedShapeAbout
from dressform.report.page.charts import fault_values
from dressform.report.pictures.faults import gravest_fault
from dressform.report.tables.check import row_words
from dressform.units import number, numbers


def page_posed(report: CheckReport, body: Body, stances: Sequence[str]) -> tuple[PosedShapeAbout, ...]:
    """What was found at the stances that are shown, the worst of each garment first."""
    numbers_of: dict[str, int | None] = {name: number for number, name in enumerate(stances)}
    numbers_of[AS_MODELLED] = None
    sliders = [one.name for one in body.joint_sliders]
    morphs = body.morph_names
    found = []
    for garment in report.garments:
        for row in garment.worst_first() if garment.rows else ():
            if row.stance not in numbers_of:
                continue
            fault = gravest_fault(row.faults)
            value, unit = fault_values(row.faults)[fault], reading_of(fault, 0.0)[1]
            is_clean = row.faults.severity == SEVERITIES[0]
            found.append(
                PosedShapeAbout(
                    garment=garment.key,
                    stance=numbers_of[row.stance],
                    label=row_words(row, morphs),
                    weights=tuple(numbers(row.faults.weights)),
                    joints=tuple(number(row.faults.joints.get(name, 0.0)) for name in sliders),
                    severity=row.faults.severity,
                    fault=fault,
                    words="" if is_clean else f"{FAULT_WORDS[fault]} {figure_words(value, unit)}",
                )
            )
    return tuple(found)
