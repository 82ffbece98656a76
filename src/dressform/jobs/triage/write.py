"""Writing a triage: JSON for programs, Markdown and a page for people, a picture of each matter."""

from pathlib import Path

from dressform.formats.out_folder import whole_folder
from dressform.formats.results.record import json_text
from dressform.jobs.triage.run import Triage
from dressform.jobs.triage.words.vocabulary import words_of_faults
from dressform.report.triage.glossary import GLOSSARY, glossary_page
from dressform.report.triage.markdown import triage_markdown
from dressform.report.triage.page import triage_page

JSON, MARKDOWN, PAGE, RELEASE = "triage.json", "triage.md", "triage.html", "release.md"


def write_triage(found: Triage, folder: Path) -> list[Path]:
    """Fill a folder with a triage; returns what a person opens.

    Raises:
        FileError: the file system refuses; nothing is left half-written.
    """
    told = found.told
    files = {JSON: json_text(told)}
    files[MARKDOWN] = triage_markdown(told, glossary=GLOSSARY)
    files[PAGE] = triage_page(told, found.pictures, glossary=GLOSSARY)
    files[GLOSSARY] = glossary_page(words_of_faults())
    if told.against:
        files[RELEASE] = told.release_note
    with whole_folder(folder) as partial:
        for name, text in files.items():
            (partial / name).write_text(text, encoding="utf-8")
        for name, png in found.pictures.items():
            (partial / name).parent.mkdir(exist_ok=True)
            (partial / name).write_bytes(png)
    return [folder / name for name in files]
