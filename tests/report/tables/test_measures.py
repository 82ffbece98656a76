import io
import json

import numpy as np
from rich.console import Console

from dressform.body.measure import Measure, Measures
from dressform.report.tables.measures import measures_json, measures_table

MEASURES = Measures(
    "woman",
    "belly=1",
    np.array([1.0]),
    (
        Measure("waist", "ISO 8559-1:2017 5.3.10", 0.80321, 1.0812, ""),
        Measure("inside leg", "ISO 8559-1:2017 5.1.15", None, None, "the legs are joined"),
    ),
)


def test_the_table_is_in_centimetres_and_says_why_a_measure_is_missing() -> None:
    stream = io.StringIO()
    Console(file=stream, width=140).print(measures_table(MEASURES))
    lines = {line.split()[0]: line for line in stream.getvalue().splitlines() if line.strip()}
    assert lines["waist"].split()[1:3] == ["80.3", "108.1"]
    assert lines["inside"].split()[2:4] == ["–", "–"]
    assert "the legs are joined" in lines["inside"]


def test_the_json_is_in_millimetres_and_null_where_nothing_was_taken() -> None:
    document = json.loads(measures_json("body.glb", {"belly": 1.0}, [MEASURES]))
    assert document["schema"] == "dressform-measures/1"
    assert document["weights"] == {"belly": 1.0}
    waist, leg = document["bodies"][0]["measures"]
    assert waist["mm"] == 803.21
    assert waist["height_mm"] == 1081.2
    assert leg["mm"] is None
