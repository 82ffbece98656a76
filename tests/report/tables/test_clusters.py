"""Cause and advice stand under what is seen; where there is no cause, that is said."""

import io
from dataclasses import replace

from rich.console import Console
from rich.table import Table

from dressform.causes.results import BODY, TOO_TIGHT, SharedPlace
from dressform.report.tables.clusters import clusters_table, shared_table
from explanations import cluster, explanation, shares
from findings import MORPHS, garment_report, place


def printed(table: Table, *, width: int = 120) -> str:
    stream = io.StringIO()
    Console(file=stream, width=width, force_terminal=False).print(table)
    return "\n".join(line.rstrip() for line in stream.getvalue().splitlines())


def test_a_cluster_is_told_with_its_cause_its_owner_and_what_to_do() -> None:
    assert printed(clusters_table(garment_report(), [explanation()], MORPHS)) == (
        "guernsey (smooth): places by number, why, and what to change\n"
        "1  moderate skin shows, 12 cm², at belly=1: front panel, torso, front left\n"
        "   cause: too few vertices where the body bends, 90 % of it; it lies with the garment\n"
        "   torso, front left, 112 cm above the ground: split the edges\n"
        "   or `refine` splits them"
    )


def test_a_shape_without_weights_in_its_label_names_the_largest() -> None:
    of = cluster(label="worst 1", weights=(0.25, -0.75, 0.0))
    text = printed(clusters_table(garment_report(), [explanation(of=of)], MORPHS))
    assert "at worst 1 (girth=-0.75 belly=0.25): front" in text


def test_a_cluster_without_a_cause_says_how_near_the_best_came() -> None:
    text = printed(clusters_table(garment_report(), [explanation("")], MORPHS))
    assert "cause: none found; at most 90 % of it goes, with another 0" in text
    useless = replace(explanation(""), shares=shares(TOO_TIGHT)[2:])
    text = printed(clusters_table(garment_report(), [useless], MORPHS))
    assert "cause: none found; nothing that was swapped takes any of it away" in text
    untried = replace(explanation(""), shares=())
    text = printed(clusters_table(garment_report(), [untried], MORPHS))
    assert "cause: none found, since no counterfactual applies here" in text
    assert "or `" not in text


def test_what_is_cut_is_counted() -> None:
    every = [explanation(of=cluster(str(number))) for number in range(1, 6)]
    text = printed(clusters_table(garment_report(), every, MORPHS, shown=2))
    assert text.count("cause: ") == 2
    assert "and 3 places less noticed" in text


def test_what_is_slight_and_has_no_cause_is_counted_only() -> None:
    slight = cluster("2", at=place(severity="slight"))
    text = printed(clusters_table(garment_report(), [explanation(), explanation("", of=slight)], MORPHS))
    assert text.count("cause: ") == 1
    assert "and 1 place less noticed" in text
    assert printed(clusters_table(garment_report(), [explanation(of=slight)], MORPHS)).count("cause: ") == 1


def test_a_narrow_table_loses_no_word() -> None:
    narrow, wide = (printed(clusters_table(garment_report(), [explanation()], MORPHS), width=w) for w in (40, 200))
    assert narrow.split() == wide.split()
    assert max(len(line) for line in narrow.splitlines()) <= 40


def test_a_shared_place_is_told_in_one_sentence() -> None:
    spot = SharedPlace(
        "exposed",
        "belly",
        "front left",
        1.0,
        (("a", "1"), ("b", "1")),
        BODY,
        "two garments fail alike: the body is the suspect",
    )
    assert printed(shared_table([spot])).splitlines() == [
        "Places where several garments fail",
        "1  two garments fail alike: the body is the suspect.",
    ]
    many = printed(shared_table([spot] * 8, shown=5)).splitlines()
    assert len(many) == 7
    assert many[-1].strip() == "and 3 more"
