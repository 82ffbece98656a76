"""The mutants that the benchmark makes are one change each, and what it calls equivalent is still in the code."""

import tomllib
from pathlib import Path

import pytest

from imports import import_distances, importers
from mutants import Mutant, mutants_of

ROOT = Path(__file__).parents[2]
PACKAGE = ROOT / "src" / "dressform"
TABLE = tomllib.loads((ROOT / "benchmarks" / "mutation.toml").read_text(encoding="utf-8"))

SOURCE = '''"""1 + 1 in words is left as it is."""

LIMIT: float = 0.5


def clipped(values: "tuple[int, ...] | None", *, most: int = 3) -> float:
    assert values is not None
    if not values or values[0] < -most:
        raise ValueError(f"more than {most + 1}")
    return min(values) * LIMIT  # × 1 + 1
'''


def becoming(tmp_path: Path, source: str) -> set[tuple[str, str]]:
    """Lines before and after every mutant of a source."""
    (tmp_path / "one.py").write_text(source, encoding="utf-8")
    return {(mutant.text, mutant.becomes) for mutant in mutants_of(tmp_path, "one.py")}


def test_constants_operators_and_words_are_changed_one_at_a_time_and_texts_never(tmp_path: Path) -> None:
    head, test = (
        'def clipped(values: "tuple[int, ...] | None", *, most: int = 3)',
        "if not values or values[0] < -most:",
    )
    tail = "return min(values) * LIMIT  # × 1 + 1"
    assert becoming(tmp_path, SOURCE) == {
        ("LIMIT: float = 0.5", "LIMIT: float = 1.0"),
        (f"{head} -> float:", f"{head.replace('3', '4')} -> float:"),
        (test, "if values or values[0] < -most:"),
        (test, "if not values and values[0] < -most:"),
        (test, "if not values or values[1] < -most:"),
        (test, "if not values or values[0] <= -most:"),
        (test, "if not values or values[0] >= -most:"),
        (test, "if not values or values[0] < most:"),
        (tail, "return max(values) * LIMIT  # × 1 + 1"),
        (tail, "return min(values) / LIMIT  # × 1 + 1"),
    }


@pytest.mark.parametrize("path", ["sweep/worst.py", "faults/kernels/pucker.py", "body/measure_take.py"])
def test_every_mutant_changes_its_own_line_and_no_other(path: str) -> None:
    source = (PACKAGE / path).read_bytes()
    found = mutants_of(PACKAGE, path)
    assert len(found) > 50
    for mutant in found:
        before, after = source.decode().splitlines(), mutant.applied(source).decode().splitlines()
        assert len(after) == len(before)
        assert [number for number, pair in enumerate(zip(before, after), 1) if len(set(pair)) > 1] == [mutant.line]
        assert after[mutant.line - 1].strip() == mutant.becomes


def test_what_is_called_equivalent_is_a_mutant_of_today_s_code_with_a_reason() -> None:
    known: dict[str, list[Mutant]] = {}
    for entry in TABLE["equivalent"]:
        found = known.setdefault(entry["file"], mutants_of(PACKAGE, entry["file"]))
        assert any((one.text, one.becomes) == (entry["line"], entry["becomes"]) for one in found), entry
        assert len(entry["why"]) > 20


def test_every_test_file_that_the_table_names_is_there() -> None:
    for name in [*TABLE["left_out"]["tests"], *(name for names in TABLE["tests"].values() for name in names)]:
        assert (ROOT / name).is_file(), name


def test_imports_are_followed_through_the_package() -> None:
    assert "proof/bound_kernels.py" in importers(PACKAGE, "proof/triangle_kernels.py")
    assert "repair/clear/clearance.py" in importers(PACKAGE, "proof/triangle_kernels.py")
    assert "causes/trial.py" in importers(PACKAGE, "causes/swaps/too_tight.py")
    distances = import_distances(ROOT, "proof/triangle_kernels.py")
    assert distances["tests/proof/test_triangle_gap.py"] == 1
    assert distances["tests/proof/test_bounds.py"] > 1
    assert "tests/body/test_measure_levels.py" not in distances
