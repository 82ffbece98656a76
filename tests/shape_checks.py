"""Run-time checks of types and shapes at a fraction of what jaxtyping's own decorator costs.

That one binds the arguments of every call anew and checks them twice, which took a quarter of the time of all tests.
Here beartype checks each argument and the result once, and only a function that names arrays opens a scope in which
the letters of shapes agree.
"""

from collections.abc import Callable
from dataclasses import is_dataclass
from functools import cache, partial, wraps
from inspect import isclass
from typing import Any, get_args

import jaxtyping
from beartype import beartype

SCOPE = jaxtyping.jaxtyped("context")
"""A block in which one letter stands for one length."""


def checked(target: Any = None, *, typechecker: Any = None) -> Any:
    """In place of `jaxtyping.jaxtyped`, as its import hook calls it: a checked function, or a checked dataclass."""
    if target is None:
        return partial(checked, typechecker=typechecker)
    if not isclass(target):
        return _checked_function(target)
    if is_dataclass(target) and not hasattr(vars(target).get("__init__"), "__wrapped__"):
        target.__init__ = _checked_function(target.__init__)
    return target


def _checked_function(function: Callable[..., Any]) -> Callable[..., Any]:
    if not any(isinstance(hint, str) for hint in function.__annotations__.values()):
        return _checked_at_once(function)

    @cache
    def checked_later() -> Callable[..., Any]:
        function.__annotations__ |= {name: _read(hint, function) for name, hint in function.__annotations__.items()}
        return _checked_at_once(function)

    @wraps(function)
    def on_call(*args: Any, **options: Any) -> Any:
        __tracebackhide__ = True
        return checked_later()(*args, **options)

    return on_call


def _read(hint: Any, function: Callable[..., Any]) -> Any:
    """A hint written as text, once its module is whole; anything, where the name is imported for readers alone."""
    if not isinstance(hint, str):
        return hint
    try:
        return eval(hint, function.__globals__)
    except (NameError, TypeError):
        return Any


def _checked_at_once(function: Callable[..., Any]) -> Callable[..., Any]:
    checked_once = beartype(function)
    if not any(_names_arrays(hint) for hint in function.__annotations__.values()):
        return checked_once

    @wraps(function)
    def scoped(*args: Any, **options: Any) -> Any:
        __tracebackhide__ = True
        with SCOPE:
            return checked_once(*args, **options)

    return scoped


def _names_arrays(hint: Any) -> bool:
    """Whether a hint holds an array at some depth."""
    if isclass(hint) and issubclass(hint, jaxtyping.AbstractArray):
        return True
    return any(_names_arrays(each) for each in (hint if isinstance(hint, list) else get_args(hint)))
