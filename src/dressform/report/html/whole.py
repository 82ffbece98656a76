"""What every HTML file of ours holds in itself: its style, its script, and a policy by which it loads nothing else."""

import base64
import hashlib
from importlib.resources import files

PAGE = "page"


def report_style() -> str:
    """The style of all that is read without the live page."""
    return files("dressform.report.html").joinpath("report.css").read_text(encoding="utf-8")


def page_file(name: str) -> str:
    """A built file of the page."""
    return files("dressform.report").joinpath(PAGE, name).read_text(encoding="utf-8")


def policy(style: str, script: str = "") -> str:
    """The content security policy: nothing is loaded, and only what is in the file is used."""
    own = [f"script-src {_digest(script)}"] if script else []
    pictures = "img-src data: blob:" if script else "img-src data:"
    ends = [f"style-src {_digest(style)}", pictures, "base-uri 'none'", "form-action 'none'"]
    return "; ".join(["default-src 'none'", *own, *ends])


def _digest(content: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(content.encode()).digest()).decode()}'"
