"""A property that is computed when it is first asked for, and then kept."""

from collections.abc import Callable
from typing import Any, Generic, TypeVar, overload

Value = TypeVar("Value")


class lazy(Generic[Value]):
    """As `functools.cached_property`, without the lock that makes threads wait for each other's objects before 3.12.

    Two threads that ask one object at the same time may compute its value twice; both get a right one.

    Args:
        compute: The method that computes the value.
    """

    def __init__(self, compute: Callable[[Any], Value]) -> None:
        self._compute = compute
        self.__doc__ = compute.__doc__

    def __set_name__(self, owner: type, name: str) -> None:
        self._name = name

    @overload
    def __get__(self, instance: None, owner: type) -> "lazy[Value]": ...

    @overload
    def __get__(self, instance: object, owner: type) -> Value: ...

    def __get__(self, instance: object | None, owner: type) -> "lazy[Value] | Value":
        if instance is None:
            return self
        value = instance.__dict__[self._name] = self._compute(instance)
        return value
