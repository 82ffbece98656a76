"""One tree of exceptions.

DressformError
├── ArgumentError   a wrong call: an argument breaks the rule of the function
├── FileError       a file that cannot be read or written as asked
│   └── UnitsError  lengths or axes that cannot be what the file says
├── MethodError     somebody's code, as the method of a garment, failed, took too long, or returned what cannot be meant
├── MeshError       a mesh on which the question cannot be answered
└── MatchError      a garment and a body that do not belong together

Bad news about data (a fault found, a solve that stopped short) is a value, never an exception.
"""

import re

_UNPRINTABLE = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff]")


def _escaped(found: re.Match[str]) -> str:
    """A character as Python writes it in a string; a byte of a file name that is no UTF-8 as that byte."""
    code = ord(found.group())
    odd = code - 0xDC00
    return f"\\x{odd if 0 <= odd <= 0xFF else code:02x}"


class DressformError(Exception):
    """Root of all errors raised on purpose. Its text is one line without control codes, fit to be printed anywhere."""

    def __init__(self, text: str) -> None:
        super().__init__(_UNPRINTABLE.sub(_escaped, text))


class ArgumentError(DressformError, ValueError):
    """A wrong call. Text: function, argument, rule, what was got, what to do.

    Attributes:
        function: The function that was called wrongly, or empty.
        argument: The argument that broke its rule, or empty.
    """

    function: str = ""
    argument: str = ""

    @classmethod
    def of(cls, function: str, argument: str, rule: str, observed: object, advice: str) -> "ArgumentError":
        """Build the house's message: ``{function}: `{argument}` must be {rule}, got {observed}. {advice}.``."""
        made = cls(f"{function}: `{argument}` must be {rule}, got {observed}. {advice}.")
        made.function, made.argument = function, argument
        return made


class MethodError(DressformError):
    """Somebody's code failed as a method. Text: its name, what is wrong, what to do."""

    @classmethod
    def of(cls, method: str, problem: str, advice: str) -> "MethodError":
        """Build the house's one-line message: ``method {name} {problem}. {advice}.``."""
        return cls(f"method {method} {problem}. {advice}.")


class FileError(DressformError):
    """A file that cannot be read or written. Text: file, place in the file, what is wrong, what to do."""

    @classmethod
    def of(cls, path: object, place: str, problem: str, advice: str) -> "FileError":
        """Build the house's one-line message: ``{path}: {place}: {problem}. {advice}.``."""
        where = f"{path}: {place}" if place else f"{path}"
        return cls(f"{where}: {problem}. {advice}.")


class UnitsError(FileError):
    """Lengths or axes that cannot be what the file says."""


class MeshError(DressformError):
    """A mesh on which the question asked has no answer."""


class MatchError(DressformError):
    """A garment and a body that do not belong together."""
