"""Garments worn together on the page: what pierces what, whichever is being looked at."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from dressform.formats.gltf.save import save_garment
from dressform.formats.load import load_garment
from dressform.formats.results.check_report import Source
from dressform.web.layers import layers_below
from livepage import KEY, opened, served
from solids import open_tube

VEST = "vest smooth"


@pytest.fixture
def worn(tmp_path: Path):
    """A page with the tube and a vest over it, through whose front the tube comes."""
    tube = open_tube(radius=0.19)
    dent = np.exp(-(((tube.vertices - [0.0, tube.vertices[:, 1].mean(), 0.19]) / 0.08) ** 2).sum(axis=1))
    vest = replace(tube, name="vest", vertices=tube.vertices - 0.02 * dent[:, None] * np.array([0.0, 0.0, 1.0]))
    save_garment(vest, tmp_path / "vest.glb")
    start = opened(tmp_path)
    start = replace(
        start,
        garments=(*start.garments, load_garment(tmp_path / "vest.glb")),
        sources={**start.sources, "vest": Source(str(tmp_path / "vest.glb"), "0" * 64)},
        following={**start.following, "vest": start.following["tube"]},
    )
    with served(start) as server:
        yield server


def test_a_layer_that_comes_through_is_a_fault_of_what_is_worn_over_it(worn) -> None:
    with worn.page() as page:
        page.request("meshes", garments=[KEY, VEST])
        alone = page.request("faults", weights=[0.0, 0.0], garments=[VEST]).header
        both = page.request("faults", weights=[0.0, 0.0], garments=[KEY, VEST]).header
    assert alone["figures"][VEST]["pierced"] == {"value": 0.0, "unit": "cm²", "severity": "clean"}
    assert both["figures"][VEST]["pierced"]["value"] > 5.0
    assert both["figures"][KEY]["pierced"]["value"] == 0.0
    assert any(place["fault"] == "pierced" for place in both["places"][VEST])


def test_what_is_under_what_is_told_from_the_garments_themselves(worn) -> None:
    session = worn.hub.session
    with worn.page() as page:
        page.request("meshes", garments=[KEY, VEST])
    tube, vest = (session.ready(0, key) for key in (KEY, VEST))
    for order in ((tube, vest), (vest, tube)):
        assert layers_below(order) == {KEY: (), VEST: (tube.fit,)}
