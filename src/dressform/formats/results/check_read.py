"""Results read back from the JSON that a check wrote."""

from typing import Any

import msgspec

from dressform.errors import FileError
from dressform.formats.results.check_schema import SCHEMA_NAME, StoredResults


def read_results(data: bytes, *, path: str) -> StoredResults:
    """Results from the bytes of a JSON file.

    Args:
        data: Content of the file.
        path: Its name, for messages.

    Raises:
        FileError: it is no JSON, no results, or results of another version.
    """
    again = "Run dressform check with --json again"
    try:
        schema = msgspec.json.decode(data, type=_Versioned).schema
        if schema != SCHEMA_NAME:
            raise FileError.of(path, "", f"holds {schema or 'something else'}, not {SCHEMA_NAME}", again)
        return msgspec.json.decode(data, type=StoredResults)
    except msgspec.DecodeError as error:
        raise FileError.of(path, "", f"holds no results of a check ({error})", again) from error


class _Versioned(msgspec.Struct):
    schema: Any = ""
