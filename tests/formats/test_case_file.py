"""A case survives its file; damaged and foreign files are refused with field and next step."""

import base64
import json
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dressform.errors import ArgumentError, FileError
from dressform.faults.results import Place
from dressform.formats import case_file
from dressform.formats.case_file import (
    CASE_FORMAT,
    Case,
    CaseFault,
    CaseFile,
    CaseGarment,
    CasePose,
    CaseShape,
    CaseView,
    case_bytes,
    picture_text,
    read_case,
    write_case,
)
from dressform.garment.following import Following

PNG = case_file.PNG_START + b"rest of it"
SHA = "0123456789abcdef" * 4


def case(**changes: Any) -> Case:
    oilskin = CaseGarment.of(
        CaseFile("oilskin", "garments/oilskin.glb", SHA),
        Following(method="surface", strength=0.5, margin_mm=3.0, mask=np.linspace(0, 1, 7)),
        repaired=True,
    )
    whole = Case(
        garment=oilskin,
        body=CaseFile("woman", "body.glb", SHA),
        shape=CaseShape("belly=1 hips=0.5", {"belly": 1.0, "hips": 0.5}),
        made="2026-11-25T15:00:00+00:00",
        versions={"dressform": "0.1.0"},
        pose=CasePose("walk", 0.25, {"upper_arm_l": (0.0, 0.0, 0.0, 1.0)}),
        view=CaseView((0.0, 1.0, 3.0), (0.0, 1.0, 0.0), layer="exposed"),
        place=Place(
            position_m=(0.1, 1.0, 0.2),
            vertex=77,
            region="belly",
            part="front",
            side="front left",
            height_mm=1020.0,
            fault="exposed",
            severity="grave",
            value=12.5,
            unit="cm²",
        ),
        cause="rigid_patch",
        owner="body",
        faults={"exposed": CaseFault(12.5, "cm²", "grave"), "pucker": CaseFault(0.003, "", "clean")},
        others=(CaseGarment(CaseFile("clogs", "clogs.glb", SHA)),),
        note="Skin shows over the belt, ‘twice’.\nSee the picture.",
        picture=picture_text(PNG),
    )
    return msgspec.structs.replace(whole, **changes)


def stored(folder: Path, **changes: Any) -> Path:
    """A case file with some fields changed, or taken away where None is given as `...`."""
    tree = json.loads(case_bytes(case()))
    for key, value in changes.items():
        at = tree
        *outer, last = key.split("__")
        for name in outer:
            at = at[name]
        if value is ...:
            del at[last]
        else:
            at[last] = value
    path = folder / "complaint.case.json"
    path.write_text(json.dumps(tree), encoding="utf-8")
    return path


def test_a_case_survives_its_file(tmp_path: Path) -> None:
    path = tmp_path / "complaint.case.json"
    write_case(path, case())
    back = read_case(path)
    assert back == case()
    assert back.png == PNG
    assert json.loads(path.read_text(encoding="utf-8"))["format"] == CASE_FORMAT


def test_what_is_not_known_may_be_left_out(tmp_path: Path) -> None:
    bare = Case(CaseGarment(CaseFile("a", "a.glb", SHA)), CaseFile("b", "b.glb", SHA), CaseShape("base", {}), "now")
    path = tmp_path / "bare.case.json"
    write_case(path, bare)
    assert read_case(path) == bare
    assert read_case(path).png == b""


def test_the_settings_of_a_garment_come_back_with_their_paint(tmp_path: Path) -> None:
    path = tmp_path / "complaint.case.json"
    write_case(path, case())
    following = read_case(path).garment.following
    assert following.mask == pytest.approx(np.linspace(0, 1, 7), abs=1e-7)
    assert (following.strength, following.margin_mm, following.method) == (0.5, 3.0, "surface")
    assert read_case(path).others[0].following == Following()


numbers = st.floats(-1e6, 1e6)
words = st.text(st.characters(exclude_categories=("Cs",)), max_size=30)


