"""Outfits are read in their order, and every mistake names the file and the key."""

from pathlib import Path

import pytest

from dressform.errors import FileError
from dressform.formats.outfit_file import read_outfits


def _file(folder: Path, text: str) -> Path:
    for name in ("guernsey.glb", "coat.glb", "trousers.glb"):
        (folder / name).touch()
    path = folder / "outfits.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_layers_come_from_the_skin_outward_as_paths_beside_the_file(tmp_path: Path) -> None:
    text = '[outfit.ashore]\nlayers = ["guernsey.glb", "coat.glb"]\n[outfit."at the nets"]\nlayers = ["trousers.glb"]\n'
    assert read_outfits(_file(tmp_path, text)) == {
        "ashore": (tmp_path / "guernsey.glb", tmp_path / "coat.glb"),
        "at the nets": (tmp_path / "trousers.glb",),
    }


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("outfit = ", r"outfits.toml: is not TOML"),
        ("# nothing", r"outfits.toml: lacks the key outfit. Write"),
        ("[outfit]", r"outfits.toml: outfit: names no outfit. Write \[outfit.NAME\]"),
        ("[outfits.a]\nlayers = []", r"outfits.toml: outfits: is no key here. Use outfit"),
        ("[outfit.ashore]\nlayer = ['coat.glb']", r"outfits.toml: outfit.ashore.layer: is no key here. Use layers"),
        (
            "[outfit.ashore]\nlayers = 'coat.glb'",
            r"outfits.toml: outfit.ashore.layers: Expected array, got str. Write",
        ),
        ("[outfit.ashore]\nlayers = []", r"outfits.toml: outfit.ashore.layers: lists no garment"),
        (
            "[outfit.ashore]\nlayers = ['coat.glb', 'coat.glb']",
            r"outfits.toml: outfit.ashore.layers\[1\]: lists coat.glb again. Wear each garment once",
        ),
        (
            "[outfit.ashore]\nlayers = ['coat.glb', 'cloak.glb']",
            r"outfits.toml: outfit.ashore.layers\[1\]: there is no file .*cloak.glb",
        ),
    ],
)
def test_a_mistake_names_file_and_key(tmp_path: Path, text: str, said: str) -> None:
    with pytest.raises(FileError, match=said):
        read_outfits(_file(tmp_path, text))
