"""Is a pile of complaints answered rightly? The 60 of the demo against their written truth.

Makes the demo, imports its complaints, triages them and prints how many are resolved rightly (found as what they are,
or rightly told not found or too vague), how many of those that are found are merged rightly, and how many answers name
the right owner, for the two thirds that were looked at while words were chosen and the third that was held back.

    python benchmarks/bench_triage.py [--folder FOLDER] [--workers 2] [--misses]

With a folder that holds a demo already nothing is made again, and an interrupted triage goes on.
"""

import argparse
import tempfile
import time
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from dressform.demo.complaints import TrueComplaint, complaints_truth
from dressform.demo.write import BODY_FILE, FAULTY_BODY_FILE, GARMENT_FOLDER, write_demo
from dressform.formats.case_file import read_case
from dressform.formats.results.triage_schema import ELSEWHERE, FOUND, StoredTriage, TriageCase, TriageMatter
from dressform.jobs.case.import_complaints import import_complaints
from dressform.jobs.load import load_bodies
from dressform.jobs.triage.run import triage
from dressform.jobs.triage.write import write_triage

SEEN = (FOUND, ELSEWHERE)


@dataclass(frozen=True)
class Judged:
    """One complaint beside its truth."""

    truth: TrueComplaint
    case: TriageCase
    resolved: bool
    merged: bool


def judge(told: StoredTriage, tickets: Mapping[str, str]) -> list[Judged]:
    """Every complaint beside its truth.

    Merged rightly is one that lies in the matter in which most complaints of its true matter lie, where most complaints
    of that matter are of its true matter.
    """
    truth = {one.ticket: one for one in complaints_truth().complaint}
    pairs = [(truth[tickets[case.file]], case) for case in told.cases]
    homes = {name: _most([case.matter for true, case in pairs if true.matter == name and case.matter])
             for name in {true.matter for true, _ in pairs}}  # fmt: skip
    owners = {name: _most([true.matter for true, case in pairs if case.matter == name])
              for name in {case.matter for _, case in pairs}}  # fmt: skip
    judged = []
    for true, case in pairs:
        seen = case.outcome in SEEN
        merged = seen and bool(true.matter) and homes[true.matter] == case.matter and owners[case.matter] == true.matter
        resolved = merged if true.outcome == FOUND else case.outcome == true.outcome
        judged.append(Judged(true, case, resolved, merged))
    return judged


def print_figures(judged: Sequence[Judged], matters: Sequence[TriageMatter]) -> None:
    """The figures as a Markdown table."""
    owner = {one.name: one.owner for one in complaints_truth().matter}
    by_name = {one.name: one for one in matters}
    print("| complaints | resolved rightly | merged rightly | answers with the right owner | sure of a wrong owner |")
    print("|---|---:|---:|---:|---:|")
    for words, chosen in (
        ("looked at while words were chosen", [one for one in judged if not one.truth.held]),
        ("held back", [one for one in judged if one.truth.held]),
        ("all", judged),
    ):
        found = [one for one in chosen if one.truth.matter and one.case.outcome in SEEN]
        answered = [(owner.get(one.truth.matter, ""), by_name[one.case.matter]) for one in chosen if one.case.matter]
        right = sum(true == matter.owner for true, matter in answered)
        wrong = sum(true != matter.owner and bool(matter.owner) and matter.sure for true, matter in answered)
        cells = (
            _share(sum(one.resolved for one in chosen), len(chosen)),
            _share(sum(one.merged for one in found), len(found)),
            _share(right, len(answered)),
            str(wrong),
        )
        print(f"| {words} | {' | '.join(cells)} |")


def print_misses(judged: Sequence[Judged], matters: Sequence[TriageMatter]) -> None:
    """What went wrong, one line each."""
    owner = {one.name: one.owner for one in complaints_truth().matter}
    by_name = {one.name: one for one in matters}
    for one in judged:
        told = by_name[one.case.matter].owner if one.case.matter else ""
        if not one.resolved or (one.case.matter and told != owner.get(one.truth.matter, "")):
            place = f"{one.case.place.fault} {one.case.place.region} " if one.case.place else ""
            true = f"{one.truth.kind}, {one.truth.matter or one.truth.outcome}{', held' if one.truth.held else ''}"
            mine = f"{one.case.outcome} {place}matter {one.case.matter or '–'} owner {told or '–'}"
            print(f"{one.truth.ticket} ({true}): {mine}: {one.case.note}")


def _most(names: Sequence[str]) -> str:
    return Counter(names).most_common(1)[0][0] if names else ""


def _share(part: int, whole: int) -> str:
    return f"{part} of {whole} ({100 * part / whole:.0f} %)" if whole else "–"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--folder", type=Path, help="where the demo is or will be; a temporary folder if left out")
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--misses", action="store_true", help="print what went wrong")
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as temporary:
        folder = options.folder or Path(temporary)
        if not (folder / "complaints.csv").is_file():
            write_demo(folder)
        bodies = [*load_bodies(folder / BODY_FILE), *load_bodies(folder / FAULTY_BODY_FILE)]
        garments = sorted((folder / GARMENT_FOLDER).glob("*.glb"))
        start = time.perf_counter()
        cases = import_complaints(folder / "complaints.csv", folder / "cases", bodies=bodies, garments=garments).cases
        middle = time.perf_counter()
        found = triage(
            folder / "cases", bodies=bodies, garments=garments, workers=options.workers, kept=folder / "triage" / "kept"
        )
        end = time.perf_counter()
        write_triage(found, folder / "triage")
        tickets = {path.name: read_case(path).complaint.others["ticket"] for path in cases}
    judged = judge(found.told, tickets)
    print_figures(judged, found.told.matters)
    print(f"\n{found.line}; import {middle - start:.0f} s, triage {end - middle:.0f} s, {found.resumed} taken up.")
    if options.misses:
        print_misses(judged, found.told.matters)


if __name__ == "__main__":
    main()
