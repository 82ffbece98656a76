"""Names of files without their folders, which no page may tell."""

import re
from collections.abc import Mapping, Sequence
from typing import Any

from msgspec import structs

from dressform.formats.results.failed import FailedGarment

FILE_SETTINGS = ("morphs", "range")
"""Settings that name a file or a folder."""


def bare_name(path: str) -> str:
    """The name of a file without its folders, whichever system wrote the path."""
    return re.split(r"[\\/]", path)[-1]


def bare_failed(one: FailedGarment) -> FailedGarment:
    """A broken garment without the folders of its file."""
    name = bare_name(one.file)
    reason = one.reason.replace(one.file, name) if one.file else one.reason
    return structs.replace(one, file=name, reason=reason)


def bare_settings(settings: Mapping[str, object]) -> dict[str, Any]:
    """Settings without folders: of those that name a file, and of every absolute path."""
    return {
        name: bare_name(value) if name in FILE_SETTINGS and isinstance(value, str) else _bare(value)
        for name, value in settings.items()
    }


def _bare(value: object) -> object:
    if isinstance(value, str):
        return bare_name(value) if re.match(r"[\\/]|[A-Za-z]:[\\/]", value) else value
    if isinstance(value, Mapping):
        return {str(key): _bare(each) for key, each in value.items()}
    if isinstance(value, Sequence):
        return [_bare(each) for each in value]
    return value
