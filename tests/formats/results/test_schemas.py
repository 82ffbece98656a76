"""Schema files, tables and TypeScript types say what the records say, and no more."""

import re
from pathlib import Path
from typing import Annotated, Any

import jsonschema
import msgspec
import pytest
from msgspec import Meta, Struct

from dressform.formats.results.json_schema import SCHEMAS, classes_of, documented, schema_of, schema_text, stored_schema
from dressform.formats.results.page.about import About
from dressform.formats.results.typescript import answer_types, key_sorts, named_types, request_types
from dressform.web.page_types import page_types

ROOT = Path(__file__).resolve().parents[3]
FOLDER = ROOT / "src/dressform/formats/results"
TYPES = ROOT / "web/src/data/schema.ts"


@pytest.mark.parametrize("file", SCHEMAS)
def test_a_schema_file_is_what_the_records_give(file: str) -> None:
    assert (FOLDER / file).read_text(encoding="utf-8") == schema_text(file), "run python docs/regenerate.py"
    jsonschema.Draft202012Validator.check_schema(stored_schema(file))


def test_the_types_of_the_page_are_what_the_records_give() -> None:
    assert TYPES.read_text(encoding="utf-8") == page_types(), "run python docs/regenerate.py"


@pytest.mark.parametrize("record", [*(record for _, record in SCHEMAS.values()), About])
def test_every_field_of_every_record_is_described(record: type[Struct]) -> None:
    for each in classes_of(record):
        _, words = documented(each)
        fields = {field.name for field in msgspec.structs.fields(each)}
        tag = each.__struct_config__.tag_field
        assert fields | ({tag} if tag else set()) == set(words), each.__name__


class Leaf(Struct, frozen=True):
    """A leaf.

    Attributes:
        width: How wide it is,
            at its widest.
        colour: Its colour.
    """

    width: Annotated[float, Meta(ge=0)]
    colour: Annotated[str, Meta(title="Colour", extra_json_schema={"enum": ["", "green"]})] = ""


class Twig(Struct, frozen=True, tag_field="kind", tag="twig"):
    """A twig."""

    leaves: tuple[Leaf, ...]
    tip: Leaf | None
    at: tuple[float, float]
    names: dict[str, list[int | None]]
    what: Any = None


def test_descriptions_come_from_docstrings_and_unknown_fields_are_refused() -> None:
    schema = schema_of(Twig, "twig")
    assert schema["$defs"]["Leaf"]["properties"]["width"] == {
        "description": "How wide it is, at its widest.", "type": "number", "minimum": 0
    }  # fmt: skip
    assert schema["properties"]["kind"] == {"const": "twig"}
    good = {"kind": "twig", "leaves": [{"width": 1.0}], "tip": None, "at": [0, 1], "names": {"a": [1, None]}}
    jsonschema.validate(good, schema)
    for broken in ({**good, "more": 1}, {**good, "kind": "log"}, {**good, "leaves": [{"width": -1}]}):
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate(broken, schema)


def test_what_is_read_has_every_field_and_what_is_sent_may_lack_defaults() -> None:
    read = " ".join(re.sub(r"/\*\*.*?\*/", "", answer_types([Twig])).split())
    assert read == (
        'export interface Twig { kind: "twig"; leaves: Leaf[]; tip: Leaf | null; at: [number, number]; '
        "names: Record<string, (number | null)[]>; what: unknown; } "
        "export interface Leaf { width: number; colour: Colour; }"
    )
    sent = " ".join(re.sub(r"/\*\*.*?\*/", "", request_types([Leaf], left_out=("width",))).split())
    assert sent == "export interface Leaf { readonly colour?: Colour; }"
    assert named_types([Twig]) == 'export type Colour = "" | "green";'
    assert key_sorts(Twig) == {"kind": "string", "leaves": "array", "tip": "object", "at": "array", "names": "object",
                               "what": "object"}  # fmt: skip


def test_a_type_that_typescript_is_not_told_of_is_refused() -> None:
    class Strange(Struct):
        """Strange."""

        when: bytes

    with pytest.raises(TypeError, match=r"`records` must be made of types with a TypeScript type, got BytesType"):
        answer_types([Strange])
