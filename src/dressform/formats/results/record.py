"""What every record of the results is: frozen, documented field by field, and turned into plain values for JSON."""

import json
from typing import Annotated, Any

import msgspec
from msgspec import Meta, Struct

from dressform.causes.results import CAUSES, OWNERS
from dressform.faults.registry import FAULTS

NonNegative = Annotated[float, Meta(ge=0)]
Percent = Annotated[float, Meta(ge=0, le=100)]
Share = Annotated[float, Meta(ge=0, le=1)]
Count = Annotated[int, Meta(ge=0)]
Sha256 = Annotated[str, Meta(pattern="^[0-9a-f]{64}$")]
Interval = tuple[float, float]
Position = tuple[float, float, float]
Cause = Annotated[str, Meta(title="Cause", extra_json_schema={"enum": ["", *CAUSES]})]
"""One of `CAUSES`, or empty."""
Owner = Annotated[str, Meta(title="Owner", extra_json_schema={"enum": ["", *dict.fromkeys(OWNERS.values())]})]
"""One of the owners of a cause, or empty."""


WORDS = {"Fault": ["", *FAULTS]}
"""Words of a type by its title, where they are not known yet when the type is made."""


class Record(Struct, frozen=True, kw_only=True):
    """A record of the results. Its docstring says what each field means: schema, tables and TypeScript quote it."""


class Source(Struct, frozen=True):
    """A file that was read.

    Attributes:
        file: Path as it was given.
        sha256: SHA-256 of the file's bytes, in hexadecimal.
    """

    file: str
    sha256: str


def plain(record: object) -> Any:
    """A record, or whatever holds records, as JSON's own kinds of values."""
    return msgspec.to_builtins(record, str_keys=True)


def json_text(record: Struct) -> str:
    """A record as JSON text, keys in the order of its fields.

    Raises:
        ValueError: a number is not finite.
    """
    return json.dumps(plain(record), indent=1, ensure_ascii=False, allow_nan=False) + "\n"
