"""Wrong calls refused in the words of the call: arguments are checked against their annotations before any work.

A library that checks types at run time would take True for a number, refuse numbers of NumPy, and say which annotation
was broken; a person is told here what to give instead.
"""

import difflib
import inspect
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import wraps
from numbers import Integral, Real
from os import PathLike
from types import NoneType, UnionType
from typing import Any, ParamSpec, TypeVar, Union, get_args, get_origin

import numpy as np

from dressform.errors import ArgumentError

SHOWN = 60
"""So many characters of a wrong value are quoted."""
CORRECT = "Correct it"

KINDS = {
    "Body": ("a body", "Read one with load_body"),
    "Garment": ("a garment", "Read one with load_garment"),
    "Following": ("a Following", "Write for instance Following(margin_mm=2)"),
    "Fit": ("a fit", "Make one with fit; of what repair returned, give its `fit`"),
    "Repaired": ("a fit", "Make one with fit"),
    "Fitted": ("a fit", "Make one with fit"),
    "CheckResult": ("what check returned", "Call check first"),
    "OutfitResult": ("what outfit returned", "Call outfit first"),
    "Bands": ("made by Bands", "Leave it out, or write Bands(depth=(…, …, …))"),
    "ShapeSettings": ("a ShapeSettings", "Give for instance 64"),
    "Range": ("a Range", "Write for instance Range.unit(names)"),
    "Path": ("a path", "Name a file"),
    "KeptRows": ("an open store", "Name a file"),
    "str": ("a text", CORRECT),
    "bool": ("True or False", CORRECT),
    "int": ("a whole number", CORRECT),
    "float": ("a number", CORRECT),
}
"""What a value of each kind is called, and where one comes from."""
NUMBERS: dict[object, Any] = {int: Integral, float: Real}

Given = ParamSpec("Given")
Returned = TypeVar("Returned")


def called(
    name: str, *, apart: tuple[str, ...] = ()
) -> Callable[[Callable[Given, Returned]], Callable[Given, Returned]]:
    """A public function whose arguments are checked by their annotations, and whose refusals bear its own name.

    Args:
        name: What the function is called in messages.
        apart: Arguments that it checks itself, since their rule is more than a kind.

    Proof: tests/jobs/test_wrong_calls.py
    """

    def wrap(function: Callable[Given, Returned]) -> Callable[Given, Returned]:
        signature = inspect.signature(function)

        @wraps(function)
        def checked(*args: Given.args, **options: Given.kwargs) -> Returned:
            for argument, value in signature.bind(*args, **options).arguments.items():
                if argument not in apart:
                    refuse_misfit(name, argument, value, signature.parameters[argument].annotation)
            try:
                return function(*args, **options)
            except ArgumentError as error:
                if error.function in {"", name} or not error.function.islower():
                    raise
                raise _renamed(error, name) from None

        return checked

    return wrap


def refuse_misfit(function: str, argument: str, value: object, hint: Any) -> None:
    """Refuse a value that its annotation does not allow.

    Raises:
        ArgumentError: it is of another kind, or holds something of another kind; that is quoted.
    """
    if not fits(value, hint):
        rule, advice = words_of(hint)
        raise ArgumentError.of(function, argument, rule, quoted(value), advice)


def fits(value: object, hint: Any) -> bool:
    """Whether an annotation allows a value. Arrays, weights among them, are left to those who know their shape."""
    origin, inner = get_origin(hint) or hint, get_args(hint)
    if origin in (Union, UnionType):
        return any(fits(value, one) for one in inner)
    if hint is None or hint is NoneType:
        return value is None
    if origin is Callable:
        return callable(value)
    if origin is Mapping:
        return isinstance(value, Mapping) and all(fits(k, inner[0]) and fits(v, inner[1]) for k, v in value.items())
    if origin in (Sequence, tuple):
        if isinstance(value, str | bytes) or not isinstance(value, Sequence):
            return isinstance(value, str) and inner[0] is str and origin is Sequence
        return all(fits(item, inner[0]) for item in value)
    return _is_a(value, origin)


def _is_a(value: object, kind: Any) -> bool:
    """Whether a value is of a plain kind; True and False are no numbers."""
    if not isinstance(kind, type) or kind is object or issubclass(kind, np.ndarray) or hasattr(kind, "array_type"):
        return True
    if kind is bool:
        return isinstance(value, bool | np.bool_)
    if _is_path(kind):
        return isinstance(value, PathLike)
    return isinstance(value, NUMBERS.get(kind, kind)) and not isinstance(value, bool)


def _is_path(kind: object) -> bool:
    """Whether an annotation is the class of paths; known by its name, as this module knows no files."""
    return getattr(kind, "__name__", "") == "Path"


def words_of(hint: Any) -> tuple[str, str]:
    """What an annotation asks for, as the rule of a message, and what to do."""
    origin, inner = get_origin(hint) or hint, get_args(hint)
    if origin in (Union, UnionType):
        kinds = [one for one in inner if one is not NoneType and not (one is int and float in inner)]
        told = [words_of(one) for one in kinds if not (one is str and any(map(_is_path, kinds)))]
        rules = list(dict.fromkeys(rule for rule, _ in told))
        return " or ".join([*rules, *(["left out"] if NoneType in inner else [])]), told[0][1]
    if origin is Mapping:
        return f"{words_of(inner[1])[0]} by name", "Write {name: value}"
    if origin in (Sequence, tuple):
        rule, advice = words_of(inner[0])
        return f"a list, each {rule}", advice
    name = getattr(hint, "__name__", "")
    if name in KINDS:
        return KINDS[name]
    return ("a function", CORRECT) if origin is Callable else (f"a {name}", CORRECT)


def likely(word: str, known: Iterable[str], otherwise: str = "Use one of these names") -> str:
    """What to do about a name that is unknown: write the one that was likely meant, else what `otherwise` says.

    Proof: tests/test_likely.py
    """
    names = {name.lower(): name for name in known}
    near = difflib.get_close_matches(word.lower(), names, n=1)
    return f"Write {names[near[0]]}" if near else otherwise


def quoted(value: object) -> str:
    """A wrong value as a message shows it: numbers and words as they were written, other things by their kind."""
    if value is None or isinstance(value, Real | str):
        return repr(value)[:SHOWN]
    if isinstance(value, list | tuple) and value and all(one is None or isinstance(one, Real | str) for one in value):
        return repr(value)[:SHOWN]
    return f"a {type(value).__name__}"


def _renamed(error: ArgumentError, name: str) -> ArgumentError:
    """The same refusal under the name of the function that was called."""
    made = ArgumentError(name + str(error).removeprefix(error.function))
    made.function, made.argument = name, error.argument
    return made
