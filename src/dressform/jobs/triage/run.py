"""Triage: all complaints of a folder measured again, merged into matters, ranked and answered."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from msgspec.structs import replace

from dressform.body.body import Body
from dressform.calls import called
from dressform.errors import ArgumentError, FileError
from dressform.formats.case_file import CASE_SUFFIX, CaseComplaint, case_bytes, read_case
from dressform.formats.frames.units import AxisOptions
from dressform.formats.load import BodyFile
from dressform.formats.results.triage_schema import FAILED, FOUND, ShapeKnown, StoredTriage, TriageCase, TriageMatter
from dressform.jobs.arguments import refuse_workers
from dressform.jobs.case.files import sha256_of
from dressform.jobs.progress import Progress
from dressform.jobs.provenance import now, versions
from dressform.jobs.triage.against import changes_since
from dressform.jobs.triage.desk import TriageDesk
from dressform.jobs.triage.kept import Kept
from dressform.jobs.triage.matters import Complaint, merged
from dressform.jobs.triage.private import without_names
from dressform.jobs.triage.records import SeenCase
from dressform.jobs.triage.wardrobe import GarmentCases, ReadCase, grouped, made_fits, stances_of
from dressform.report.triage.answers import case_answer, matter_answer, release_note

MAX_CASES = 10_000
PICTURES = "pictures"


@dataclass(frozen=True)
class Triage:
    """What a triage found.

    Attributes:
        told: The records.
        pictures: PNG by the file name that a matter gives.
        resumed: How many cases were finished in an earlier run.
    """

    told: StoredTriage
    pictures: dict[str, bytes]
    resumed: int

    @property
    def line(self) -> str:
        """The outcome in one line."""
        told = self.told
        outcomes = ", ".join(
            f"{count} {outcome}"
            for outcome in (FOUND, "elsewhere", "not found", "unclear", FAILED)
            if (count := len(told.of(outcome)))
        )
        return f"{len(told.cases)} complaints, {len(told.matters)} matters: {outcomes or 'nothing to look at'}"


def read_cases(folder: Path) -> tuple[list[ReadCase], list[str]]:
    """The cases below a folder, and why others cannot be read.

    Raises:
        FileError: it is no folder, or holds more than `MAX_CASES` cases.
    """
    if not folder.is_dir():
        raise FileError.of(folder, "", "is no folder", "Name the folder that holds the cases")
    paths = sorted(folder.rglob(f"*{CASE_SUFFIX}"))
    if len(paths) > MAX_CASES:
        raise FileError.of(folder, "", f"holds {len(paths):,} cases", f"Name a folder with at most {MAX_CASES:,}")
    read, unread = [], []
    for path in paths:
        try:
            case = read_case(path)
        except FileError as problem:
            unread.append(str(problem))
            continue
        content = hashlib.sha256(case_bytes(replace(case, made="", versions={}))).hexdigest()
        read.append(ReadCase(path.relative_to(folder).as_posix(), path, content, case))
    return read, unread


@called("triage", apart=("bodies", "garments", "workers"))
def triage(
    folder: Path | str,
    *,
    bodies: Sequence[Body],
    garments: Sequence[Path] = (),
    stances: Path | str | None = None,
    kept: Path | str | None = None,
    against: StoredTriage | None = None,
    with_names: bool = False,
    pictures: bool = True,
    told: AxisOptions = AxisOptions(),  # noqa: B008  # frozen
    workers: int = 1,
    progress: Progress | None = None,
) -> Triage:
    """Measure all complaints of a folder again, find what each means and why it is so, merge, rank and answer them.

    Args:
        folder: Where the cases are, in it or below.
        bodies: The base bodies that they speak of.
        garments: The garments of today; of others the file that a case names is used.
        stances: Where stances come from, as for `find_stances`.
        kept: Folder that keeps finished cases, so that an interrupted triage goes on.
        against: An earlier triage, to say what became of its matters.
        with_names: Whether the results say who complains and where; otherwise notes lose links, addresses and the
            name of their writer too.
        pictures: Whether a picture of each matter is drawn.
        told: Units and axes of garment files that leave them open.
        workers: Processes that share the work, garment by garment.
        progress: Told how far it has come.

    Raises:
        ArgumentError: no bodies, or two of one name.
        FileError: the folder cannot be read, or what is kept cannot be written.

    Proof: tests/cli/commands/test_triage_command.py
    """
    refuse_workers("triage", workers)
    if not bodies or len({body.name for body in bodies}) < len(bodies):
        observed = ", ".join(body.name for body in bodies) or "none"
        raise ArgumentError.of("triage", "bodies", "base bodies of different names", observed, "Name each once")
    read, unread = read_cases(Path(folder))
    groups, left = grouped(read, bodies, [Path(one) for one in garments])
    desk = TriageDesk(groups, dict(stances_of(bodies, stances)), None if kept is None else Kept(Path(kept)), pictures)
    desk.recall()
    resumed = len(desk.seen)
    fits, failed = made_fits([one for one in groups if not desk.is_done(one)], told)
    left |= {case.file: failed[group.key] for group in groups for case in group.cases if group.key in failed}
    desk.work(fits, workers, progress)
    return _gathered(desk, read, unread, left, against, with_names, resumed)


def _gathered(
    desk: TriageDesk,
    read: Sequence[ReadCase],
    unread: Sequence[str],
    left: dict[str, str],
    against: StoredTriage | None,
    with_names: bool,
    resumed: int,
) -> Triage:
    """Everything put together."""
    complaints = [
        Complaint(
            case.file,
            case.case.garment.source.name,
            group.key,
            group.body.name,
            "" if case.case.complaint is None else case.case.complaint.who,
            tuple(group.body.morph_names),
            desk.seen[case.file],
            desk.caused[group.key].cases.get(case.file) if group.key in desk.caused else None,
        )
        for group in desk.groups
        for case in group.cases
        if case.file in desk.seen
    ]
    matters, pictures = [], {}
    drawn = {f"{key}|{one}": png for key, caused in desk.caused.items() for one, png in caused.pictures.items()}
    for matter, key in merged(complaints):
        picture = f"{PICTURES}/matter-{int(matter.name):02d}.png" if key in drawn else ""
        if picture:
            pictures[picture] = drawn[key]
        matter = replace(matter, picture=picture)
        matters.append(replace(matter, answer=matter_answer(matter)))
    of_case = {file: matter for matter in matters for file in matter.cases}
    sure = {one.file: one.sure for one in complaints}
    of_group = {case.file: group for group in desk.groups for case in group.cases}
    cases = tuple(
        _told(desk, one, of_group.get(one.file), left.get(one.file, ""), of_case, sure, with_names) for one in read
    )
    changes = () if against is None else changes_since(against, matters, cases)
    stored = StoredTriage(
        made=now(),
        versions=dict(versions()),
        garments={group.garment.stem: group.sha256 for group in desk.groups},
        bodies={
            group.body.name: sha256_of(group.body.source.path)
            for group in desk.groups
            if isinstance(group.body.source, BodyFile)
        },
        matters=tuple(matters),
        cases=cases,
        unread=tuple(unread),
        notes=tuple(
            f"{key}: why it is so could not be found out. {caused.problem}"
            for key, caused in desk.caused.items()
            if caused.problem
        ),
        against="" if against is None else against.made,
        changes=changes,
        release_note="" if against is None else release_note(changes, matters),
    )
    return Triage(stored, pictures, resumed)


def _told(
    desk: TriageDesk,
    one: ReadCase,
    group: GarmentCases | None,
    failed: str,
    of_case: dict[str, TriageMatter],
    sure: dict[str, bool],
    with_names: bool,
) -> TriageCase:
    """A complaint as the results tell it."""
    case, said = one.case, one.case.complaint
    who, link = ("", "") if said is None else (said.who, said.link)
    seen = desk.seen.get(one.file) or SeenCase(FAILED, (), reason=failed or "It was not looked at.")
    known: ShapeKnown = "searched"
    if case.shape is not None:
        known = "tape" if said is not None and said.tape_cm else "weights"

    def shown(text: str) -> str:
        return text if with_names else without_names(text, who=who, link=link)

    names = () if group is None else group.body.morph_names
    stance = "" if group is None else desk.stance(group, one)
    matter = of_case.get(one.file)
    told = TriageCase(
        file=one.file,
        sha256=one.sha256,
        garment=case.garment.source.name,
        body=case.body.name,
        method=case.garment.entry.method,
        note=shown(case.note),
        where=shown("" if said is None else said.where),
        known_by=known,
        shape="" if case.shape is None else case.shape.label,
        weights={} if case.shape is None else dict(case.shape.weights),
        stance=stance,
        outcome=seen.outcome,
        words=seen.words,
        place=seen.place,
        found_at=seen.label,
        found_weights={name: value for name, value in zip(names, seen.weights) if value},
        found_stance=seen.stance,
        matter="" if matter is None else matter.name,
        sure=sure.get(one.file, False),
        reason=" ".join(filter(None, (seen.reason, _odd_stance(said, stance)))),
        who=who if with_names else "",
        link=link if with_names else "",
    )
    return replace(told, answer=case_answer(told))


def _odd_stance(said: CaseComplaint | None, stance: str) -> str:
    """That the words for a stance mean none that the body is looked at in; else nothing."""
    if said is None or not said.stance or stance:
        return ""
    return f"No stance that the body is looked at in is meant by {said.stance!r}: it was looked for at rest."
