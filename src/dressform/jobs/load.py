"""Bodies, garments and fitted garments from files; each knows the file that it came from."""

from pathlib import Path

from dressform.body.body import Body
from dressform.fit.fit import Fit
from dressform.formats import load
from dressform.formats.gltf import fit_file
from dressform.formats.masks import STRENGTH_ATTRIBUTE
from dressform.garment.following import DEFAULT_FOLLOWING, Following
from dressform.garment.garment import Garment


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
        path: `.glb`, `.gltf`, `.obj`, `.ply` or `.dae`.
        base: Name of a base body where the file holds several; the one that it shows first where left out.
        morphs_dir: Folder of meshes, one per morph; `morphs` beside an OBJ where left out.
        range_file: TOML with the weights a wearer may reach; `BODY.range.toml` beside the body where left out.
        units: "m", "cm", "mm" or "in"; detected if omitted.
        up: "x", "y" or "z", with "-" before it where the axis points down; detected if omitted.
        front: "z", "-z", "x" or "-x", where the front points once +Y is up; detected from the feet if omitted.

    Raises:
        FileError: the file cannot be read as a body. UnitsError: its size fits no unit, or several.
        ArgumentError: `base`, `units`, `up` or `front` names nothing known; the valid names are listed.
    """
    made = load.load_body(
        path, base=base, morphs_dir=morphs_dir, range_file=range_file, units=units, up=up, front=front
    )
    return made.body


def load_garment(
    path: Path | str,
    *,
    beside: Body | None = None,
    mask: str = STRENGTH_ATTRIBUTE,
    units: str | None = None,
    up: str | None = None,
) -> Garment:
    """Read a garment, modelled on a base body; it is named after its file.

    Args:
        path: `.glb`, `.gltf`, `.obj`, `.ply` or `.dae`.
        beside: The body it is worn on; tells the units and axes that the file leaves open.
        mask: Per-vertex attribute or colour channel that says how strongly each vertex follows.
        units: "m", "cm", "mm" or "in"; detected if omitted.
        up: "x", "y" or "z"; detected if omitted.

    Raises:
        FileError: the file cannot be read as a garment. UnitsError: its size fits no unit, or several.
        ArgumentError: `units` or `up` names nothing known; the valid names are listed.
    """
    return load.load_garment(path, units=units, up=up, strength=mask, beside=beside).garment


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
