"""`dressform demo` runs the whole job: a few garments of the wardrobe stand for all."""

import json
import re
from collections.abc import Callable
from contextlib import nullcontext
from hashlib import sha256
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from dressform.cli import demo_run
from dressform.demo.wardrobe import make_garment
from dressform.demo.wardrobe_truth import Truth, read_truth
from dressform.formats.load import load_body
from dressform.formats.results.json_schema import results_schema

pytestmark = pytest.mark.long

Run = Callable[..., Any]
WORN = ("gloves",)


def test_the_whole_demo_makes_checks_draws_repairs_and_proves(
    tmp_path: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    everything = read_truth()
    few = Truth(everything.good, tuple(one for one in everything.fault if (one.name, one.body) == ("gloves", "faulty")))
    assert few.fault
    monkeypatch.setattr(demo_run, "make_wardrobe", lambda bodies, names: {n: make_garment(n, bodies) for n in WORN})
    monkeypatch.setattr(demo_run, "read_truth", lambda: few)
    monkeypatch.setattr(demo_run, "compiling", nullcontext)
    monkeypatch.setattr(demo_run, "DEMO_STRONGEST", 0)
    out = tmp_path / "saltmarsh"
    ended = dressform("demo", out, "--all", "--shapes", "0")
    assert ended.code == 0, ended.err
    assert ended.err == ""
    assert str(out / "fitted") in ended.out
    for base, name in (("woman", "gloves"), ("faulty", "gloves")):
        folder = out / "results" / base
        document = json.loads((folder / "results.json").read_text(encoding="utf-8"))
        jsonschema.validate(document, results_schema())
        assert [garment["name"] for garment in document["garments"]] == [name]
        assert (folder / "sheet.png").exists()
        assert all((folder / picture).exists() for picture in document["garments"][0]["pictures"])
    report = (out / "report.html").read_text(encoding="utf-8")
    assert "gloves at the base, from the front" in report
    assert (out / "report-pictures" / "01-gloves-front.png").exists()
    body = load_body(out / "body.glb", base="woman").body
    fitted = out / "fitted" / "gloves.glb"
    assert load_body(fitted, units="m", up="y").body.morph_names == body.morph_names
    receipt = json.loads(fitted.with_name("gloves.receipt.json").read_text(encoding="utf-8"))
    assert receipt["files"]["fitted"] == {"file": str(fitted), "sha256": sha256(fitted.read_bytes()).hexdigest()}
    found = next(
        line for line in ended.out.splitlines() if line.strip().startswith("gloves") and "beyond an extremity" in line
    )
    assert "puckered: " in found
    assert "missed" not in found
    proofs = ended.out[ended.out.index("What is proven over the whole range") :]
    assert proofs.count("100.000") == 1


def test_the_first_job_does_a_few_garments_and_writes_them_all(
    tmp_path: Path, dressform: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[tuple[str, ...]] = []

    def made(bodies: Any, *, names: Any = ("gloves", "man_clogs")) -> Any:
        asked.append(tuple(names))
        return {name: make_garment(name, bodies) for name in names}

    monkeypatch.setattr(demo_run, "make_wardrobe", made)
    monkeypatch.setattr(demo_run, "compiling", nullcontext)
    monkeypatch.setattr(demo_run, "FIRST", ("gloves",))
    monkeypatch.setattr(demo_run, "LEVELS", ("man_clogs",))
    monkeypatch.setattr(demo_run, "DEMO_STRONGEST", 0)
    for done in ("write_results", "report"):  # the other test draws, explains and repairs
        monkeypatch.setattr(demo_run, done, lambda *_, **__: None)
    repaired: list[tuple[list[str], Path]] = []
    monkeypatch.setattr(demo_run, "repair_garments", lambda fits, to, **_: repaired.append((list(fits), to)) or [])
    monkeypatch.setattr(demo_run, "explain", lambda found, **_: found)
    out = tmp_path / "saltmarsh"
    ended = dressform("demo", out, "--shapes", "0", "--workers", "1")
    assert ended.code == 0, ended.err
    assert asked == [("gloves",), ("gloves", "man_clogs"), ("man_clogs",)]
    assert (out / "levels" / "man_clogs.glb").exists()
    assert sorted(path.name for path in (out / "garments").iterdir()) == ["gloves.glb", "man_clogs.glb"]
    assert repaired == [(["gloves smooth"], out / "fitted")]
    stamps = [int(seconds) for seconds in re.findall(r"^after (\d+) s: ", ended.out, re.MULTILINE)]
    assert len(stamps) == 6
    assert stamps == sorted(stamps)
    assert ended.out.index("2 bodies made, and 1 garment") < ended.out.index("checked over the range of woman")


def test_a_place_that_cannot_be_written_is_told_before_the_work(tmp_path: Path, dressform: Run) -> None:
    (tmp_path / "saltmarsh").write_text("a file")
    ended = dressform("demo", tmp_path / "saltmarsh")
    assert ended.code == 2
    assert "saltmarsh: cannot be written (is a file)" in ended.line
