"""Which garment on which body each case is about, found among the files of today, and made ready to be measured."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from dressform.body.body import Body
from dressform.body.stance import Stance
from dressform.errors import DressformError
from dressform.fit.fit import Fit
from dressform.formats.case_file import Case
from dressform.formats.frames.units import AxisOptions
from dressform.formats.guards.file_names import stem_of
from dressform.formats.masks import STRENGTH_ATTRIBUTE
from dressform.garment.following import for_garment
from dressform.garment.methods import SMOOTH
from dressform.jobs.case.files import find_file, sha256_of
from dressform.jobs.case.seeing import case_stance
from dressform.jobs.fit import fit
from dressform.jobs.load import load_garment
from dressform.jobs.repair import repair
from dressform.jobs.stances import find_stances


@dataclass(frozen=True)
class ReadCase:
    """A case with its file.

    Attributes:
        file: Its path below the folder, for reports.
        path: Its path.
        sha256: Hash of its content.
        case: The case.
    """

    file: str
    path: Path
    sha256: str
    case: Case


@dataclass(frozen=True)
class GarmentCases:
    """Cases of one garment on one body that followed in one way.

    Attributes:
        key: Name of it, unique.
        garment: The garment's file today.
        sha256: Hash of that file.
        body: The base body.
        cases: The cases.
        posed: How the body stood, by the file of the case, where the case itself holds a pose.
    """

    key: str
    garment: Path
    sha256: str
    body: Body
    cases: list[ReadCase] = field(default_factory=list)
    posed: dict[str, Stance] = field(default_factory=dict)


def grouped(
    cases: Sequence[ReadCase], bodies: Sequence[Body], garments: Sequence[Path]
) -> tuple[list[GarmentCases], dict[str, str]]:
    """The cases by garment, body and following.

    A garment's file is the one of its name among those given, else the one that the case names, wherever it is found.

    Returns:
        The groups, and by the file of a case why it belongs to none.
    """
    by_name = {stem_of(path): path for path in garments}
    of_body = {body.name: body for body in bodies}
    hashes: dict[Path, str] = {}
    groups: dict[tuple[str, ...], GarmentCases] = {}
    left: dict[str, str] = {}
    for one in cases:
        source, base = one.case.garment.source, one.case.body.name
        body = of_body.get(base) or (bodies[0] if len(bodies) == 1 else None)
        if body is None:
            left[one.file] = f"There is no base body {base!r} among {', '.join(of_body)}. Name its file with --body."
            continue
        try:
            path = by_name.get(source.name) or find_file(one.path, source, "garment").path
            if path not in hashes:
                hashes[path] = sha256_of(path)
            stance = case_stance(body, one.case.pose)
            if one.case.shape is not None:
                body.weights(one.case.shape.weights)
        except DressformError as problem:
            left[one.file] = str(problem)
            continue
        entry, repaired = one.case.garment.entry, one.case.garment.repaired
        key = (str(path), body.name, repr(entry), str(repaired))
        if key not in groups:
            groups[key] = GarmentCases(
                _name(one.case, body, [other.key for other in groups.values()]), path, hashes[path], body
            )
        groups[key].cases.append(one)
        if stance is not None:
            groups[key].posed[one.file] = renamed(stance, one.file)
    return list(groups.values()), left


def made_fits(groups: Sequence[GarmentCases], told: AxisOptions) -> tuple[dict[str, Fit], dict[str, str]]:
    """The fit of each group by its key, and why others cannot be made."""
    fits: dict[str, Fit] = {}
    failed: dict[str, str] = {}
    for group in groups:
        source = group.cases[0].case.garment
        mask = source.following.mask
        try:
            cloth = load_garment(
                group.garment, beside=group.body, units=told.units, up=told.up,
                mask=mask if isinstance(mask, str) else STRENGTH_ATTRIBUTE,
            )  # fmt: skip
            made = fit(group.body, cloth, for_garment(source.following, cloth))
            fits[group.key] = repair(made).fit if source.repaired else made
        except DressformError as problem:
            failed[group.key] = str(problem)
    return fits, failed


def stances_of(bodies: Sequence[Body], asked: Path | str | None) -> Mapping[str, tuple[Stance, ...]]:
    """The stances of each body by its name; none of bodies without joints."""
    found = {}
    for body in bodies:
        has_joints = body.skeleton is not None and body.skin is not None
        found[body.name] = find_stances(body, asked).stances if has_joints else ()
    return found


def renamed(stance: Stance, file: str) -> Stance:
    """The stance of a case by a name that no other has."""
    return replace(stance, name=f"the pose of {file}", pose=f"the pose of {file}")


def _name(case: Case, body: Body, taken: Iterable[str]) -> str:
    """`guernsey on woman`, with the method where it is not the usual one, and a number where that is not enough."""
    method = case.garment.entry.method
    name = f"{case.garment.source.name} on {body.name}" + (f" ({method})" if method != SMOOTH else "")
    known = set(taken)
    number, found = 1, name
    while found in known:
        number += 1
        found = f"{name} {number}"
    return found
