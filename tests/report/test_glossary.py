"""The glossary shows every fault, at every severity that the demo's clothes show, and loads nothing."""

from dressform.faults.registry import ALL_FAULTS, FAULTS
from dressform.faults.results import SEVERITIES
from dressform.jobs.triage.words.vocabulary import words_of_faults
from dressform.report.triage.glossary import glossary_page, pictured

MOST_BYTES = 1_500_000


def test_every_fault_is_there_with_its_bands_and_what_people_call_it() -> None:
    page = glossary_page(words_of_faults())
    for one in ALL_FAULTS:
        assert f'<section id="{one.key}">' in page
    assert page.count("<figure>") == 3 * len(FAULTS)
    assert "People say: " in page
    assert "baggy" in page


def test_more_than_a_third_of_all_severities_have_a_picture_and_what_has_none_says_so() -> None:
    known = {(fault, severity) for fault in FAULTS for severity in SEVERITIES[1:]}
    assert pictured() <= known
    assert len(pictured()) > len(known) / 3
    page = glossary_page()
    assert page.count("<img ") == len(pictured())
    assert page.count("the village shows none") == len(known) - len(pictured())


def test_it_is_one_small_file_that_loads_nothing() -> None:
    page = glossary_page()
    assert len(page) < MOST_BYTES
    assert "<script" not in page
    assert "http" not in page.replace("http-equiv", "")
