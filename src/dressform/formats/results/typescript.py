"""TypeScript types of the records: `web/src/data/schema.ts` is written from here and never by hand."""

from collections.abc import Sequence
from typing import Any

import msgspec
from msgspec import inspect

from dressform.formats.results.json_schema import classes_of, documented, inner_types
from dressform.formats.results.record import WORDS

ATOMS: tuple[tuple[type[inspect.Type], str], ...] = (
    (inspect.StrType, "string"),
    (inspect.BoolType, "boolean"),
    (inspect.IntType, "number"),
    (inspect.FloatType, "number"),
    (inspect.NoneType, "null"),
    (inspect.AnyType, "unknown"),
)


def answer_types(records: Sequence[type[msgspec.Struct]]) -> str:
    """Interfaces of what is read: every field is there."""
    return "\n".join(_interface(each, sent=False) for each in _all(records))


def request_types(
    records: Sequence[type[msgspec.Struct]], *, left_out: Sequence[str] = (), known: Sequence[type] = ()
) -> str:
    """Interfaces of what is sent: fields with a default may be missing, and lists may be constant.

    Args:
        records: The requests.
        left_out: Fields that the sender adds to every request.
        known: Records that have an interface already.
    """
    fresh = [each for each in _all(records) if each not in known]
    return "\n".join(_interface(each, sent=True, left_out=left_out) for each in fresh)


def named_types(records: Sequence[type[msgspec.Struct]]) -> str:
    """One type for each set of words that has a name."""
    found: dict[str, str] = {}

    def visit(kind: inspect.Type) -> None:
        title, words = _words(kind)
        if title:
            found[title] = " | ".join(_literal(word) for word in words)
        for inner in inner_types(kind):
            visit(inner)

    for each in _all(records):
        for field in struct_info(each).fields:
            visit(field.type)
    return "\n".join(f"export type {name} = {words};" for name, words in found.items())


def key_sorts(record: type[msgspec.Struct]) -> dict[str, str]:
    """Each key of a record and what its value is in JavaScript: a string, a number, an array or an object."""
    info = struct_info(record)
    tag = {info.tag_field: "string"} if info.tag_field is not None else {}
    return tag | {field.encode_name: _sort(_type(field.type, constant=False)) for field in info.fields}


def struct_info(record: type) -> inspect.StructType:
    """The fields of a record.

    Raises:
        TypeError: it is no record.
    """
    info = inspect.type_info(record)
    if not isinstance(info, inspect.StructType):
        raise TypeError(f"struct_info: `record` must be a msgspec Struct, got {record.__name__}. Make it one.")
    return info


def _sort(words: str) -> str:
    if words.endswith("]"):
        return "array"
    return words if words in ("string", "number", "boolean") else "string" if words.startswith('"') else "object"


def _all(records: Sequence[type[msgspec.Struct]]) -> list[type]:
    return list(dict.fromkeys(each for record in records for each in classes_of(record)))


def _interface(record: type, *, sent: bool, left_out: Sequence[str] = ()) -> str:
    """One interface, documented."""
    summary, words = documented(record)
    info = struct_info(record)
    lines = [f"/** {summary} */", f"export interface {record.__name__} {{"]
    if info.tag_field is not None and not sent:
        lines.append(f"  {info.tag_field}: {_literal(info.tag)};")
    for field in info.fields:
        if field.encode_name in left_out:
            continue
        if words.get(field.name):
            lines.append(f"  /** {words[field.name]} */")
        before, mark = "readonly " if sent else "", "?" if sent and not field.required else ""
        lines.append(f"  {before}{field.encode_name}{mark}: {_type(field.type, constant=sent)};")
    return "\n".join([*lines, "}"])


def _type(kind: inspect.Type, *, constant: bool) -> str:
    """A type in the words of TypeScript.

    Raises:
        TypeError: records hold no such type so far.
    """
    title, _ = _words(kind)
    if title:
        return title
    for atom, name in ATOMS:
        if isinstance(kind, atom):
            return name
    before = "readonly " if constant else ""
    match kind:
        case inspect.Metadata():
            return _type(kind.type, constant=constant)
        case inspect.LiteralType():
            return " | ".join(_literal(value) for value in kind.values)
        case inspect.StructType():
            return kind.cls.__name__
        case inspect.DictType():
            values = f"Record<string, {_type(kind.value_type, constant=constant)}>"
            return f"Readonly<{values}>" if constant else values
        case inspect.ListType() | inspect.VarTupleType():
            item = _type(kind.item_type, constant=constant)
            return f"{before}({item})[]" if " " in item else f"{before}{item}[]"
        case inspect.TupleType():
            return f"{before}[{', '.join(_type(item, constant=constant) for item in kind.item_types)}]"
        case inspect.UnionType():
            return " | ".join(_type(one, constant=constant) for one in kind.types)
    raise TypeError(f"answer_types: `records` must be made of types with a TypeScript type, got {kind!r}. Add it here.")


def _words(kind: inspect.Type) -> tuple[str, list[str]]:
    """Name and members of a set of words that has a name; an empty name for any other type."""
    extra: dict[str, Any] = (kind.extra_json_schema or {}) if isinstance(kind, inspect.Metadata) else {}
    title = extra.get("title", "")
    words = extra.get("enum", WORDS.get(title, []))
    return (title, words) if words else ("", [])


def _literal(value: object) -> str:
    return f'"{value}"' if isinstance(value, str) else str(value)
