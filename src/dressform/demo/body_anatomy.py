"""The anatomy table: numbers per build, their mean (the template), and the edits that make morphs."""

import tomllib
from collections.abc import Mapping
from functools import cache
from importlib.resources import files
from typing import Any

import numpy as np

from dressform.errors import ArgumentError

BUILDS = ("woman", "man")
CENTIMETRE = 0.01

Anatomy = dict[str, Any]
"""Nested names to arrays of numbers (lengths in centimetres) or to text."""


@cache
def tables() -> tuple[Anatomy, Anatomy]:
    """The anatomy and the morph tables as written."""
    folder = files("dressform.demo")
    anatomy = tomllib.loads(folder.joinpath("anatomy.toml").read_text("utf-8"))
    return anatomy, tomllib.loads(folder.joinpath("anatomy_morphs.toml").read_text("utf-8"))


def build(name: str | None = None) -> Anatomy:
    """The anatomy of one build, or of the template (the mean of all builds)."""
    return {key: _resolve(entry, name) for key, entry in tables()[0].items()}


def _resolve(entry: Any, name: str | None) -> Any:
    if isinstance(entry, Mapping):
        if set(entry) == set(BUILDS):
            chosen = [np.asarray(entry[each], float) for each in (BUILDS if name is None else (name,))]
            return np.mean(chosen, axis=0)
        return {key: _resolve(inner, name) for key, inner in entry.items()}
    if isinstance(entry, (str, bool)) or (isinstance(entry, list) and entry and isinstance(entry[0], str)):
        return entry
    return np.asarray(entry, float)


def edited(anatomy: Anatomy, morph: str, weight: float, name: str) -> Anatomy:
    """The anatomy of build `name` with one morph applied at `weight`.

    Each edit of the morph names entries (`*` for all in one table) and adds to them or scales them; an edit may be
    for one build only.

    Raises:
        ArgumentError: an edit names an entry that the anatomy lacks.
    """
    result: Anatomy = _copied(anatomy)
    for edit in tables()[1]["morphs"][morph]["edits"]:
        if edit.get("build", name) != name:
            continue
        for path in edit["paths"]:
            _apply(result, path.split("."), edit, weight)
    return result


def _copied(entry: Any) -> Any:
    return {key: _copied(inner) for key, inner in entry.items()} if isinstance(entry, dict) else entry


def _apply(anatomy: Anatomy, path: list[str], edit: Mapping[str, Any], weight: float) -> None:
    table = anatomy
    for depth, step in enumerate(path[:-1]):
        if step == "*":
            for key in table:
                if _has(table[key], path[depth + 1 :]):
                    _apply(table[key], path[depth + 1 :], edit, weight)
            return
        if step not in table:
            raise ArgumentError.of("edited", "paths", f"entries of {sorted(table)}", repr(step), "Correct the table")
        table = table[step]
    if path[-1] not in table:
        raise ArgumentError.of("edited", "paths", f"entries of {sorted(table)}", repr(path[-1]), "Correct the table")
    old = table[path[-1]]
    if "scale" in edit:
        old = old * (1.0 + weight * (np.asarray(edit["scale"], float) - 1.0))
    if "add" in edit:
        old = old + weight * np.asarray(edit["add"], float)
    table[path[-1]] = old


def _has(table: Any, path: list[str]) -> bool:
    return isinstance(table, dict) and (path[0] == "*" or path[0] in table)
