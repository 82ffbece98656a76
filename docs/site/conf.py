"""The documents as a site: `make docs`. A link or an anchor that leads nowhere is an error.

Every Markdown file is a page as it stands, so that it reads the same without the site. `docs/index.md` says in which
order.
"""

import os
import re
import tomllib
from pathlib import Path

from sphinx.application import Sphinx

ROOT = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]

project = PROJECT["name"]
version = release = PROJECT["version"]
author = PROJECT["authors"][0]["name"]
copyright = f"{author}, {PROJECT['license']}"

extensions = ["myst_parser"]
root_doc = "docs/index"
include_patterns = ["*.md", "docs/*.md", "docs/**/*.md", "examples/*.md", "runtime/*.md", "web/*.md"]
exclude_patterns = [".venv", "build", "out", "src", "**/node_modules"]  # not walked through
nitpicky = True
myst_heading_anchors = 4

html_theme = "alabaster"
html_static_path = ["static"]
html_title = f"{project} {version}"
html_show_sourcelink = False
html_copy_source = False
html_sidebars = {"**": ["about.html", "searchfield.html", "navigation.html"]}
html_theme_options = {
    "description": PROJECT["description"],
    "fixed_sidebar": True,
    "page_width": "1200px",
    "sidebar_width": "260px",
    "show_powered_by": False,
    "body_text_align": "left",
}


def setup(app: Sphinx) -> None:
    """Put pages that no list of the index names at its end, so that a new one is found before somebody places it."""
    app.connect("source-read", list_the_rest)


def list_the_rest(app: Sphinx, name: str, source: list[str]) -> None:
    """Append a list of such pages to the index."""
    if name != root_doc:
        return
    listed = {line for block in re.findall(r"```\{toctree\}(.*?)```", source[0], re.DOTALL) for line in block.split()}
    known = {os.path.normpath(os.path.join("docs", one)) for one in listed}
    rest = sorted(app.env.found_docs - known - {root_doc})
    if rest:
        entries = "\n".join(f"/{one}" for one in rest)
        source[0] += f"\n```{{toctree}}\n:hidden:\n:caption: Further\n\n{entries}\n```\n"
