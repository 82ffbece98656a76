"""The version of results changes with the code that figures depend on, and with nothing else."""

import shutil
from pathlib import Path

import pytest

import dressform
from dressform.jobs.store.version import LOOKED_AT, results_version


def test_every_place_that_is_looked_at_is_there() -> None:
    package = Path(dressform.__file__).parent
    assert [one for one in LOOKED_AT if not (package / one).exists()] == []


def test_a_changed_measure_changes_the_version_and_a_changed_page_does_not(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    package = tmp_path / "dressform"
    for name in ("faults", "report"):
        source = Path(dressform.__file__).parent / name
        shutil.copytree(source, package / name, ignore=shutil.ignore_patterns("__pycache__", "*.js"))
    monkeypatch.setattr(dressform, "__file__", str(package / "__init__.py"))
    monkeypatch.setattr("dressform.jobs.store.version.LOOKED_AT", ("faults",))
    found = []
    for changed in (None, package / "report" / "__init__.py", package / "faults" / "pucker.py"):
        if changed is not None:
            changed.write_text(changed.read_text() + "\n# another\n")
        results_version.cache_clear()
        found.append(results_version())
    results_version.cache_clear()
    assert found[0] == found[1] != found[2]
