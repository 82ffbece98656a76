"""Materials beside an OBJ, as far as pictures show them: `mtllib`, `newmtl`, `Kd`, `map_Kd` [OBJMTL]."""

import math
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import quote

import numpy as np
from jaxtyping import Float

from dressform.errors import FileError
from dressform.formats.gltf.uris import fetch
from dressform.formats.guards.limits import read_bytes, text_limit

LIBRARY, NEW, COLOUR, PICTURE = "mtllib", "newmtl", "Kd", "map_Kd"
TAKES = {**dict.fromkeys(("-blendu", "-blendv", "-cc", "-clamp", "-bm", "-boost", "-texres", "-imfchan"), 1), "-mm": 2}
"""So many words follow each option of a picture; one to three numbers follow those of `MOVES`."""
MOVES = ("-o", "-s", "-t")


@dataclass(frozen=True)
class ObjMaterial:
    """A material of an OBJ.

    Attributes:
        colour: What the picture is multiplied by, red, green and blue, (3,); white where it is black, as exporters
            write it beside a picture.
        picture: Name of the picture as the file has it, or empty.
        offset: Added to texture coordinates, v upward, (2,).
        scale: They are multiplied by it before, (2,).
        is_clamped: Whether the picture ends at its edges.
    """

    colour: Float[np.ndarray, "3"]
    picture: str = ""
    offset: tuple[float, float] = (0.0, 0.0)
    scale: tuple[float, float] = (1.0, 1.0)
    is_clamped: bool = False


def obj_materials(path: Path) -> dict[str, ObjMaterial]:
    """Every material of the libraries that an OBJ names, by its name; libraries that are not beside it are left out."""
    found: dict[str, ObjMaterial] = {}
    for name in _libraries(path):
        data = beside_obj(path, name)
        if data is not None:
            found.update(_read(data.decode("utf-8", errors="replace")))
    return found


def beside_obj(path: Path, name: str) -> bytes | None:
    """Bytes of the file that an OBJ or its library names, in the OBJ's folder; None where it is not there.

    Exporters write the path that it had on their machine: then a file of the same name beside the OBJ is taken.
    """
    named = name.replace("\\", "/")
    for way in dict.fromkeys((named, named.rpartition("/")[2])):
        try:
            return fetch(path, quote(way), name)
        except (FileError, ValueError, OSError):
            continue
    return None


def _libraries(path: Path) -> list[str]:
    try:
        text = read_bytes(path, most=text_limit()).decode("utf-8", errors="replace")
    except FileError:
        return []
    return [line.partition(" ")[2].strip() for line in text.splitlines() if line.startswith(f"{LIBRARY} ")]


def _read(text: str) -> dict[str, ObjMaterial]:
    found: dict[str, ObjMaterial] = {}
    colours = dict[str, np.ndarray]()
    shown: dict[str, str] = {}
    name = ""
    for line in text.splitlines():
        key, _, rest = line.strip().replace("\t", " ").partition(" ")
        if key == NEW:
            name = rest.strip()
            colours.setdefault(name, np.ones(3))
        elif name and key == COLOUR:
            colours[name] = _colour(rest.split())
        elif name and key == PICTURE:
            shown[name] = rest.strip()
    for name, colour in colours.items():
        found[name] = _pictured(shown.get(name, ""), colour)
    return found


def _pictured(told: str, colour: Float[np.ndarray, "3"]) -> ObjMaterial:
    """The picture that a line names, behind its options; its name may hold spaces."""
    words, moved = told.split(" "), {"-o": (0.0, 0.0), "-s": (1.0, 1.0)}
    is_clamped = False
    while words and (words[0] in TAKES or words[0] in MOVES or not words[0]):
        option = words.pop(0)
        if option in MOVES:
            numbers = [number for number in map(_number, words[:3]) if number is not None]
            numbers = numbers[: _leading(words)]
            del words[: len(numbers)]
            if option in moved and numbers:
                moved[option] = (numbers[0], numbers[1] if len(numbers) > 1 else moved[option][1])
        elif option:
            is_clamped = is_clamped or (option == "-clamp" and words[:1] == ["on"])
            del words[: TAKES[option]]
    return ObjMaterial(colour, " ".join(words).strip(), moved["-o"], moved["-s"], is_clamped)


def _leading(words: list[str]) -> int:
    """How many of the first three words are numbers, up to the first that is none."""
    return next((count for count, word in enumerate(words[:3]) if _number(word) is None), min(3, len(words)))


def _colour(words: list[str]) -> Float[np.ndarray, "3"]:
    numbers = [_number(word) for word in words[:3]]
    if len(numbers) < 3 or None in numbers:
        return np.ones(3)
    colour = np.clip(np.array(numbers, dtype=np.float64), 0.0, 1.0)
    return colour if colour.any() else np.ones(3)


def _number(word: str) -> float | None:
    try:
        value = float(word)
    except ValueError:
        return None
    return value if math.isfinite(value) else None
