"""Importing: a list of complaints made into cases, one file each; what cannot be read is told with its line."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from pathlib import Path

from dressform.body.body import Body
from dressform.body.measure import Measurer
from dressform.body.shapes import label_of
from dressform.body.tape_fit import TapeFit
from dressform.calls import called
from dressform.errors import ArgumentError, DressformError, FileError
from dressform.formats.case_file import CASE_SUFFIX, MAX_NOTE, Case, CaseComplaint, CaseFile, CaseGarment, CaseShape
from dressform.formats.case_file import case_bytes as _bytes
from dressform.formats.complaints_file import ComplaintRow, UnreadRow, read_complaints
from dressform.formats.guards.file_names import path_text, stem_of
from dressform.formats.load import body_file_of
from dressform.formats.out_folder import whole_folder
from dressform.garment.following import DEFAULT_FOLLOWING, Following
from dressform.garment.methods import FILE
from dressform.garment.methods import METHODS as LIFTED_METHODS
from dressform.jobs.case.columns import Columns, number_of, pairs_of, plain, read_columns
from dressform.jobs.case.files import sha256_of
from dressform.jobs.measure import find_shape
from dressform.jobs.progress import Progress, stage
from dressform.jobs.provenance import now, versions
from dressform.units import CM_PER_M, counted

SHORT, LONG = 500, 4096
"""Longest words and links that a case keeps."""
TOO_FAR = 0.2
"""A tape that the nearest shape misses by more of its length was read or written wrongly."""


@dataclass(frozen=True)
class ImportedComplaints:
    """What became of a list of complaints.

    Attributes:
        cases: The cases by path, in the order of the list.
        unread: Rows that could not be read.
        doubled: Lines that repeat an earlier one cell by cell, with that line: they were left out.
        notes: What was taken to be meant, one sentence each.
        columns: Columns that are not known; every case keeps what stands in them.
    """

    cases: Mapping[Path, Case]
    unread: tuple[UnreadRow, ...]
    doubled: Mapping[int, int]
    notes: tuple[str, ...]
    columns: tuple[str, ...]

    @property
    def line(self) -> str:
        """The outcome in one line."""
        told = [f"{counted(len(self.cases), 'case')} imported"]
        shapeless = sum(one.shape is None for one in self.cases.values())
        if shapeless:
            told.append(f"{shapeless} without a shape, to be looked for over the whole range")
        if self.doubled:
            told.append(f"{counted(len(self.doubled), 'row')} left out as said before")
        if self.unread:
            told.append(f"{counted(len(self.unread), 'row')} could not be read")
        return "; ".join(told) + "."


@dataclass
class _ImportDesk:
    """What rows are read against."""

    source: str
    bodies: Mapping[str, Body]
    base: str
    files: Mapping[str, CaseFile]
    columns: Columns
    following: Mapping[str, Following]
    made: str
    tapes: dict[tuple[str, tuple[tuple[str, float], ...]], TapeFit] = field(default_factory=dict)
    measurers: dict[str, Measurer] = field(default_factory=dict)
    body_files: dict[str, CaseFile] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)


@called("import_complaints", apart=("bodies", "garments"))
def import_complaints(
    path: Path | str,
    out: Path | str,
    *,
    bodies: Sequence[Body],
    garments: Sequence[Path],
    following: Mapping[str, Following] | None = None,
    progress: Progress | None = None,
) -> ImportedComplaints:
    """Make a case of every row of a list of complaints.

    Args:
        path: The list; see `read_complaints`.
        out: Folder that takes the cases, `LIST-LINE.case.json`.
        bodies: Base bodies of which complaints may speak, loaded from files; the first where a row names none.
        garments: Files of the garments that may be complained about; a row names one by the name of its file.
        following: How garments follow, by name; as by default where one is not named.
        progress: Told how far it has come.

    Raises:
        FileError: the list, a garment's file or the folder cannot be used.
        ArgumentError: no bodies or garments, two of one name, or a list without a column for garment or note.

    Proof: tests/jobs/case/test_import_complaints.py
    """
    path, out = Path(path), Path(out)
    told = read_complaints(path)
    desk = _desk(path, told.columns, bodies, garments, following or {})
    step = stage(progress, "reading complaints")
    cases: dict[Path, Case] = {}
    unread, doubled = list(told.unread), dict[int, int]()
    seen: dict[tuple[tuple[str, str], ...], int] = {}
    for number, row in enumerate(told.rows, start=1):
        if step is not None:
            step(number, len(told.rows))
        content = tuple(sorted(row.cells.items()))
        if content in seen:
            doubled[row.line] = seen[content]
            continue
        seen[content] = row.line
        try:
            case = _case(desk, row)
        except DressformError as problem:
            unread.append(UnreadRow(row.line, _bare(str(problem))))
            continue
        cases[out / f"{_slug(path)}-{row.line:04d}{CASE_SUFFIX}"] = case
    if cases:
        with whole_folder(out) as partial:
            for target, case in cases.items():
                (partial / target.name).write_bytes(_bytes(case))
    unread.sort(key=lambda one: one.line)
    notes = (*told.notes, *desk.columns.notes, *desk.notes)
    return ImportedComplaints(cases, tuple(unread), doubled, notes, desk.columns.others)


def _desk(
    path: Path,
    columns: Sequence[str],
    bodies: Sequence[Body],
    garments: Sequence[Path],
    following: Mapping[str, Following],
) -> _ImportDesk:
    """What the rows are read against, checked."""
    for what, given in (("bodies", bodies), ("garments", garments)):
        if not given:
            raise ArgumentError.of("case import", what, "one or more", "none", "Name what is complained about")
    by_name = {body.name: body for body in bodies}
    files = {stem_of(file): CaseFile(stem_of(file), path_text(file), sha256_of(file)) for file in garments}
    for what, names, count in (("bodies", by_name, len(bodies)), ("garments", files, len(garments))):
        if len(names) < count:
            observed = f"{count} with {len(names)} names"
            raise ArgumentError.of("case import", what, "of different names", observed, "Leave one of a name out")
    morphs = tuple(dict.fromkeys(name for body in bodies for name in body.morph_names))
    read = read_columns(columns, morphs)
    if "garment" not in read.known or not {"note", "where"} & set(read.known):
        told = ", ".join(columns)
        advice = "Call one column garment and another one note"
        raise FileError.of(path, "columns", f"are {told}: none says which garment, or what is wrong with it", advice)
    return _ImportDesk(path.name, by_name, bodies[0].name, files, read, following, now())


def _case(desk: _ImportDesk, row: ComplaintRow) -> Case:
    """A row as a case.

    Raises:
        DressformError: it names no garment of ours, says nothing, or its shape cannot be meant.
    """
    cells = {key: row.cells.get(column, "") for key, column in desk.columns.known.items()}
    source = _garment(desk, cells["garment"])
    note, where = cells.get("note", ""), cells.get("where", "")
    if not note and not where:
        raise ArgumentError.of("case import", "note", "one word at least", "an empty cell", "Say what is wrong")
    if len(note) > MAX_NOTE:
        rule = f"at most {MAX_NOTE:,} letters"
        raise ArgumentError.of("case import", "note", rule, f"{len(note):,}", "Shorten it")
    body = _body(desk, cells.get("body", ""))
    shape, tape = _shape(desk, row, body, cells)
    told = CaseComplaint(
        desk.source, row.line, where[:MAX_NOTE], cells.get("stance", "")[:SHORT], tape, cells.get("said", "")[:SHORT],
        cells.get("who", "")[:SHORT], cells.get("link", "")[:LONG],
        {name: row.cells[name][:MAX_NOTE] for name in desk.columns.others if name in row.cells},
    )  # fmt: skip
    garment = CaseGarment.of(source, _following(desk, source.name, cells.get("method", "")))
    return Case(garment, _body_file(desk, body), shape, desk.made, dict(versions()), note=note, complaint=told)


def _garment(desk: _ImportDesk, text: str) -> CaseFile:
    """The garment that is meant: by the name of its file, whatever the spelling of its joints and its ending."""
    wanted = plain(re.sub(r"\.(glb|gltf|obj|ply|dae)$", "", text.strip(), flags=re.IGNORECASE))
    by_name = {plain(name).replace(" ", ""): file for name, file in desk.files.items()}
    found = by_name.get(wanted.replace(" ", ""))
    if found is None:
        near = get_close_matches(wanted.replace(" ", ""), by_name, n=1, cutoff=0.7)
        rule = f"one of {', '.join(desk.files)}"
        advice = f"Perhaps {by_name[near[0]].name!r} is meant" if near else "Name one of these, or give its file too"
        raise ArgumentError.of("case import", "garment", rule, repr(text), advice)
    return found


def _body(desk: _ImportDesk, text: str) -> Body:
    """The base body that is meant: of that name, or the only one with that word in it; the first where none is."""
    if not text:
        return desk.bodies[desk.base]
    same = [body for name, body in desk.bodies.items() if plain(name) == plain(text)]
    named = same or [body for name, body in desk.bodies.items() if plain(text) in plain(name).split()]
    if len(named) == 1:
        return named[0]
    rule = f"one of {', '.join(desk.bodies)}"
    raise ArgumentError.of("case import", "body", rule, repr(text), "Name one of these, or leave it empty")


def _body_file(desk: _ImportDesk, body: Body) -> CaseFile:
    """The file of a body, hashed once."""
    if body.name not in desk.body_files:
        path = body_file_of(body).path
        desk.body_files[body.name] = CaseFile(body.name, path_text(path), sha256_of(path))
    return desk.body_files[body.name]


def _shape(
    desk: _ImportDesk, row: ComplaintRow, body: Body, cells: Mapping[str, str]
) -> tuple[CaseShape | None, dict[str, float]]:
    """The shape of a row, and the tape measures that it was found by; None where the row says nothing of it."""
    weights = pairs_of(cells["weights"], "weights") if cells.get("weights") else {}
    for column, morph in desk.columns.weights.items():
        if column in row.cells:
            weights[morph] = number_of(row.cells[column], column)
    tape = pairs_of(cells["tape"], "tape") if cells.get("tape") else {}
    for column, measure in desk.columns.tape.items():
        if column in row.cells:
            tape[measure] = number_of(row.cells[column], column)
    if weights:
        named = {_morph(body, name): value for name, value in weights.items()}
        vector = body.weights(named)
        desk.notes.extend(f"line {row.line}: {outside}" for outside in body.range.outside(vector))
        if tape:
            desk.notes.append(f"line {row.line}: Its weights were taken, not its tape measures.")
        return CaseShape(label_of(body.range, vector), {name: value for name, value in named.items() if value}), {}
    if not tape:
        return None, {}
    return _by_tape(desk, row.line, body, tape), tape


def _morph(body: Body, name: str) -> str:
    """The morph that is meant, however its joints and capitals are written."""
    for one in body.morph_names:
        if plain(one) == plain(name):
            return one
    near = get_close_matches(plain(name), [plain(one) for one in body.morph_names], n=1)
    rule = f"of the morphs {', '.join(body.morph_names)}"
    advice = f"Perhaps {near[0]!r} is meant" if near else "Use these names"
    raise ArgumentError.of("case import", "weights", rule, repr(name), advice)


def _by_tape(desk: _ImportDesk, line: int, body: Body, tape: Mapping[str, float]) -> CaseShape:
    """The reachable shape that a tape asks for."""
    key = (body.name, tuple(sorted(tape.items())))
    if key not in desk.tapes:
        measurer = desk.measurers.setdefault(body.name, Measurer(body))
        desk.tapes[key] = find_shape(body, dict(tape), measurer=measurer)
    found = desk.tapes[key]
    far = [one for one in found.rows if one.missed is not None and abs(one.missed) > TOO_FAR * abs(one.asked)]
    if far:
        told = ", ".join(f"{one.name} {one.asked * CM_PER_M:.0f} cm" for one in far)
        raise ArgumentError.of("case import", "tape", "within reach of the body", told, "Write lengths in cm")
    missed = [
        f"{one.name} by {abs(one.missed) * CM_PER_M:.1f} cm" if one.missed is not None else f"{one.name} altogether"
        for one in found.rows
        if not one.met
    ]
    if missed:
        desk.notes.append(f"line {line}: The nearest shape that can be reached misses {', '.join(missed)}.")
    named = {name: float(value) for name, value in zip(found.morph_names, found.weights) if value}
    return CaseShape(label_of(body.range, found.weights), named)


def _following(desk: _ImportDesk, garment: str, method: str) -> Following:
    """How the garment followed."""
    settled = desk.following.get(garment, DEFAULT_FOLLOWING)
    if not method:
        return settled
    if method not in (*LIFTED_METHODS, FILE):
        rule = f"one of {', '.join((*LIFTED_METHODS, FILE))}"
        raise ArgumentError.of("case import", "method", rule, repr(method), "Use one of these, or leave it empty")
    return replace(settled, method=method)


def _bare(message: str) -> str:
    """A message without the name of the function before it."""
    return re.sub(r"^[\w. ]+: (?=`)", "", message)


def _slug(path: Path) -> str:
    """The name of a list as part of the names of its cases."""
    return re.sub(r"[^A-Za-z0-9]+", "-", stem_of(path)).strip("-") or "complaints"
