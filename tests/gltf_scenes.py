"""A cube with morphs as a glTF in the making, and glTF read."""

from pathlib import Path
from typing import Any

import numpy as np

from dressform.formats.file_mesh import FileMesh
from dressform.formats.gltf.document import parse_document
from dressform.formats.gltf.read import read_scene
from gltf_files import Gltf, cube


def read(made: Gltf, *, scene: int = 0) -> FileMesh:
    return read_scene(parse_document(Path("made.glb"), made.glb()), scene)


def morphing_cube(*, names: list[str] | None = None, **node: Any) -> Gltf:
    """A cube with two morphs: up by one, and sparse: one corner out."""
    made = cube()
    up = made.accessor(np.tile([0.0, 1.0, 0.0], (8, 1)))
    corner = made.accessor(np.eye(8)[:, [7]] * [1.0, 0.0, 0.0])
    mesh = made.tree["meshes"][0]
    mesh["primitives"][0]["targets"] = [{"POSITION": up}, {"POSITION": corner}]
    if names is not None:
        mesh["extras"] = {"targetNames": names}
    made.tree["nodes"][0].update(node)
    return made
