"""Other programs play and rewrite a fitted garment as we do."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from clients import client_rows
from dressform.formats.gltf.document import read_document
from dressform.formats.gltf.fitted import save_fit
from dressform.formats.gltf.morphs.target_style import TargetStyle
from dressform.formats.gltf.optimise import optimise
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.load import load_body, load_garment
from solids import capped_body, made_fit, open_tube

pytestmark = [pytest.mark.node]


def test_clients_open_play_and_rewrite_fitted_garments(tmp_path: Path) -> None:
    save_body(capped_body("keeper"), tmp_path / "body.glb")
    save_garment(open_tube(), tmp_path / "tube.glb")
    file, garment_file = load_body(tmp_path / "body.glb", units="m"), load_garment(tmp_path / "tube.glb", units="m")
    fit = made_fit(garment_file.garment, file.body)
    few = np.zeros((2, len(fit.base), 1))  # each moves a few vertices of its own: sparse, with zeros between
    few[0, :40:9] = few[1, 5:80:11] = 1.0
    fit = replace(fit, deltas=fit.deltas * few)
    files = {name: tmp_path / f"{name}.glb" for name in ("sparse", "dense", "small")}
    for name in ("sparse", "dense"):
        save_fit(fit, garment_file, file, files[name], style=TargetStyle(name))
    used = {index for one in read_document(files["sparse"]).gltf.meshes[0].primitives for target in one.targets
            for index in target.values()}  # fmt: skip
    assert sum("sparse" in read_document(files["sparse"]).json["accessors"][index] for index in used) >= 4
    files["small"].write_bytes(optimise(files["dense"].read_bytes(), files["small"]).data)
    rows = {(row.client.split()[0], row.client.rsplit(", ")[-1], row.file): row for row in
            client_rows(files, {"wider": 0.7, "belly": 1.0}, tmp_path)}  # fmt: skip
    assert len(rows) == 6 * 3
    for (client, does, name), row in rows.items():
        if client == "Babylon.js":
            assert (row.error < 1e-6, row.names, row.remark) == (True, True, "normals morph too"), row
        elif client == "glTF":
            allowed = {"quantize": 1e-3, "meshopt": 1e-3}.get(does, 1e-6)
            assert row.error < allowed, row
            assert row.names, row
        elif name != "small":
            assert row.remark.startswith("opens it, "), row
