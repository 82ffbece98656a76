"""JSON Schemas of the records. `results.schema.json` and its like are written from here and never by hand."""

import inspect
import json
import re
from collections.abc import Iterator
from importlib import resources
from typing import Any

import msgspec

from dressform.formats.case_file import Case
from dressform.formats.results.audit_schema import StoredAudit
from dressform.formats.results.check_schema import StoredResults
from dressform.formats.results.compare_schema import StoredComparisons
from dressform.formats.results.levels_schema import StoredLevels
from dressform.formats.results.record import WORDS
from dressform.formats.results.suggest_schema import StoredSuggestions
from dressform.formats.results.triage_schema import StoredTriage

DIALECT = "https://json-schema.org/draft/2020-12/schema"
FOLDER = "dressform.formats.results"
SCHEMAS: dict[str, tuple[str, type[msgspec.Struct]]] = {
    "results.schema.json": ("dressform results", StoredResults),
    "audit.schema.json": ("dressform audit", StoredAudit),
    "comparison.schema.json": ("dressform comparison", StoredComparisons),
    "suggestion.schema.json": ("dressform suggestion", StoredSuggestions),
    "triage.schema.json": ("dressform triage", StoredTriage),
    "levels.schema.json": ("dressform levels", StoredLevels),
    "case.schema.json": ("dressform case", Case),
}
"""File, title and record of each schema that ships with the package."""

FIELD_INDENT = 4
"""Spaces before a field in a docstring of a class."""

_ENTRY = re.compile(r"^(\w+): (.*)$")


def results_schema() -> dict[str, Any]:
    """The JSON Schema that the results of a check obey, from its file."""
    return stored_schema("results.schema.json")


def audit_schema() -> dict[str, Any]:
    """The JSON Schema that an audit obeys, from its file."""
    return stored_schema("audit.schema.json")


def stored_schema(file: str) -> dict[str, Any]:
    """A schema as it ships with the package."""
    schema: dict[str, Any] = json.loads(resources.files(FOLDER).joinpath(file).read_text(encoding="utf-8"))
    return schema


def schema_text(file: str) -> str:
    """What a schema's file must hold."""
    title, record = SCHEMAS[file]
    return json.dumps(schema_of(record, title), indent=2, ensure_ascii=False) + "\n"


def schema_of(record: type[msgspec.Struct], title: str) -> dict[str, Any]:
    """The JSON Schema of a record, each field described as the docstring of its class says."""
    made = msgspec.json.schema(record)
    definitions = made["$defs"]
    for each in classes_of(record):
        definition, summary, words = definitions[each.__name__], *documented(each)
        definition.pop("title", None)
        definition.update(description=summary, additionalProperties=False)
        for name, field in definition["properties"].items():
            definition["properties"][name] = _described(field, words.get(name, ""))
        definition["required"] = [name for name in definition["properties"] if name in definition.get("required", ())]
    root = definitions.pop(record.__name__)
    whole: dict[str, Any] = _whole({"$schema": DIALECT, "title": title, **root, "$defs": definitions})
    return whole


def classes_of(record: type[msgspec.Struct]) -> list[type]:
    """A record's class and those of all records within it, each once, in the order in which they come."""
    found: list[type] = []

    def visit(kind: msgspec.inspect.Type) -> None:
        if isinstance(kind, msgspec.inspect.StructType | msgspec.inspect.DataclassType):
            if kind.cls in found:
                return
            found.append(kind.cls)
            for field in kind.fields:
                visit(field.type)
        for inner in inner_types(kind):
            visit(inner)

    visit(msgspec.inspect.type_info(record))
    return found


def inner_types(kind: msgspec.inspect.Type) -> Iterator[msgspec.inspect.Type]:
    """The types that a type is made of, fields of records apart."""
    match kind:
        case msgspec.inspect.Metadata():
            yield kind.type
        case msgspec.inspect.DictType():
            yield kind.key_type
            yield kind.value_type
        case msgspec.inspect.ListType() | msgspec.inspect.VarTupleType():
            yield kind.item_type
        case msgspec.inspect.TupleType():
            yield from kind.item_types
        case msgspec.inspect.UnionType():
            yield from kind.types


def documented(record: type) -> tuple[str, dict[str, str]]:
    """What a class is, and what each of its fields means, from its docstring and those of its bases."""
    words: dict[str, str] = {}
    for each in record.__mro__[::-1]:
        _, _, attributes = inspect.cleandoc(each.__dict__.get("__doc__") or "").partition("Attributes:\n")
        name = ""
        for line in attributes.splitlines():
            entry = _ENTRY.match(line.strip())
            indent = len(line) - len(line.lstrip())
            if entry and indent == FIELD_INDENT:
                name = entry[1]
                words[name] = entry[2]
            elif name and line.strip():
                words[name] += f" {line.strip()}"
    summary = (record.__doc__ or "").partition("\n\n")[0]
    return " ".join(summary.split()), words


def _whole(value: Any) -> Any:
    """With the words of types that have a title, and bounds as whole numbers where they are.

    Python keeps whichever of 0 and 0.0 it meets first.
    """
    if isinstance(value, dict):
        words = {"enum": WORDS[value["title"]]} if value.get("title") in WORDS else {}
        return {key: _whole(each) for key, each in (value | words).items()}
    if isinstance(value, list):
        return [_whole(each) for each in value]
    return int(value) if isinstance(value, float) and value.is_integer() else value


def _described(field: dict[str, Any], words: str) -> dict[str, Any]:
    """A field with its description first; a single value that it must have is a constant."""
    if list(field) == ["enum"] and len(field["enum"]) == 1:
        field = {"const": field["enum"][0]}
    field.pop("default", None)
    return {"description": words, **field} if words else field
