"""The jobs that are struck: what each writes, and what of it must be the same whenever it is done again."""

import hashlib
import json
import os
import re
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from types import SimpleNamespace
from typing import Any

from dressform.body.shapes import ShapeSettings
from dressform.cli import demo_run
from dressform.cli.app import run
from dressform.formats.gltf.save import save_body, save_garment
from dressform.formats.results.check_report import BodyReport, CheckReport, Source
from dressform.jobs import pictures as job_pictures
from dressform.leftovers import HIDDEN, PLAIN
from dressform.report.html import pictures as html_pictures
from dressform.report.pictures import faults as fault_pictures
from dressform.web.requests import ExportRequest
from dressform.web.saving import answer_export
from dressform.web.session import Session
from dressform.web.workers import BackgroundJob
from livepage import KEY, opened
from solids import capped_body, open_tube

CHANGING = {"made", "seconds", "setup_ms", "prepare_ms", "shape_ms", "explain_ms", "ms", "workers"}
"""Keys of JSON that differ between two runs that found the same."""


@dataclass(frozen=True)
class Job:
    """One command, or one request of the page.

    Attributes:
        name: For the table.
        run: Does it in a folder; returns the exit code.
        share: Of all kills and interrupts.
        codes: Exit codes of a whole run.
    """

    name: str
    run: Callable[[Path], int]
    share: float
    codes: tuple[int, ...] = (0,)


def prepare(folder: Path) -> None:
    """What the jobs read. Pictures are as small as stamps from then on: how they look is nobody's question here."""
    for where, name, size in (
        (html_pictures, "VIEW_WIDTH", 60),
        (html_pictures, "CLUSTER_SIZE", (48, 48)),
        (fault_pictures, "PANEL", (120, 180)),
        (job_pictures, "TILE_SIZE", (40, 60)),
    ):
        setattr(where, name, size)
    (folder / "out").mkdir(parents=True)
    save_body([capped_body("woman")], folder / "body.glb")
    save_garment(open_tube(), folder / "tube.glb")


def fit(folder: Path) -> int:
    """A garment repaired and proven, with its receipt."""
    return _run(folder, "fit --body body.glb tube.glb -o out/fitted.glb")


def check(folder: Path) -> int:
    """Results, tables and pictures in a folder, rows in a store."""
    return _run(
        folder, "check --body body.glb tube.glb --shapes 2 --no-causes --workers 1 --out out --store out/rows.db"
    )


def demo(folder: Path) -> int:
    """The demo with a small body and one garment in the place of Saltmarsh's: all its files and folders."""
    body, garment = capped_body("woman"), open_tube()
    few = SimpleNamespace(fault=[SimpleNamespace(name="tube", body="faulty", method="smooth")])
    stand_in = {
        "make_demo_bodies": lambda: {"woman": body},
        "make_wardrobe": lambda _, **__: {"tube": _Made(garment)},
        "read_truth": lambda: few,
        "write_demo": lambda target, **_: _demo_files(target, body, garment),
        "write_wardrobe": lambda *_: {},
        "write_levels": lambda *_: {},
    }
    for name, made in stand_in.items():
        if not hasattr(demo_run, name):
            raise AttributeError(f"the demo has no {name} any more")
        setattr(demo_run, name, made)
    return _run(folder, "demo out --shapes 0 --workers 1")


def export(folder: Path) -> int:
    """What the page writes when a garment and the report are asked for."""
    session = Session(opened(folder, out=folder / "out", shapes=ShapeSettings(ends=False, strongest=0, sobol=0)))
    body = BodyReport("", Source("", ""), vertices=0, triangles=0, stature=0.0, intervals={})
    found = CheckReport(made="", versions={}, settings={}, body=body, garments=(), seconds=0.0)
    answer_export(session, ExportRequest(id=1, what="glb", garment=KEY), found, BackgroundJob())
    return 0


@dataclass(frozen=True)
class _Made:
    """What the demo asks of a garment of its wardrobe."""

    garment: Any
    made_on: str = "woman"


def _demo_files(target: Path, body: Any, garment: Any) -> dict[str, Path]:
    target.mkdir(exist_ok=True)
    paths = {"body": target / "body.glb", "faulty_body": target / "body.glb", "tube": target / "tube.glb"}
    save_body([body], paths["body"])
    save_garment(garment, paths["tube"])
    return paths


JOBS = (
    Job("fit", fit, 0.5),
    Job("check --out --store", check, 0.1, (0, 1)),
    Job("demo", demo, 0.03),
    Job("export from the page", export, 0.37),
)


def _run(folder: Path, line: str) -> int:
    os.chdir(folder)
    return run(line.split())


def outputs(folder: Path) -> dict[str, str]:
    """What lies in the folder of outputs: a hash of what must be the same in every run, by path."""
    root = folder / "out"
    found = sorted(path for path in root.rglob("*") if path.is_file() and not path.name.startswith("rows.db"))
    return {str(path.relative_to(root)): _hash(path) for path in found}


def _hash(path: Path) -> str:
    data = path.read_bytes()
    if path.suffix == ".json":
        data = json.dumps(_steady(json.loads(data)), sort_keys=True).encode()
    elif path.suffix in {".txt", ".csv"}:
        data = re.sub(rb"[\d.]+", b"#", re.sub(rb" +", b" ", data))  # seconds are among the figures
    elif path.suffix == ".html":
        data = data.rstrip()[-7:]  # its compressed parts hold the time
    return hashlib.sha256(data).hexdigest()


def _steady(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _steady(one) for key, one in value.items() if key not in CHANGING}
    return [_steady(one) for one in value] if isinstance(value, list) else value


def half_written(folder: Path, whole: dict[str, str]) -> list[str]:
    """Outputs that are there and are not those of a whole run; and a receipt whose GLB is another or missing."""
    wrong = [name for name, found in outputs(folder).items() if not _hidden(name) and whole.get(name) != found]
    for receipt in (folder / "out").glob("*.receipt.json"):
        told = json.loads(receipt.read_bytes())["files"]["fitted"]["sha256"]
        glb = receipt.with_name(receipt.name.replace(".receipt.json", ".glb"))
        if not glb.exists() or hashlib.sha256(glb.read_bytes()).hexdigest() != told:
            wrong.append(receipt.name)
    return wrong


def left_behind(folder: Path, temporary: Path) -> list[str]:
    """Hidden and temporary files that a run has left."""
    found = [path for root in (folder, temporary) for path in root.rglob("*")]
    return [path.name for path in found if _hidden(path.name)]


def _hidden(name: str) -> bool:
    return any(part.startswith((HIDDEN, PLAIN)) for part in Path(name).parts)


def fresh(folder: Path, seed: Path) -> Path:
    """A copy of the prepared folder."""
    shutil.copytree(seed, folder)
    return folder
