"""The demo as files: bodies, how they move, their declared range, garments and the written ground truth."""

from collections.abc import Mapping
from importlib.resources import files
from pathlib import Path

from dressform.body.body import Body
from dressform.demo.body import make_demo_bodies, make_faulty_body
from dressform.demo.complaints import COMPLAINTS_FILE, complaints_text
from dressform.demo.moving import clips_of, stances_text
from dressform.demo.wardrobe import OUTFITS, DemoGarment, make_wardrobe
from dressform.demo.wardrobe_truth import TRUTH_FILE
from dressform.errors import FileError
from dressform.formats.atomic import write_bytes
from dressform.formats.gltf.materials import Material
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.moving.stances_file import stances_beside
from dressform.formats.range_file import range_beside, write_range

BODY_FILE = "body.glb"
FAULTY_BODY_FILE = "faulty_body.glb"
GARMENT_FOLDER = "garments"
LEVEL_FOLDER = "levels"
OUTFIT_FILE = "outfits.toml"

SKIN = Material("skin", (0.60, 0.34, 0.23, 1.0), roughness=0.75, is_double_sided=False)


def write_demo(
    folder: Path, *, bodies: Mapping[str, Body] | None = None, wardrobe: Mapping[str, DemoGarment] | None = None
) -> dict[str, Path]:
    """Write everything into a folder, which is made where it is missing; what is there already is replaced.

    Args:
        folder: Where to.
        bodies: The bodies, if they are at hand; else they are made.
        wardrobe: The garments, if they are at hand; else they are made.

    Returns:
        Path of every file, by the garment's name, or `body`, `faulty_body`, `outfits`, `truth`, `complaints`.
        Beside `body`, which holds all base bodies, each has a file of its own, for tools that open all scenes at once.

    Raises:
        FileError: the folder cannot be made or a file cannot be written.
    """
    bodies = make_demo_bodies() if bodies is None else bodies
    wardrobe = make_wardrobe(bodies) if wardrobe is None else wardrobe
    try:
        (folder / GARMENT_FOLDER).mkdir(parents=True, exist_ok=True)
    except OSError as problem:
        advice = "Name a folder that can be made"
        raise FileError.of(folder, "", f"cannot be made ({problem.strerror})", advice) from problem
    faulty = make_faulty_body()
    written = {"body": folder / BODY_FILE, "faulty_body": folder / FAULTY_BODY_FILE, "truth": folder / TRUTH_FILE}
    written["complaints"] = folder / COMPLAINTS_FILE
    alone = [(folder / f"{body.name}.glb", [body]) for body in bodies.values()] if len(bodies) > 1 else []
    for path, shown in ((written["body"], list(bodies.values())), (written["faulty_body"], [faulty]), *alone):
        save_body(shown, path, material=SKIN, clips={body.name: clips_of(body) for body in shown})
        write_bytes(range_beside(path), write_range(shown[0].range))
        write_bytes(stances_beside(path), stances_text())
    write_bytes(written["complaints"], complaints_text())
    write_bytes(written["truth"], files("dressform.demo").joinpath(TRUTH_FILE).read_bytes())
    return written | write_wardrobe(folder, wardrobe)


def write_wardrobe(folder: Path, wardrobe: Mapping[str, DemoGarment]) -> dict[str, Path]:
    """Write garments, and which of them are worn together, into the folder of `write_demo`; returns every path."""
    written = {"outfits": folder / OUTFIT_FILE}
    for name, made in wardrobe.items():
        written[name] = folder / GARMENT_FOLDER / f"{name}.glb"
        save_garment(made.garment, written[name], uv=made.corner_uv, materials=made.materials)
    write_bytes(written["outfits"], _outfits(set(wardrobe)).encode())
    return written


def write_levels(folder: Path, levels: Mapping[str, DemoGarment]) -> dict[str, Path]:
    """Write coarser levels of detail into a folder of their own beside the garments; returns every path."""
    (folder / LEVEL_FOLDER).mkdir(parents=True, exist_ok=True)
    written = {name: folder / LEVEL_FOLDER / f"{name}.glb" for name in levels}
    for name, made in levels.items():
        save_garment(made.garment, written[name], uv=made.corner_uv, materials=made.materials)
    return written


def _outfits(written: set[str]) -> str:
    """What is worn together, of the garments that were written, as the TOML that `dressform outfit` reads."""
    lines = []
    for name, layers in OUTFITS.items():
        if written.issuperset(layers):
            paths = ", ".join(f'"{GARMENT_FOLDER}/{layer}.glb"' for layer in layers)
            lines += [f'[outfit."{name}"]', f"layers = [{paths}]", ""]
    return "\n".join(lines)
