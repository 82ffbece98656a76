"""What other programs make of a fitted garment: opened, its targets by name, its vertices at weights."""

import base64
import json
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path
from typing import Any

import numpy as np
import trimesh
from scipy.spatial import cKDTree

from dressform.formats.gltf.document import parse_document
from dressform.formats.gltf.read import read_scene
from nodetools import node

MM = 1000.0


@dataclass(frozen=True)
class ClientRow:
    """What one client did with one file.

    Attributes:
        client: Name and version.
        file: Which file.
        error: How far its vertices are from ours, metres; NaN where it says nothing of morphed ones.
        names: Whether it has every target by its name.
        remark: What else is to be said.
    """

    client: str
    file: str
    error: float
    names: bool
    remark: str = ""

    def line(self) -> str:
        """A row of the table."""
        told = "–" if np.isnan(self.error) else f"{MM * self.error:.4f} mm"
        return f"| {self.client} | {self.file} | {told} | {'yes' if self.names else 'no'} | {self.remark} |"


HEADING = "| client | file | vertices off by | names of targets | remark |\n|---|---|---|---|---|"


def client_rows(files: dict[str, Path], weights: dict[str, float], folder: Path) -> list[ClientRow]:
    """Rows of every client that the registries bring, for each file, at one shape.

    Args:
        files: Fitted garments by a name; all of one fit, no file compressed but those called small.
        weights: The shape.
        folder: Where a list of the files is put for Node.
    """
    (folder / "job.json").write_text(json.dumps({"files": {k: str(v) for k, v in files.items()}, "weights": weights}))
    rows = [
        _row(found, files, weights) for found in json.loads(node("clients.mjs", folder / "job.json").splitlines()[-1])
    ]
    return [*rows, *(_trimesh_row(name, path) for name, path in files.items())]


def played(data: bytes, weights: dict[str, float]) -> tuple[np.ndarray, np.ndarray, tuple[str, ...]]:
    """Vertices at the base and at weights by our reader, and the names of the targets."""
    stored = read_scene(parse_document(Path("client.glb"), data), 0)
    vector = np.array([weights.get(name, 0.0) for name in stored.morph_names])
    return stored.vertices, stored.vertices + np.tensordot(vector, stored.deltas, axes=1), stored.morph_names


def _row(found: dict[str, Any], files: dict[str, Path], weights: dict[str, float]) -> ClientRow:
    client, name = found["client"], found["name"]
    base, ours, names = played(files[name].read_bytes(), weights)
    if "failed" in found:
        return ClientRow(client, name, np.nan, False, f"does not open it: {found['failed']}")
    if "count" in found:
        return ClientRow(client, name, np.nan, False, f"opens it, {found['count']:,} vertices; morphs are not told")
    if "file" in found:
        data = base64.b64decode(found["file"])
        theirs_base, theirs, theirs_names = played(data, weights)
        far, match = cKDTree(base).query(theirs_base)
        error = max(float(np.max(far)), float(np.linalg.norm(theirs - ours[match], axis=1).max()))
        return ClientRow(client, name, error, set(names) == set(theirs_names), f"{len(data) / MM:,.0f} kB written")
    shown = np.array(found["positions"]).reshape(-1, 3)
    error = float(np.linalg.norm(shown - ours, axis=1).max()) if shown.shape == ours.shape else np.inf
    remark = "normals morph too" if found["normals"] else "without morphed normals"
    return ClientRow(client, name, error, set(names) <= set(found["names"]), remark)


def _trimesh_row(name: str, path: Path) -> ClientRow:
    client = f"trimesh {version('trimesh')}"
    try:
        scene = trimesh.load_scene(path)
    except Exception as problem:  # whatever it raises is what a user sees
        return ClientRow(client, name, np.nan, False, f"does not open it: {type(problem).__name__}")
    count = sum(len(one.vertices) for one in scene.geometry.values())
    return ClientRow(client, name, np.nan, False, f"opens it, {count:,} vertices; reads the base alone")
