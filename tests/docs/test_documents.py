"""The documents are true: links resolve, source keys exist, the README's Python runs as pasted."""

import ast
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
DOCUMENTS = sorted(p for p in [*ROOT.glob("*.md"), *ROOT.glob("docs/**/*.md")])
SOURCES = sorted(
    [
        *ROOT.glob("src/**/*.py"),
        *ROOT.glob("tests/**/*.py"),
        *ROOT.glob("benchmarks/**/*.py"),
        *ROOT.glob("web/src/**/*.ts"),
    ]
)
KEY = re.compile(r"\[([A-Z][A-Za-z]+\d{4}|ISO[\d-]+|EN[\d-]+|glTF2)\]")


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda p: str(p.relative_to(ROOT)))
def test_every_link_to_a_file_resolves(document: Path) -> None:
    text = re.sub(r"```.*?```", "", document.read_text(encoding="utf-8"), flags=re.DOTALL)
    targets = [t for t in re.findall(r"\]\(([^)\s]+)\)", text) if not re.match(r"[a-z]+:|#", t)]
    missing = [t for t in targets if not (document.parent / t.split("#")[0]).exists()]
    assert not missing, f"{document.name} links to files that do not exist: {missing}"


def test_every_source_key_in_the_code_is_in_the_references() -> None:
    known = set(
        re.findall(r"^- \*\*([^*]+)\*\*", (ROOT / "docs/references.md").read_text(encoding="utf-8"), re.MULTILINE)
    )
    used = {key: path.name for path in [*SOURCES, *DOCUMENTS] for key in KEY.findall(path.read_text(encoding="utf-8"))}
    unknown = {key: name for key, name in used.items() if key not in known}
    assert not unknown, f"keys without an entry in docs/references.md: {unknown}"


def test_every_folder_of_the_package_has_its_invariant_in_the_architecture() -> None:
    text = (ROOT / "ARCHITECTURE.md").read_text(encoding="utf-8")
    folders = [p.parent.name for p in ROOT.glob("src/dressform/*/__init__.py")]
    missing = [name for name in folders if f"**{name}/**" not in text]
    assert not missing, f"folders without a paragraph in ARCHITECTURE.md: {missing}"


def test_the_decisions_count_and_name_every_package_that_is_needed_at_run_time() -> None:
    text = (ROOT / "docs/decisions/dependencies.md").read_text(encoding="utf-8")
    needed = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    names = [re.split(r"[<>=~ ]", package)[0] for package in needed]
    words = ("Thirteen", "Fourteen", "Fifteen", "Sixteen", "Seventeen")
    assert f"{words[len(names) - 13]} packages at run time" in text
    assert [name for name in names if not re.search(rf"\*\*[^*]*\b{name}\b[^*]*\*\*", text)] == []


def test_every_package_that_the_program_imports_is_declared() -> None:
    needed = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["dependencies"]
    declared = {re.split(r"[<>=~ ]", package)[0].replace("-", "_") for package in needed}
    known = declared | {"dressform", "igl", "PIL", "collada", "dask", "distributed"} | set(sys.stdlib_module_names)
    found: dict[str, str] = {}
    for path in ROOT.glob("src/dressform/**/*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [one.name for one in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            found |= {name.split(".")[0]: path.name for name in names}
    assert {name: file for name, file in found.items() if name not in known} == {}


def test_no_file_names_a_place_on_somebody_s_machine() -> None:
    place = re.compile(r"/(?:home|Users|" + "tm" + r"p|root|work)/[A-Za-z.]")
    tracked = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False).stdout.split()
    suspects = [n for n in tracked if Path(n).suffix in {".py", ".md", ".toml", ".json", ".js", ".ts", ""}]
    named = [n for n in suspects if (ROOT / n).is_file() and place.search((ROOT / n).read_text(encoding="utf-8"))]
    assert not named, f"files that carry a path of one machine: {named}"
