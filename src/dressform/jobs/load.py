"""Bodies, garments and fitted garments from files; each knows the file that it came from."""

from dataclasses import replace
from pathlib import Path

from dressform.body.body import Body
from dressform.calls import called
from dressform.fit.fit import Fit
from dressform.formats import load
from dressform.formats.frames.plausible import bodies_beside, judge_body, judge_garment
from dressform.formats.gltf import fit_file
from dressform.formats.masks import STRENGTH_ATTRIBUTE
from dressform.garment.following import DEFAULT_FOLLOWING, Following
from dressform.garment.garment import Garment
from dressform.mesh.tree import Tree


@called("load_body")
def load_body(
    path: Path | str,
    *,
    base: str | None = None,
    morphs_dir: Path | str | None = None,
    range_file: Path | str | None = None,
    units: str | None = None,
    up: str | None = None,
    front: str | None = None,
) -> Body:
    """Read one base body of a body file.

    Args:
        path: `.glb`, `.gltf`, `.obj`, `.ply`, `.dae` or `.usd`, `.usda`, `.usdc`, `.usdz`.
        base: Name of a base body where the file holds several; the one that it shows first where left out.
        morphs_dir: Folder of meshes, one per morph; `morphs` beside an OBJ where left out.
        range_file: TOML with the weights a wearer may reach; `BODY.range.toml` beside the body where left out.
        units: "m", "cm", "mm" or "in"; detected if omitted.
        up: "x", "y" or "z", with "-" before it where the axis points down; detected if omitted.
        front: "z", "-z", "x" or "-x", where the front points once +Y is up; detected from the feet if omitted.

    Raises:
        FileError: the file cannot be read as a body, or holds two that would be read as one.
        UnitsError: its size fits no unit, or several.
        ArgumentError: `base`, `units`, `up` or `front` names nothing known; the valid names are listed.
    """
    made = load.load_body(
        path, base=base, morphs_dir=morphs_dir, range_file=range_file, units=units, up=up, front=front
    )
    others = load.other_bases(made) if base is None else ()
    also = (
        (
            f"The file holds {', '.join(others)} too; name one with --base (`base=` in Python) to read it. Modelling "
            "tools open them all at once, on one armature: for those write each body to a file of its own.",
        )
        if others
        else bodies_beside(made)
    )
    return _judged(made.body, also)


@called("load_bodies")
def load_bodies(
    path: Path | str,
    *,
    morphs_dir: Path | str | None = None,
    range_file: Path | str | None = None,
    units: str | None = None,
    up: str | None = None,
    front: str | None = None,
) -> tuple[Body, ...]:
    """Read every base body of a body file. Arguments and errors are those of `load_body`."""
    made = load.load_bodies(path, morphs_dir=morphs_dir, range_file=range_file, units=units, up=up, front=front)
    return tuple(_judged(one.body) for one in made)


def _judged(body: Body, also: tuple[str, ...] = ()) -> Body:
    """The body, with a note of each thing about it that may not be meant."""
    notes = (*judge_body(body, needs_morphs=False), *also)
    return replace(body, notes=(*body.notes, *notes)) if notes else body


@called("load_garment")
def load_garment(
    path: Path | str,
    *,
    beside: Body | None = None,
    mask: str = STRENGTH_ATTRIBUTE,
    units: str | None = None,
    up: str | None = None,
    front: str | None = None,
) -> Garment:
    """Read a garment, modelled on a base body; it is named after its file.

    Args:
        path: `.glb`, `.gltf`, `.obj`, `.ply`, `.dae` or `.usd`, `.usda`, `.usdc`, `.usdz`.
        beside: The body it is worn on; tells the units and axes that the file leaves open.
        mask: Per-vertex attribute or colour channel that says how strongly each vertex follows.
        units: "m", "cm", "mm" or "in"; detected if omitted.
        up: "x", "y" or "z", with "-" before it where the axis points down; detected if omitted.
        front: "z", "-z", "x" or "-x", where the front points once +Y is up; as in the body's file if omitted.

    Raises:
        FileError: the file cannot be read as a garment, or cannot be meant: it is the body, or holds it.
        UnitsError: its size fits no unit, or several.
        ArgumentError: `units`, `up` or `front` names nothing known; the valid names are listed.
    """
    made = load.load_garment(path, units=units, up=up, front=front, strength=mask, beside=beside).garment
    return made if beside is None else judged_garment(beside, made)


def judged_garment(body: Body, garment: Garment, *, tree: Tree | None = None) -> Garment:
    """The garment, with a note of each thing about it beside this body that may not be meant.

    Raises:
        FileError: it cannot be meant for this body.
    """
    notes = [note for note in judge_garment(body, garment, tree=tree) if note not in garment.notes]
    return replace(garment, notes=(*garment.notes, *notes)) if notes else garment


@called("load_fit")
def load_fit(path: Path | str, body: Body, following: Following = DEFAULT_FOLLOWING) -> Fit:
    """Read a fitted garment back: the morph targets that an engine plays.

    Args:
        path: A file that `save` wrote.
        body: The body that it was fitted to.
        following: How it was made to follow, where that is known; the file does not say.

    Raises:
        FileError: the file cannot be read, or lacks the target of a morph.
    """
    return fit_file.load_fit(path, body, following)
