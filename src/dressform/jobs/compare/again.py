"""Garments of results files made again from their files, for pictures and pages; where that cannot be, why not."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from dressform.body.body import Body
from dressform.errors import DressformError
from dressform.fit.fit import Fit
from dressform.formats.guards.file_names import path_of
from dressform.formats.masks import STRENGTH_ATTRIBUTE
from dressform.formats.results.check_schema import StoredGarment, StoredResults
from dressform.formats.results.receipt_read import made_from
from dressform.garment.following import for_garment
from dressform.garment.methods import is_code
from dressform.jobs.check_report import following_again, intervals_of
from dressform.jobs.fit import fit
from dressform.jobs.load import load_body, load_garment
from dressform.jobs.provenance import content_of, source_of
from dressform.mesh.tree import Tree


@dataclass
class MadeAgain:
    """Fits of one side, by the name of the garment, and why others cannot be made.

    Attributes:
        fits: The fits.
        why: Why a garment cannot be made again, by its name; one sentence each.
    """

    fits: dict[str, Fit] = field(default_factory=dict)
    why: dict[str, str] = field(default_factory=dict)


def made_again(told: StoredResults, names: Collection[str]) -> MadeAgain:
    """Garments of results, read from their files and fitted as the results say; nobody's code is run.

    A file counts as the same where its hash is that in the results, or what is read from it has the same content.

    Args:
        told: The results.
        names: The garments that are wanted.
    """
    made = MadeAgain()
    try:
        body = _body(told)
    except (DressformError, OSError) as problem:
        made.why = dict.fromkeys(names, str(problem))
        return made
    tree = Tree(body.vertices, body.faces)
    for one in told.garments:
        if one.name not in names or one.name in made.fits:
            continue
        try:
            made.fits[one.name] = _fit(told, one, body, tree)
        except (DressformError, OSError) as problem:
            made.why[one.name] = str(problem)
    return made


def pairs_by_receipt(first: StoredResults, second: StoredResults) -> dict[str, str]:
    """Garments of the second results by those of the first, where a receipt says that one was fitted from the other.

    Only garments that the other side does not have by the same name are looked at.
    """
    ones, others = ({one.name: one for one in told.garments} for told in (first, second))
    found: dict[str, str] = {}
    for name, one in ones.items():
        for other_name, other in others.items():
            apart = name not in others and other_name not in ones and other_name not in found.values()
            if apart and name not in found and (_comes_of(one, other) or _comes_of(other, one)):
                found[name] = other_name
    return found


def _comes_of(fitted: StoredGarment, garment: StoredGarment) -> bool:
    """Whether the receipt beside a file says that it was made from the other."""
    source = fitted.source
    return bool(source.file and garment.source.sha256) and (
        made_from(path_of(source.file), fitted_sha256=source.sha256) == garment.source.sha256
    )


def _body(told: StoredResults) -> Body:
    settings: Mapping[str, str | None] = told.settings
    path = _found(told.body.source.file)
    body = load_body(
        path, base=settings.get("base"), morphs_dir=settings.get("morphs"), range_file=settings.get("range"),
        units=settings.get("units"), up=settings.get("up"), front=settings.get("front"),
    )  # fmt: skip
    content = content_of(body.vertices, body.faces, body.deltas, body.range.low, body.range.high)
    if not _is_same(path, told.body.source.sha256, content, told.body.content) or intervals_of(body) != told.body.range:
        raise DressformError(f"{path} is no longer the body that was checked.")
    return body


def _fit(told: StoredResults, one: StoredGarment, body: Body, tree: Tree) -> Fit:
    if is_code(one.method):
        raise DressformError(f"it follows by {one.method}, and results start nobody's code.")
    following = replace(following_again(told.settings, one.name), method=one.method)
    path = _found(one.source.file)
    mask = following.mask if isinstance(following.mask, str) else STRENGTH_ATTRIBUTE
    units, up = (told.settings.get(f"garment_{name}") for name in ("units", "up"))
    cloth = load_garment(path, beside=body, mask=mask, units=units, up=up)
    if not _is_same(path, one.source.sha256, content_of(cloth.vertices, cloth.faces), one.content):
        raise DressformError(f"{path} is no longer the file that was checked.")
    return fit(body, cloth, for_garment(following, cloth), tree=tree)


def _found(file: str) -> Path:
    """The path of a file that is there."""
    if not file:
        raise DressformError("it was made in memory, and has no file.")
    path = path_of(file)
    if not path.is_file():
        raise DressformError(f"{path} is not there any more.")
    return path


def _is_same(path: Path, sha256: str, content: str, told: str) -> bool:
    return bool(told and content == told) or (bool(sha256) and source_of(path).sha256 == sha256)