@given(
    note=words,
    weights=st.dictionaries(words, numbers, max_size=4),
    place=st.none() | st.tuples(numbers, numbers, numbers),
    time=numbers,
    png=st.binary(max_size=40),
)
def test_any_note_shape_and_picture_survive(
    tmp_path_factory: pytest.TempPathFactory,
    note: str,
    weights: dict[str, float],
    place: tuple[float, float, float] | None,
    time: float,
    png: bytes,
) -> None:
    one = case(
        note=note,
        shape=CaseShape("s", weights),
        place=None if place is None else Place(position_m=place),
        pose=CasePose("walk", time),
        picture=picture_text(case_file.PNG_START + png),
    )
    path = tmp_path_factory.mktemp("case") / "one.case.json"
    write_case(path, one)
    assert read_case(path) == one


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"format": ...}, "format: is 'None'. This program reads dressform-case/2"),
        ({"format": "dressform-case/1"}, "format: is 'dressform-case/1'"),
        ({"garment": ...}, "missing required field garment"),
        ({"colour": "red"}, "unknown field colour"),
        ({"body__sha256": "12"}, r"body\.sha256: Expected str matching regex"),
        ({"shape__weights__belly": "much"}, r"shape\.weights.*Expected float, got str"),
        ({"shape__weights__belly": 1e300}, r"shape\.weights.*Expected float <= "),
        ({"view__position_m": [0, 1]}, r"view\.position_m: Expected array of length 3"),
        ({"place__vertex": -2}, r"place\.vertex: Expected int >= -1"),
        ({"note": "x" * 20_001}, "note: Expected str of length <= 20000"),
        ({"picture": "?"}, "picture: is not base64"),
        ({"picture": base64.b64encode(b"GIF89a").decode()}, "picture: is no PNG"),
        ({"garment__following__painted": "abc"}, r"garment\.following\.painted: is not base64 of 32-bit floats"),
        ({"garment__following__painted": "AAA="}, r"garment\.following\.painted: is not base64 of 32-bit floats"),
        (
            {"garment__following__painted": base64.b64encode(np.array([2.0], "<f4").tobytes()).decode()},
            r"painted: holds numbers outside \[0, 1\]",
        ),
        ({"garment__following__method": "magic"}, r"garment\.following\.method: is 'magic'"),
        ({"garment__following__strength": 3}, r"garment\.following\.strength: Expected float <= 1.0"),
    ],
)
def test_what_does_not_fit_is_refused_with_its_field(tmp_path: Path, changes: dict[str, Any], says: str) -> None:
    with pytest.raises(FileError, match=says):
        read_case(stored(tmp_path, **changes))


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "is empty"),
        (b"PK\x03\x04", "is not JSON"),
        (b"[1, 2]", "is no JSON object"),
        (b"[" * 100_000, "is no JSON object"),
        (b'{"format": ' + b"[" * 100_000, "is not JSON"),
        (b'{"format": "dressform-case/2", "note": "\xff"}', "is not JSON"),
        (case_bytes(case())[:-40], "is not JSON"),
    ],
)
def test_what_is_no_case_is_refused(tmp_path: Path, data: bytes, says: str) -> None:
    path = tmp_path / "complaint.case.json"
    path.write_bytes(data)
    with pytest.raises(FileError, match=says):
        read_case(path)


def test_a_case_larger_than_any_case_is_not_even_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(case_file, "MAX_CASE_BYTES", 100)
    with pytest.raises(FileError, match="more than the 100 read"):
        read_case(stored(tmp_path))


def test_a_picture_that_is_too_large_is_refused_on_both_sides(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = stored(tmp_path)
    monkeypatch.setattr(case_file, "MAX_PICTURE_BYTES", 10)
    with pytest.raises(FileError, match="picture: has 18 bytes, more than the 10 read"):
        read_case(path)
    with pytest.raises(ArgumentError, match="`png` must be at most 10 bytes, got 18"):
        picture_text(PNG)


def test_a_picture_of_another_kind_is_refused() -> None:
    with pytest.raises(ArgumentError, match="`png` must be a PNG, got b'GIF89a"):
        picture_text(b"GIF89a..")


def test_every_damaged_byte_is_refused_or_read_never_a_crash(tmp_path: Path) -> None:
    rng = np.random.default_rng(5)
    whole = bytearray(case_bytes(case()))
    path = tmp_path / "complaint.case.json"
    refused = 0
    for _ in range(300):
        damaged = whole.copy()
        damaged[int(rng.integers(len(whole)))] = int(rng.integers(256))
        path.write_bytes(damaged)
        try:
            read_case(path)
        except FileError:
            refused += 1
    assert refused > 100


def test_case_that_could_not_be_read_again_is_not_written(tmp_path: Path) -> None:
    far = case(view=CaseView((1e308, 0.0, 0.0), (0.0, 1.0, 0.0)))
    with pytest.raises(ArgumentError, match="case_bytes: `case` must be as `read_case` takes it"):
        write_case(tmp_path / "far.case.json", far)
    assert not any(tmp_path.iterdir())
