"""Rewrite what the documents quote from the program: `python docs/regenerate.py`.

`docs/commands.md` holds the help of every command, `docs/results.md` and `docs/audit.md` the fields of their JSON
Schemas, `docs/faults.md` the bands of every fault. Only what stands between a pair of marks is replaced; the tests
compare it with the live program. The schema of results gets the names of the faults.
"""

import io
import json
import re
import sys
from pathlib import Path
from typing import Any

from rich.console import Console

sys.path.insert(0, str(Path(__file__).resolve().parent))

from api_page import api_blocks

from dressform.cli.app import COMMANDS, SUBCOMMANDS, app
from dressform.faults.registry import ALL_FAULTS, FAULTS
from dressform.faults.results import SEVERITIES
from dressform.formats.results.audit_json import audit_schema
from dressform.formats.results.check_json import SCHEMA_FILE, results_schema

FOLDER = Path(__file__).resolve().parent
HELP_WIDTH = 100
SCHEMA = FOLDER.parent / "src" / "dressform" / "formats" / "results" / SCHEMA_FILE


def help_text(command: str) -> str:
    """The help of one command as a terminal of `HELP_WIDTH` columns without colours shows it."""
    stream = io.StringIO()
    console = Console(file=stream, width=HELP_WIDTH, force_terminal=False, color_system=None)
    app.help_print(command.split(), console=console)
    lines = [line.rstrip() for line in stream.getvalue().strip().splitlines()]
    return re.sub(r"\n{3,}", "\n\n", "\n".join(lines))


def command_blocks() -> dict[str, str]:
    """What stands between the marks of `docs/commands.md`, by mark."""
    members = [f"{family} {member}" for family, known in SUBCOMMANDS.items() for member in known]
    return {name or "dressform": f"```text\n{help_text(name)}\n```" for name in ("", *COMMANDS, *members)}


def field_tables(schema: dict[str, Any]) -> dict[str, str]:
    """What stands between the marks of `docs/results.md` and `docs/audit.md`."""
    parts = ["### The file\n\n" + _table(schema, schema)]
    for name, definition in schema["$defs"].items():
        if "properties" in definition:
            parts.append(f"### {name}\n\n{definition['description']}\n\n{_table(definition, schema)}")
    return {"fields": "\n\n".join(parts)}


def band_table() -> dict[str, str]:
    """What stands between the marks of `docs/faults.md`: every fault with its bands."""
    rows = [
        f"| `{one.key}` | {one.figure} | {' | '.join(f'{bound:g}' for bound in one.bands)} | {one.reason} |"
        for one in ALL_FAULTS
    ]
    head = f"| fault | figure | {' | '.join(SEVERITIES[1:])} | why |"
    return {"bands": "\n".join(["", head, "|---|---|---|---|---|---|", *rows, ""])}


def with_faults(schema: dict[str, Any]) -> dict[str, Any]:
    """The schema of results with the faults of the registry wherever it lists faults."""
    changed: dict[str, Any] = {}
    for name, value in schema.items():
        if name == "enum" and set(value) & set(FAULTS):
            changed[name] = list(FAULTS)
        else:
            changed[name] = with_faults(value) if isinstance(value, dict) else value
    return changed


def rewritten(text: str, blocks: dict[str, str]) -> str:
    """The text with every marked block replaced."""
    for mark, block in blocks.items():
        pattern = re.compile(rf"(<!-- {mark} -->\n).*?(<!-- end {mark} -->)", re.DOTALL)
        if not pattern.search(text):
            raise SystemExit(f"no marks <!-- {mark} --> … <!-- end {mark} -->")
        text = pattern.sub(lambda found, block=block: f"{found[1]}{block}\n{found[2]}", text)
    return text


def documents() -> dict[Path, dict[str, str]]:
    """Blocks of every document that is rewritten."""
    return {
        FOLDER / "commands.md": command_blocks(),
        FOLDER / "faults.md": band_table(),
        FOLDER / "results.md": field_tables(with_faults(results_schema())),
        FOLDER / "audit.md": field_tables(audit_schema()),
        FOLDER / "api.md": api_blocks(),
    }


def _table(definition: dict[str, Any], schema: dict[str, Any]) -> str:
    rows = []
    for name, field in definition["properties"].items():
        if "$ref" in field and "description" not in field:
            field = {**field, "description": schema["$defs"][field["$ref"].split("/")[-1]]["description"]}
        rows += _rows(name, field)
    return "\n".join(["| field | what | type |", "|---|---|---|", *rows])


def _rows(name: str, field: dict[str, Any]) -> list[str]:
    """A field and, below it, the fields of an object that every one of its values is."""
    rows = [f"| `{name}` | {field.get('description', '')} | {_kind(field)} |"]
    values = field.get("additionalProperties")
    if isinstance(values, dict):
        rows += [
            f"| `{name}` › any › `{inner}` | {what['description']} | {_kind(what)} |"
            for inner, what in values.get("properties", {}).items()
        ]
    return rows


def _kind(field: dict[str, Any]) -> str:
    if "$ref" in field:
        reference = field["$ref"].split("/")[-1]
        return f"[{reference}](#{reference})" if reference != "severity" else "severity"
    if "const" in field:
        return f"`{field['const']}`"
    if "enum" in field:
        return ", ".join(f"`{value}`" if value else "empty" for value in field["enum"])
    if "anyOf" in field:
        return " or ".join(_kind(one) for one in field["anyOf"])
    if field.get("type") == "array" and isinstance(field.get("items"), dict):
        return f"list of {_kind(field['items'])}"
    return str(field.get("type", "any"))


def main() -> None:
    """Rewrite the documents in place, and the names of faults in the schema of results."""
    schema = json.dumps(with_faults(results_schema()), indent=2, ensure_ascii=False)
    SCHEMA.write_text(f"{schema}\n", encoding="utf-8")
    for path, blocks in documents().items():
        path.write_text(rewritten(path.read_text(encoding="utf-8"), blocks), encoding="utf-8")


if __name__ == "__main__":
    main()
