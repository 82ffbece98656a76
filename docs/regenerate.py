"""Rewrite what the documents quote from the program: `python docs/regenerate.py`.

`docs/commands.md` holds the help of every command and the bands in the units of tables, `docs/faults.md` the bands with
their reasons, `docs/stances.md` the limits of joints; `docs/results.md` and `docs/audit.md` the fields of the records,
which also give the JSON Schemas and the types of the page. Of a document only what stands between a pair of marks is
replaced. The tests compare it all with the live program.
"""

import io
import re
import sys
import textwrap
from pathlib import Path
from typing import Any

from rich.console import Console

sys.path.insert(0, str(Path(__file__).resolve().parent))

from api_page import api_blocks
from man_page import man_page

from dressform.body.stances.motion_table import joint_motions
from dressform.cli.app import COMMANDS, SUBCOMMANDS, SUMMARY, app
from dressform.faults.registry import ALL_FAULTS
from dressform.faults.results import SEVERITIES
from dressform.formats.results.audit_schema import StoredAudit
from dressform.formats.results.check_schema import StoredResults
from dressform.formats.results.json_schema import SCHEMAS, schema_of, schema_text
from dressform.web.page_types import page_types

FOLDER = Path(__file__).resolve().parent
RECORDS = FOLDER.parent / "src/dressform/formats/results"
TYPES = FOLDER.parent / "web/src/data/schema.ts"
HELP_WIDTH = 100


def help_text(command: str) -> str:
    """The help of one command as a terminal of `HELP_WIDTH` columns without colours shows it."""
    stream = io.StringIO()
    console = Console(file=stream, width=HELP_WIDTH, force_terminal=False, color_system=None)
    app.meta([*command.split(), "--help"], console=console, result_action="return_value")
    lines = [line.rstrip() for line in stream.getvalue().strip().splitlines()]
    return re.sub(r"\n{3,}", "\n\n", "\n".join(lines))


def command_blocks() -> dict[str, str]:
    """What stands between the marks of `docs/commands.md`, by mark."""
    members = [f"{family} {member}" for family, known in SUBCOMMANDS.items() for member in known]
    return {name or "dressform": f"```text\n{help_text(name)}\n```" for name in ("", *COMMANDS, *members)}


def field_tables(schema: dict[str, Any]) -> dict[str, str]:
    """What stands between the marks of `docs/results.md` and `docs/audit.md`."""
    parts = ["### The file\n\n" + _table(schema)]
    for name, definition in schema["$defs"].items():
        if "properties" in definition:
            parts.append(f"### {name}\n\n{definition['description']}\n\n{_table(definition)}")
    return {"fields": "\n\n".join(parts)}


def band_table() -> dict[str, str]:
    """What stands between the marks of `docs/faults.md`: every fault with its bands."""
    rows = [
        f"| `{one.key}` | {one.figure} | {' | '.join(f'{bound:g}' for bound in one.bands)} | {one.reason} |"
        for one in ALL_FAULTS
    ]
    head = f"| fault | figure | {' | '.join(SEVERITIES[1:])} | why |"
    return {"bands": "\n".join(["", head, "|---|---|---|---|---|---|", *rows, ""])}


def limits_table() -> dict[str, str]:
    """What stands between the marks of `docs/stances.md`: every limit of joint motion with its source."""
    rows = []
    for row in joint_motions().values():
        also = ", ".join(
            f"{part} {motion.replace('_', ' ')} {degrees:g}"
            for part, steps in row.posture.items()
            for motion, degrees in steps.items()
        )
        source = row.source + ("" if row.is_read else " (memory)")
        sides = "one at a time" if row.is_apart else "both"
        motion = row.motion.replace("_", " ")
        rows.append(f"| {row.joint.replace('_', ' ')} | {motion} | {row.degrees:g} | {also} | {sides} | {source} |")
    head = "| part | motion | degrees | with | sides | source |"
    return {"limits": "\n".join(["", head, "|---|---|---|---|---|---|", *rows, ""])}


def unit_table() -> str:
    """The bands of every fault in the units of tables and of the bands TOML."""
    rows = [
        f"| `{one.key}` | {one.words} | {one.unit} | {' | '.join(f'{bound * one.factor:g}' for bound in one.bands)} |"
        for one in ALL_FAULTS
    ]
    return "\n".join(
        [f"| fault | in words | unit | {' | '.join(SEVERITIES[1:])} |", "|---|---|---|---|---|---|", *rows]
    )


def fault_list() -> str:
    """The names of all faults, in the order in which they are told."""
    words = f"- Faults are named {', '.join(f'`{one.key}`' for one in ALL_FAULTS)}."
    return textwrap.fill(words, 120, subsequent_indent="  ", break_on_hyphens=False)


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
        FOLDER / "commands.md": command_blocks() | {"bands": unit_table()},
        FOLDER / "faults.md": band_table(),
        FOLDER / "results.md": field_tables(schema_of(StoredResults, "")) | {"faults": fault_list()},
        FOLDER / "audit.md": field_tables(schema_of(StoredAudit, "")),
        FOLDER / "api.md": api_blocks(),
        FOLDER / "stances.md": limits_table(),
    }


def files() -> dict[Path, str]:
    """Files that are written whole."""
    schemas = {RECORDS / name: schema_text(name) for name in SCHEMAS}
    return schemas | {TYPES: page_types(), FOLDER / "dressform.1": man_page(SUMMARY, COMMANDS, help_text)}


def _table(definition: dict[str, Any]) -> str:
    rows = [
        f"| `{name}` | {field.get('description', '')} | {_kind(field)} |"
        for name, field in definition["properties"].items()
    ]
    return "\n".join(["| field | what | type |", "|---|---|---|", *rows])


def _kind(field: dict[str, Any]) -> str:
    if "$ref" in field:
        reference = field["$ref"].split("/")[-1]
        return f"[{reference}](#{reference.lower()})"
    if "const" in field:
        return f"`{field['const']}`"
    if "enum" in field:
        return ", ".join(f"`{value}`" if value else "empty" for value in field["enum"])
    if "anyOf" in field:
        return " or ".join(_kind(one) for one in field["anyOf"])
    if field.get("type") == "array" and isinstance(field.get("items"), dict):
        return f"list of {_kind(field['items'])}"
    if field.get("type") == "array":
        return f"{len(field['prefixItems'])} × {_kind(field['prefixItems'][0])}"
    if isinstance(field.get("additionalProperties"), dict):
        return f"by name: {_kind(field['additionalProperties'])}"
    return str(field.get("type", "any"))


def main() -> None:
    """Rewrite the documents in place, and the files that are written whole."""
    for path, blocks in documents().items():
        path.write_text(rewritten(path.read_text(encoding="utf-8"), blocks), encoding="utf-8")
    for path, text in files().items():
        path.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
