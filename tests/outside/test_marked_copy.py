"""`check --marked`: three.js shows where a garment is bad, the worst shapes, and what to do."""

import base64
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import dressform as df
from browser import page
from dressform.causes.action import Action, Tried
from dressform.causes.results import GARMENT, TOO_TIGHT
from dressform.errors import ArgumentError
from dressform.formats.gltf.save import save_body, save_garment
from dressform.jobs.marked import marked
from nodetools import bundle
from phantoms import phantom_body, phantom_tube

pytestmark = [pytest.mark.browser, pytest.mark.node]


def test_three_shows_the_faults_of_a_marked_copy(tmp_path: Path) -> None:
    """A tube that does not follow: the belly comes through, and the skin that shows is told at the cloth around it."""
    save_body(phantom_body(), tmp_path / "body.glb")
    tube = phantom_tube(clearance=0.01)
    save_garment(replace(tube, strength=np.zeros(len(tube.vertices))), tmp_path / "tube.glb")
    body = df.load_body(tmp_path / "body.glb", units="m", up="y")
    fit = df.fit(body, df.load_garment(tmp_path / "tube.glb", units="m", up="y"))
    result = df.check(fit, shapes=0, stances=())
    assert result.causes is not None  # nothing explains cloth that was told to stay; a maker's action is put in by hand
    (key,) = result.fits
    tried = Tried("let it out", "the garment", ("1",), (), (), True, 1.0)
    action = Action("A", TOO_TIGHT, "", GARMENT, "chest", ("1",), 1.0, 1, (tried,))
    result = replace(result, causes=replace(result.causes, actions={key: (action,)}))
    out = tmp_path / "marked.glb"
    (said,) = marked(result, out)
    assert "skin" in said
    with page() as fresh:
        fresh.add_script_tag(content=bundle("player.mjs"))
        shown = fresh.evaluate("data => playMarks(data)", base64.b64encode(out.read_bytes()).decode())
    assert shown["dyed"]
    pale, dark = 0.85, 0.7
    assert shown["colours"]["color"][0] == pytest.approx(dark, abs=1e-3)  # the worst of all
    of_fault = {name: f"color_{key[6:]}" for key, name in shown["texts"]["faultColours"].items()}
    low, high = shown["colours"][of_fault["exposed"]]
    assert (low, high > pale - 1e-3) == (pytest.approx(dark, abs=1e-3), True)
    assert shown["numbers"]["_fault_depth"] > 20  # mm: the belly moves 50 mm, the cloth stays 10 mm off
    assert [name for name in shown["targets"] if name.startswith("worst 1: ")] != []
    assert shown["texts"]["action A"].startswith(
        "chest: let it out (cause: too tight by design; it lies with the garment"
    )
    with pytest.raises(ArgumentError, match="`marked` must be asked for one garment, got 2"):
        marked(replace(result, fits={"a": fit, "b": fit}), out)
