"""Names of methods: those of ours lift the body's morphs, the others say themselves where the cloth is."""

SMOOTH = "smooth"
METHODS = ("nearest", "nearest-three", "surface", SMOOTH)
"""Methods of ours. Each lifts the body's morphs, and every other field, by one linear operator."""
FILE = "file"
"""The targets that the garment's own file holds, as they are."""
FOLDER = "folder"
"""Stands before the colon where a folder of meshes says where the cloth is."""
METHOD_RULE = f"one of {', '.join(METHODS)}, {FILE}, module:function or {FOLDER}:PATH"


def is_lifted(method: str) -> bool:
    """Whether it is a method of ours."""
    return method in METHODS


def is_code(method: str) -> bool:
    """Whether it names somebody's code: `module:function`, or `file.py:function`."""
    module, _, function = method.rpartition(":")
    return bool(module and function) and module != FOLDER and not method.startswith(f"{FOLDER}:")


def folder_of(method: str) -> str | None:
    """The folder of meshes that it names, or None."""
    before, _, path = method.partition(":")
    return path if before == FOLDER and path else None


def is_method(method: object) -> bool:
    """Whether it is the name of a method at all; that there is such a file, code or folder is another question."""
    return isinstance(method, str) and (
        is_lifted(method) or method == FILE or is_code(method) or folder_of(method) is not None
    )


def method_words(method: str) -> str:
    """How it makes a garment follow, for a person."""
    if is_lifted(method):
        return f"lifted by {method}"
    return "as its file has it" if method == FILE else f"by {method}"
