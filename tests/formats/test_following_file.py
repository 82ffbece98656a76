"""Following settings survive their file; what does not fit is refused with file, key and next step."""

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from dressform.errors import FileError
from dressform.formats.following_file import following_toml, read_following, write_following
from dressform.garment.following import EASES, JOINT_WEIGHTS, METHODS, Following

HEAD = 'format = "dressform-following/1"\n'

shares = st.floats(0.0, 1.0)
names = st.text(st.characters(exclude_categories=("Cs",)), min_size=1, max_size=12)
fields = st.fixed_dictionaries(
    {
        "method": st.sampled_from(METHODS),
        "ease": st.sampled_from(EASES),
        "rotation_share": st.none() | shares,
        "strength": shares,
        "parts": st.dictionaries(names, shares, max_size=3),
        "mask": st.none() | names,
        "falloff_mm": st.floats(0.0, 500.0),
        "hard": st.lists(names, max_size=3, unique=True).map(tuple),
        "margin_mm": st.floats(1e-3, 100.0),
        "joint_weights": st.sampled_from(JOINT_WEIGHTS),
        "part_joints": st.dictionaries(st.sampled_from(["cuff", "buckle"]), st.sampled_from(["", "hand_l"])),
    }
)


def written(folder: Path, text: str) -> Path:
    path = folder / "following.toml"
    path.write_text(text, encoding="utf-8")
    return path


@given(chosen=st.dictionaries(names, fields, max_size=3))
def test_settings_survive_their_file(tmp_path_factory: pytest.TempPathFactory, chosen: dict) -> None:
    path = tmp_path_factory.mktemp("following") / "following.toml"
    garments = {name: Following(**values) for name, values in chosen.items()}
    write_following(path, garments)
    back = read_following(path)
    assert list(back) == list(garments)
    assert back == garments


def test_a_painted_strength_lies_beside_the_file(tmp_path: Path) -> None:
    paint = np.random.default_rng(3).random(500)
    path = tmp_path / "keepers.toml"
    files = write_following(path, {"oil skin": Following(mask=paint), "clogs": Following()})
    assert [file.name for file in files] == ["keepers.toml", "keepers.1-oil-skin.npy"]
    assert read_following(path)["oil skin"].mask == pytest.approx(paint, abs=1e-7)
    assert read_following(path)["clogs"] == Following()


def test_names_that_look_alike_in_a_file_name_keep_their_own_paint(tmp_path: Path) -> None:
    path = tmp_path / "f.toml"
    write_following(path, {"a b": Following(mask=np.zeros(3)), "a-b": Following(mask=np.ones(3))})
    back = read_following(path)
    assert back["a b"].mask.tolist() == [0.0, 0.0, 0.0]
    assert back["a-b"].mask.tolist() == [1.0, 1.0, 1.0]


def test_the_text_is_what_a_person_would_write() -> None:
    one = Following(strength=0.9, falloff_mm=20.0, hard=("toggles",), parts={"collar": 0.5}, margin_mm=2.0)
    assert following_toml({"oilskin": one}, {}) == (
        'format = "dressform-following/1"\n\n[garment.oilskin]\nstrength = 0.9\nfalloff_mm = 20.0\n'
        'hard = [\n    "toggles",\n]\n\n[garment.oilskin.parts]\ncollar = 0.5\n'
    )


def test_whole_numbers_may_be_written_without_a_point(tmp_path: Path) -> None:
    path = written(tmp_path, HEAD + "[garment.coat]\nstrength = 1\nfalloff_mm = 30\nparts = {collar = 0}\n")
    assert read_following(path)["coat"] == Following(strength=1.0, falloff_mm=30.0, parts={"collar": 0.0})


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("format = [", "is not TOML"),
        ("[garment.coat]\n", "format: is missing. Write format ="),
        ('format = "dressform-following/2"\n', "format: is 'dressform-following/2'"),
        (HEAD + "[garments.coat]\n", r"garments: is no key here. Use format, garment"),
        (
            HEAD + "[garment.coat]\nstrenght = 1\n",
            r"garment\.coat\.strenght: is no key here. Use method, ease, rotation_share, strength",
        ),
        (HEAD + "[garment.coat]\nstrength = 1.5\n", r"garment\.coat\.strength: Expected float <= 1.0"),
        (HEAD + "[garment.coat]\nstrength = nan\n", r"garment\.coat\.strength: Expected float"),
        (HEAD + "[garment.coat]\nfalloff_mm = -1\n", r"garment\.coat\.falloff_mm: Expected float >= 0"),
        (HEAD + "[garment.coat]\nmargin_mm = 0\n", r"garment\.coat\.margin_mm: Expected float > 0"),
        (HEAD + '[garment.coat]\nhard = "toggles"\n', r"garment\.coat\.hard: Expected array, got str"),
        (HEAD + "[garment.coat.parts]\ncollar = 2\n", r"garment\.coat\.parts: Expected float <= 1.0"),
        (HEAD + '[garment.coat]\nlift = "smooth"\n', r"garment\.coat\.lift: is no key here. Use method"),
        (HEAD + '[garment.coat]\nmethod = "magic"\n', r"garment\.coat\.method: is 'magic'. Use one of nearest"),
        (HEAD + '[garment.coat]\njoint_weights = "best"\n', r"joint_weights: is 'best'. Use one of own, lifted"),
        (HEAD + '[garment.coat]\nease = "lose"\n', r"garment\.coat\.ease: is 'lose'. Use one of keep, scale"),
        (HEAD + '[garment.coat]\npainted = "no.npy"\n', "no.npy: there is no such file"),
        (HEAD + '[garment.coat]\npainted = "../no.npy"\n', "not the plain name of a file beside it"),
        (HEAD + '[garment.coat]\npainted = "following.toml"\n', r"painted: following\.toml is no \.npy file"),
    ],
)
def test_what_does_not_fit_is_refused_with_its_key(tmp_path: Path, text: str, says: str) -> None:
    with pytest.raises(FileError, match=says):
        read_following(written(tmp_path, text))


@pytest.mark.parametrize(
    ("paint", "says"),
    [
        (np.array([0.5, 1.5]), r"outside \[0, 1\]"),
        (np.array([0.5, np.nan]), r"outside \[0, 1\]"),
        (np.zeros((2, 2)), "holds no list of numbers"),
        (np.array(["a"]), "holds no list of numbers"),
    ],
)
def test_paint_that_is_no_strength_is_refused(tmp_path: Path, paint: np.ndarray, says: str) -> None:
    np.save(tmp_path / "paint.npy", paint)
    with pytest.raises(FileError, match=says):
        read_following(written(tmp_path, HEAD + '[garment.coat]\npainted = "paint.npy"\n'))


def test_paint_that_would_run_code_is_refused(tmp_path: Path) -> None:
    np.save(tmp_path / "paint.npy", np.array([object()]), allow_pickle=True)
    with pytest.raises(FileError, match=r"is no \.npy file of numbers"):
        read_following(written(tmp_path, HEAD + '[garment.coat]\npainted = "paint.npy"\n'))


def test_a_folder_that_is_missing_is_made_and_one_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    write_following(tmp_path / "new" / "following.toml", {"coat": Following()})
    assert "coat" in read_following(tmp_path / "new" / "following.toml")
    with pytest.raises(FileError, match="cannot be written"):
        write_following(tmp_path / "new" / "following.toml" / "following.toml", {"coat": Following()})
