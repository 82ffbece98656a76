"""Folders and patterns become garments, each once and with a name of its own."""

from pathlib import Path

import pytest

from dressform.errors import FileError
from dressform.jobs.wardrobe.files import TOGETHER, contents_of, is_wardrobe, wardrobe_files


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in ("a/coat.glb", "b/coat.glb", "b/hat.obj", "b/hat.glb", "b/.hidden.glb", "b/notes.txt", "body.glb",
                 "morphs/belly.obj"):  # fmt: skip
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(name.encode())
    return tmp_path


def test_a_folder_stands_for_the_garments_below_it_without_the_body_hidden_files_and_morphs(folder: Path) -> None:
    found = wardrobe_files([folder], body=folder / "body.glb")
    assert [str(one.path.relative_to(folder)) for one in found] == [
        "a/coat.glb",
        "b/coat.glb",
        "b/hat.glb",
        "b/hat.obj",
    ]


def test_names_are_stems_with_as_many_folders_as_tell_them_apart(folder: Path) -> None:
    assert [one.name for one in wardrobe_files([folder / "a"])] == ["coat"]
    both = wardrobe_files([folder / "a", folder / "b"])
    assert [one.name for one in both][:2] == ["a/coat", "b/coat"]
    assert len({one.name for one in both}) == 4


def test_a_pattern_that_the_shell_left_alone_is_followed_and_a_file_comes_once(folder: Path) -> None:
    found = wardrobe_files([folder / "b" / "*.glb", folder / "b" / "coat.glb", folder / "**" / "coat.glb"])
    assert sorted(one.path.name for one in found) == ["coat.glb", "coat.glb", "hat.glb"]


@pytest.mark.parametrize(("asked", "said"), [("*.ply", "meets no garment"), ("empty", "holds no garment")])
def test_what_stands_for_no_garment_is_refused(folder: Path, asked: str, said: str) -> None:
    (folder / "empty").mkdir()
    with pytest.raises(FileError, match=said):
        wardrobe_files([folder / asked])


def test_many_files_folders_and_patterns_are_a_wardrobe_and_a_few_files_are_not(folder: Path) -> None:
    few = [folder / "a" / "coat.glb"]
    assert not is_wardrobe(few)
    assert not is_wardrobe(few * TOGETHER)
    assert is_wardrobe(few * (TOGETHER + 1))
    assert is_wardrobe([folder])
    assert is_wardrobe([folder / "*.glb"])


def test_a_file_whose_name_has_a_bracket_is_a_file(tmp_path: Path) -> None:
    odd = tmp_path / "coat [old].glb"
    odd.write_bytes(b"")
    assert not is_wardrobe([odd])
    assert wardrobe_files([odd])[0].name == "coat [old]"


def test_the_content_of_a_gltf_has_the_files_that_it_names(tmp_path: Path) -> None:
    (tmp_path / "coat.gltf").write_text(
        '{"asset": {"version": "2.0"}, "buffers": [{"uri": "coat.bin", "byteLength": 3}]}'
    )
    (tmp_path / "coat.bin").write_bytes(b"abc")
    assert set(contents_of(tmp_path / "coat.gltf")) == {"coat.gltf", "coat.bin"}
    with pytest.raises(FileError, match="cannot be read"):
        contents_of(tmp_path / "none.glb")


@pytest.mark.parametrize("buffer", ["morphs/coat.bin", "..coat.bin", "deep/er/coat.bin"])
def test_the_content_of_a_gltf_has_what_it_names_whatever_its_folder_is_called(tmp_path: Path, buffer: str) -> None:
    named = f'{{"asset": {{"version": "2.0"}}, "buffers": [{{"uri": "{buffer}", "byteLength": 3}}]}}'
    (tmp_path / "coat.gltf").write_text(named)
    (tmp_path / buffer).parent.mkdir(parents=True, exist_ok=True)
    (tmp_path / buffer).write_bytes(b"abc")
    (tmp_path / "morphs").mkdir(exist_ok=True)
    (tmp_path / "morphs" / "other.bin").write_bytes(b"not named")
    assert set(contents_of(tmp_path / "coat.gltf")) == {"coat.gltf", buffer}
