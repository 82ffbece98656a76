"""A drafted answer says what is seen, why, whose it is and what will change; nothing as certain that is not."""

from typing import Any

import pytest
from msgspec.structs import replace

from dressform.causes.results import CAUSES, OWNERS
from dressform.faults.registry import FAULTS
from dressform.faults.results import Place
from dressform.formats.results.triage_schema import StoredTriage, TriageCase, TriageMatter, TriageRemedy, TriageWord
from dressform.report.tables.triage import triage_table
from dressform.report.triage.answers import case_answer, matter_answer, plain_words
from dressform.report.triage.markdown import triage_markdown
from dressform.report.triage.page import triage_page

MATTER = TriageMatter(
    name="1", garments=("wool_guernsey",), body="woman", fault="exposed", where="belly, 107 cm above the ground",
    place=Place(position_m=(0, 1, 0), region="belly", side="front left", fault="exposed", severity="grave", value=36.2,
                unit="cm²"),
    shape="belly=1", weights={"belly": 1.0}, stance="", severity="grave", cause="too tight by design",
    owner="the garment", share=0.83, sure=True, because="", tried="", complaints=3, people=2, rank=18.0,
    remedies=(TriageRemedy(words="let it out by 4 mm", by="the garment", effect="skin shows 36.2 → 0 cm²", share=1.0),),
    cases=("a.case.json",), picture="", answer="",
)  # fmt: skip
CASE = TriageCase(
    file="a.case.json", sha256="", garment="wool_guernsey", body="woman", method="smooth", note="Skin <b>shows</b>",
    where="", known_by="weights", shape="belly=1", weights={"belly": 1.0}, stance="", outcome="not found",
    reason="No fault at all is seen.",
)  # fmt: skip


def heads(answer: str) -> list[str]:
    return [part.partition("**")[2].partition("**")[0] for part in answer.split("\n\n")]


def test_an_answer_has_its_four_parts_and_the_figures_in_them() -> None:
    answer = matter_answer(MATTER)
    assert heads(answer) == ["What is seen.", "Why.", "Whose it is.", "What the garment's maker should do."]
    for words in ("2 people told us", "36.2 cm²", "grave", "83 % of it goes", "Let it out by 4 mm", "36.2 → 0 cm²"):
        assert words in answer
    assert "not certain" not in answer


def test_a_shape_without_its_weights_in_its_name_is_told_by_the_largest() -> None:
    assert "At the shape worst 2 (belly=1 hips=-0.5)" in matter_answer(
        replace(MATTER, shape="worst 2", weights={"hips": -0.5, "belly": 1.0})
    )


def test_a_cause_that_is_not_sure_is_not_told_as_one() -> None:
    answer = matter_answer(replace(MATTER, sure=False))
    assert "not certain" in answer
    assert "Whose it is, as far as we know." in answer


def test_where_no_cause_is_known_nobody_is_blamed_and_nothing_promised() -> None:
    answer = matter_answer(replace(MATTER, cause="", owner="", share=0.0, remedies=(), sure=False))
    assert "We do not know yet" in answer
    assert "Nothing yet" in answer
    assert not any(words in answer for words in plain_words()["owner"].values())


def test_where_nothing_that_was_tried_helps_that_is_said() -> None:
    answer = matter_answer(replace(MATTER, remedies=(), tried="no remedy that was tried helps"))
    assert "Nothing yet. No remedy that was tried helps." in answer


def test_every_fault_cause_and_owner_has_ordinary_words() -> None:
    assert set(plain_words()["fault"]) == set(FAULTS)
    assert set(plain_words()["cause"]) == set(CAUSES)
    assert set(plain_words()["owner"]) == set(plain_words()["who"]) == set(OWNERS.values())


def test_what_is_not_found_is_said_with_where_it_was_looked_for() -> None:
    assert "at the shape of your complaint (belly=1), then over the whole range" in case_answer(CASE)
    wide = case_answer(replace(CASE, shape="", weights={}, known_by="searched"))
    assert "over the whole range of the body's sliders" in wide
    assert "what each fault" in case_answer(replace(CASE, outcome="unclear"))
    assert case_answer(replace(CASE, outcome="found")) == ""


def stored(**changes: Any) -> StoredTriage:
    matter = replace(MATTER, answer=matter_answer(MATTER))
    case = replace(CASE, answer=case_answer(CASE))
    told = StoredTriage(made="2026-09-02", versions={}, garments={"wool_guernsey": ""}, bodies={"woman": ""},
                        matters=(matter,), cases=(case,))  # fmt: skip
    return replace(told, **changes)


def test_page_and_markdown_hold_every_matter_and_complaint_and_no_sign_of_a_note_works_in_them() -> None:
    page, text = triage_page(stored(), {}), triage_markdown(stored())
    for shown in (page, text):
        assert "What the garment" in shown
        assert "36.2 cm²" in shown
        assert "could not find it" in shown
    assert "&lt;b&gt;shows" in page
    assert "<b>shows" not in page
    assert "&lt;b&gt;shows" in text
    assert "<b>" not in text


def test_the_table_says_why_in_the_plain_words_of_the_answers_and_at_which_shapes_its_figures_are() -> None:
    table = triage_table(stored())
    (why,) = [list(column.cells) for column in table.columns if column.header == "why"]
    assert why == [plain_words()["cause"][MATTER.cause]]
    assert "at the complaints' own shapes" in str(table.caption)
    unknown = triage_table(stored(matters=(replace(MATTER, cause=""),)))
    assert "not known" in [cell for column in unknown.columns for cell in column.cells]


def test_the_page_loads_nothing_and_runs_nothing() -> None:
    page = triage_page(stored(), {})
    assert "<script" not in page
    assert "default-src &#39;none&#39;; style-src &#39;sha256-" in page
    assert "http" not in page.replace("http-equiv", "")


@pytest.mark.parametrize(("denied", "told"), [(False, True), (True, False)])
def test_words_that_nothing_found_fits_are_told_and_denied_ones_not(denied: bool, told: bool) -> None:
    word = TriageWord(text="elbow", kind="place", means=("upper_arm",), denied=denied)
    case = replace(CASE, outcome="found", matter="1", words=(word,))
    assert ("nothing found fits: elbow" in triage_markdown(stored(cases=(case,)))) is told
