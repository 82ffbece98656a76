"""No figure is printed for what a garment does not determine, and no minus before nothing."""

import io

from rich.console import Console

from dressform.infer.shape import infer_shape
from dressform.report.tables.inferred_shape import inferred_table
from phantoms import phantom_body, phantom_tube


def test_what_a_garment_says_nothing_of_has_no_figures() -> None:
    found = infer_shape(phantom_body(), phantom_tube(clearance=0.02))
    stream = io.StringIO()
    Console(file=stream, width=100).print(inferred_table("tube", found))
    assert found.silent
    for line in stream.getvalue().splitlines():
        if "says nothing" in line:
            assert not any(letter.isdigit() for letter in line)
    assert "-0.00" not in stream.getvalue()
