"""The versions that are declared are those that are tested."""

import re
import tomllib
from pathlib import Path

from packaging.requirements import Requirement

ROOT = Path(__file__).parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def pins(name: str) -> dict[str, str]:
    lines = (ROOT / "constraints" / name).read_text(encoding="utf-8").splitlines()
    split = [line.split("==") for line in lines if line and not line.startswith("#")]
    return {re.sub(r"[-_.]+", "-", package).lower(): version for package, version in split}


def test_lowest_pins_are_the_declared_floors_one_for_one() -> None:
    declared = {need.name: need for need in map(Requirement, PROJECT["dependencies"])}
    lowest = pins("lowest.txt")
    assert sorted(lowest) == sorted(declared)
    for name, need in declared.items():
        (floor,) = need.specifier
        assert floor.operator == ">="
        parts = [[int(part) for part in version.split(".")] for version in (floor.version, lowest[name])]
        longest = max(map(len, parts))
        assert parts[0] + [0] * (longest - len(parts[0])) == parts[1] + [0] * (longest - len(parts[1])), name


def test_lock_has_every_package_that_is_declared() -> None:
    locked = pins("lock.txt")
    extras = PROJECT["optional-dependencies"]
    chosen = (name for extra in ("test", "dev", "collada", "cluster", "docs") for name in extras[extra])
    for text in (*PROJECT["dependencies"], *chosen):
        need = Requirement(text)
        if need.name != PROJECT["name"]:
            assert need.specifier.contains(locked[need.name]), text


def test_python_versions_are_told_from_the_lowest_on() -> None:
    told = [line for line in PROJECT["classifiers"] if re.fullmatch(r"Programming Language :: Python :: 3\.\d+", line)]
    assert told[0].endswith(PROJECT["requires-python"].removeprefix(">="))
