"""Results read back from the JSON that a check wrote."""

from typing import Any

import msgspec

from dressform.errors import FileError
from dressform.faults.registry import FAULTS
from dressform.faults.results import SEVERITIES
from dressform.formats.results.check_schema import SCHEMA_NAME, StoredResults


def read_results(data: bytes, *, path: str) -> StoredResults:
    """Results from the bytes of a JSON file.

    Args:
        data: Content of the file.
        path: Its name, for messages.

    Raises:
        FileError: it is no JSON, no results, results of another version, names an unknown fault or severity, or a
            cluster has no name.
    """
    again = "Run dressform check with --json again"
    try:
        schema = msgspec.json.decode(data, type=_Versioned).schema
        if schema != SCHEMA_NAME:
            raise FileError.of(path, "", f"holds {schema or 'something else'}, not {SCHEMA_NAME}", again)
        told = msgspec.json.decode(data, type=StoredResults)
    except (msgspec.DecodeError, RecursionError) as error:
        raise FileError.of(path, "", f"holds no results of a check ({error})", again) from error
    _refuse_unknown(told, path, again)
    return told


def _refuse_unknown(told: StoredResults, path: str, advice: str) -> None:
    """Refuse faults and severities that there are not."""
    for garment in told.garments:
        for cluster in garment.clusters:
            place = f"{garment.key}/{cluster.name}"
            if not cluster.name:
                raise FileError.of(path, place, "has no name", advice)
            if cluster.place.fault not in FAULTS:
                problem = f"names the fault {cluster.place.fault!r}, not one of {', '.join(FAULTS)}"
                raise FileError.of(path, place, problem, advice)
            for severity in (cluster.place.severity, *(one.severity for one in cluster.seen)):
                if severity not in SEVERITIES:
                    problem = f"has the severity {severity!r}, not one of {', '.join(SEVERITIES)}"
                    raise FileError.of(path, place, problem, advice)


class _Versioned(msgspec.Struct):
    schema: Any = ""
