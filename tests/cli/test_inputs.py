"""Files that cannot be meant are refused by every command that reads them, in one line, before any work."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import dressform as df
from dressform.formats.gltf.save import save_body, save_garment
from people import person, person_mesh, skirt

Run = Callable[..., Any]

COMMANDS = {
    "check": ("skirt.glb", "--body", "BODY"),
    "fit": ("skirt.glb", "--body", "BODY", "-o", "out.glb"),
    "infer-shape": ("skirt.glb", "--body", "BODY"),
    "outfit": ("outfits.toml", "ashore", "--body", "BODY", "--out", "out"),
    "case save": ("skirt.glb", "--body", "BODY", "-o", "out.case.json"),
    "show": ("skirt.glb", "--body", "BODY", "--no-browser"),
    "prove": ("skirt.glb", "--body", "BODY"),
    "audit": ("BODY",),
    "measure": ("BODY",),
}
"""The words of each command; the first six ask how cloth follows."""


@pytest.fixture(scope="module")
def odd(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two bodies in one file, a body without morphs, a person as the garment, and a skirt."""
    folder = tmp_path_factory.mktemp("odd")
    vertices, faces = person_mesh()
    aside = vertices + np.array([1.0, 0.0, 0.0])
    meshes = {
        "two.glb": (np.concatenate([vertices, aside]), np.concatenate([faces, faces + len(vertices)])),
        "still.glb": (vertices, faces),
    }
    for name, (points, triangles) in meshes.items():
        still = df.Body("keeper", points, triangles, (), np.zeros((0, len(points), 3)), df.Range.unit(()))
        save_body([still], folder / name)
    save_body([person()], folder / "body.glb")
    save_garment(df.Garment.of("skirt", *skirt()), folder / "skirt.glb")
    save_garment(df.Garment.of("keeper", vertices, faces), folder / "keeper.glb")
    (folder / "outfits.toml").write_text('[outfit.ashore]\nlayers = ["skirt.glb"]\n')
    return folder


@pytest.mark.parametrize("command", COMMANDS)
def test_two_bodies_read_as_one_are_refused_by_every_command(
    command: str, odd: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(odd)
    ended = dressform(*command.split(), *(word.replace("BODY", "two.glb") for word in COMMANDS[command]))
    assert ended.code == 2
    assert "two.glb: body: holds 2 bodies that were read as one" in ended.line


@pytest.mark.parametrize("command", list(COMMANDS)[:6])
def test_a_body_without_morphs_is_refused_where_cloth_must_follow(
    command: str, odd: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(odd)
    ended = dressform(*command.split(), *(word.replace("BODY", "still.glb") for word in COMMANDS[command]))
    assert ended.code == 2
    assert "still.glb: body: has no morphs, so there is nothing for a garment to follow" in ended.line
    assert not [path for path in odd.iterdir() if path.name.startswith("out.") or path.name == "out"]


def test_body_and_garment_swapped_and_a_garment_that_is_the_body_are_refused(
    odd: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(odd)
    swapped = dressform("check", "--body", "skirt.glb", "keeper.glb")
    assert swapped.code == 2
    assert "swapped" in swapped.line
    same = dressform("check", "--body", "body.glb", "keeper.glb")
    assert same.code == 2
    assert "keeper.glb: garment: holds the body itself" in same.line
