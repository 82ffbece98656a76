"""The table of a proof at stances in a narrow terminal: no name of a stance is squeezed into a column of words."""

import dressform as df
from dressform.report.tables.proof import stances_table
from dressform.report.tables.text import table_text
from limbs import bend, limb, sleeve

NAMES = ("fore arm bent halfway and held", "fore arm bent a little")


def test_the_name_of_a_stance_stands_in_one_line_at_80_columns() -> None:
    fit = df.fit(limb(along=21, around=16), sleeve(along=15, around=14))
    proof = df.prove(fit, stances=[bend(10, name=NAMES[0]), bend(3, name=NAMES[1])])
    text = table_text(stances_table(proof), width=80)
    assert all(len(line) <= 80 for line in text.splitlines())
    assert all(any(name in line for line in text.splitlines()) for name in NAMES)
