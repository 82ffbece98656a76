"""Errors of jobs in the words of the command line: an argument by its option, a function by the command."""

from collections.abc import Sequence

from cyclopts import UnusedCliTokensError

from dressform.errors import ArgumentError

OPTIONS = {
    "as_targets": "--as-targets",
    "asked": "--stances",
    "base": "--base",
    "body_levels": "--body-levels",
    "clips": "--clips",
    "ease": "--ease",
    "encoding": "--targets",
    "engine": "--engine",
    "fail_on": "--fail-on",
    "falloff_mm": "--falloff",
    "following.parts": "--strength",
    "fault": "--fault",
    "find": "--find",
    "front": "--front",
    "joint_weights": "--joint-weights",
    "margin_mm": "--margin",
    "marked": "--marked",
    "method": "--method",
    "most": "--memory",
    "named": "--weights",
    "outfit": "--outfit",
    "part_joints": "--part-joint",
    "pairs": "--pairs",
    "pop": "--pop",
    "pop_mm": "--pop",
    "port": "--port",
    "repair": "--repair",
    "repairs": "--repairs",
    "report": "--report",
    "rotation_share": "--rotation-share",
    "sobol": "--shapes",
    "shapes": "--shapes",
    "store": "--store",
    "strength": "--strength",
    "targets": "--find",
    "time_limit": "--time-limit",
    "tolerance": "--tolerance",
    "up": "--up",
    "units": "--units",
    "weights": "--weights",
    "workers": "--workers",
}
"""Options by the argument that they become. Arguments that no option sets keep their names."""
OF_COMMANDS = {
    "fit": {"body": "--body"},
    "compare": {"body": "--body", "garments": "--garments", "pairs": "--pair", "report": "--report"},
}
"""Those of single commands, where other commands take the same by its place."""


def error_words(error: Exception, command: Sequence[str]) -> str:
    """The text of an error in one line.

    Args:
        error: What was raised.
        command: The words of the command line, its name first.
    """
    words = " ".join(str(error).split())
    if isinstance(error, UnusedCliTokensError):
        return _unused_words(error.unused_tokens or [], command)
    if not isinstance(error, ArgumentError):
        return words
    option = OF_COMMANDS.get(error.function, {}).get(error.argument, OPTIONS.get(error.argument))
    if error.argument.startswith("parts["):
        option = "--strength"
    if error.argument.startswith("part_joints["):
        option = "--part-joint"
    if error.argument.startswith("find["):
        option = "--find"
    start = f"{error.function}: `{error.argument}`"
    if option is None or not command or not words.startswith(start):
        return words
    return f"{command[0]}: `{option}`{words.removeprefix(start)}"


def _unused_words(tokens: Sequence[str], command: Sequence[str]) -> str:
    """That a command takes fewer names than it was given."""
    named = ", ".join(repr(token) for token in tokens)
    name = command[0] if command else ""
    return f"{name}: takes fewer names, got {named} too. Leave out what is too much; see dressform {name} --help."
