"""A fault is one file: everything else asks the registry."""

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import dressform
from dressform.faults.fault import BODY
from dressform.faults.registry import ALL_FAULTS, FAULT_LAYERS, FAULTS, cloth_layer

SOURCE = Path(dressform.__file__).parent

ORDINARY = {"clearance", "hard", "inside", "layers"}
"""Keys that are also ordinary words, which name options, hard parts and layers of the page."""
OTHER_FOLDERS = {"audit", "demo", "faults"}
"""Where such words say something else: faults of a morph, measures of an invented body; and the registry itself."""
FIGURES = ("formats/results", "jobs/compare/measures")
"""Results also group their figures as pucker and stretch; a comparison names each fault whose figure it reads there."""

MADE_UP = """
from dataclasses import replace
from types import ModuleType

bare = sys.modules["dressform"] = ModuleType("dressform")  # whose own imports would come before the fault is there
bare.__path__ = [SOURCE]

import dressform.faults.registry as registry
from dressform.faults.fault import RISING, Column, Fault, FaultLayer

LIFTED = Fault(
    key="lifted",
    words="hangs too high",
    unit="cm",
    factor=100.0,
    figure="height, m",
    bands=(0.1, 0.2, 0.3),
    reason="made up",
    value=lambda faults: faults.girth_ease["height"][1],
    visible=7.0,
    field=lambda look: look.cloth[:, 1],
    layer=FaultLayer("height", "height", "cm", 100.0, RISING, "How high.", lambda look: look.cloth[:, 1]),
    columns=(Column("height\\ncm", lambda faults: f"{max(one.girth_ease['height'][1] for one in faults) * 100:.0f}"),),
)
registry.ALL_FAULTS += (LIFTED,)
registry.FAULTS += ("lifted",)
registry.FAULT_OF = {**registry.FAULT_OF, "lifted": LIFTED}
registry.FAULT_LAYERS += (LIFTED.layer,)

import numpy as np

import findings
import phantoms
from dressform.formats.bands_file import bands_in_reading_units
from dressform.faults.garment_on_body import GarmentOnBody
from dressform.faults.severity import Bands, graded_values, make_bands
from dressform.faults.words import FAULT_WORDS, amount_words
from dressform.fit.make import make_fit
from dressform.formats.results.check_report import ShapeRow
from dressform.report.page.layers import SurfaceLayers, page_layers
from dressform.report.tables.check import summary_table

body, garment = phantoms.phantom_body(), phantoms.phantom_tube(clearance=0.02, sides=12)
check = GarmentOnBody(make_fit(body, garment), levels={"height": 1.0}, bands=Bands(lifted=(0.001, 5.0, 6.0)))
found = check.measure(np.zeros(3))
assert graded_values(found)["lifted"] == found.girth_ease["height"][1] > 0.1
assert found.severities["lifted"] == "slight"
(spot,) = found.places
assert garment.vertices[:, 1].max() > graded_values(found)["lifted"]  # no place is worth more than its garment
assert spot.unit == "cm" and abs(spot.value - 100.0 * graded_values(found)["lifted"]) < 1e-4
assert make_bands({"lifted": [1, 2, 3]})["lifted"] == (1.0, 2.0, 3.0)
assert bands_in_reading_units(Bands())["lifted"] == [10.0, 20.0, 30.0]
assert FAULT_WORDS["lifted"] == "hangs too high" and amount_words("lifted", 0.123) == "12.3 cm"

layer = {one.name: one for one in page_layers()}["height"]
assert (layer.high, layer.unit) == (30.0, "cm")
values = SurfaceLayers(check).at(np.zeros(3))["height"]
np.testing.assert_allclose(values, 100.0 * garment.vertices[:, 1])

row = ShapeRow("base", replace(found, girth_ease={"height": (0.0, 0.3)}), 0.1)
table = summary_table(findings.check_report(findings.garment_report(rows=(row,))))
cells = {str(column.header): list(column.cells) for column in table.columns}
assert cells["height\\ncm"] == ["30"]
print("lifted is a fault")
"""


def test_a_fault_that_is_added_to_the_registry_is_graded_named_placed_shown_and_tabled() -> None:
    tests = Path(__file__).parents[1]
    code = f"import sys; sys.path[:0] = [{str(tests)!r}, {str(SOURCE.parent)!r}]\nSOURCE = {str(SOURCE)!r}\n{MADE_UP}"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=240)
    assert ran.stdout.strip() == "lifted is a fault", ran.stderr


def spelled(path: Path) -> set[str]:
    """Keys of faults that a file has as words of its own, in its code rather than its docstrings."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    words = {node.value for node in ast.walk(tree) if isinstance(node, ast.Constant) and isinstance(node.value, str)}
    return words & set(FAULTS)


def test_no_file_outside_the_registry_spells_the_key_of_a_fault() -> None:
    found = {}
    for path in SOURCE.rglob("*.py"):
        at = path.relative_to(SOURCE)
        if at.parts[0] not in OTHER_FOLDERS and not any(one in at.as_posix() for one in FIGURES):
            found[at.as_posix()] = spelled(path) - ORDINARY
    assert len(found) > 200
    assert {at: words for at, words in found.items() if words} == {}


@pytest.mark.parametrize("fault", ALL_FAULTS, ids=FAULTS)
def test_the_file_of_a_fault_has_its_name_and_spells_no_other(fault) -> None:
    path = SOURCE / "faults" / "graded" / f"{fault.key}.py"
    assert fault.key in spelled(path)
    assert spelled(path) <= {fault.key, fault.layer.name if fault.layer else "", *fault.words.split()}


def test_cloth_is_coloured_by_the_layer_of_its_fault_and_otherwise_by_the_clearance_change() -> None:
    for fault in ALL_FAULTS:
        own = fault.layer is not None and fault.on != BODY
        assert cloth_layer(fault.key).name == (fault.layer.name if own else "clearance_change")
    assert len({layer.name for layer in FAULT_LAYERS}) == len(FAULT_LAYERS)
