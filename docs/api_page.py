"""The page of the front door, made from the docstrings of its names."""

import ast
import re
from pathlib import Path

import dressform

SOURCES = Path(__file__).resolve().parents[1] / "src"
LISTS = {"Args", "Attributes", "Raises"}
Node = ast.FunctionDef | ast.ClassDef


def api_blocks() -> dict[str, str]:
    """What stands between the marks of `docs/api.md`."""
    return {"front door": "\n\n".join(_entry(name, home) for name, home in dressform._HOMES.items())}


def _entry(name: str, home: str) -> str:
    """One name: how it is called, and what its docstring says."""
    tree = ast.parse((SOURCES / f"{home.replace('.', '/')}.py").read_text(encoding="utf-8"))
    node = next(one for one in tree.body if isinstance(one, Node) and one.name == name)
    said = [f"## {name}", f"```python\n{_call(node)}\n```", _words(ast.get_docstring(node) or "")]
    if isinstance(node, ast.ClassDef):
        said += _members(node)
    return "\n\n".join(said)


def _call(node: Node) -> str:
    """The call with its arguments."""
    if isinstance(node, ast.FunctionDef):
        returns = "" if node.returns is None else f" -> {ast.unparse(node.returns)}"
        whole = f"{node.name}({ast.unparse(node.args)}){returns}"
        if len(whole) <= 100:
            return whole
        parts = [ast.unparse(one) for one in _arguments(node.args)]
        return f"{node.name}(\n    " + ",\n    ".join(parts) + f",\n){returns}"
    fields = [one for one in node.body if isinstance(one, ast.AnnAssign)]
    return f"{node.name}(\n    " + ",\n    ".join(ast.unparse(one) for one in fields) + ",\n)"


def _arguments(given: ast.arguments) -> list[ast.AST]:
    """Every argument as code: with its default, and `*` before those that are given by name."""
    missing = len(given.args) - len(given.defaults)
    defaults = [*([None] * missing), *given.defaults]
    plain = [_with_default(one, default) for one, default in zip(given.args, defaults)]
    named = [_with_default(one, default) for one, default in zip(given.kwonlyargs, given.kw_defaults)]
    return [*plain, *([ast.Name("*")] if named else []), *named]


def _with_default(argument: ast.arg, default: ast.expr | None) -> ast.AST:
    words = ast.unparse(argument) + ("" if default is None else f" = {ast.unparse(default)}")
    return ast.Name(words)


def _members(node: ast.ClassDef) -> list[str]:
    """Public methods and properties, one line each."""
    rows = []
    for one in node.body:
        if isinstance(one, ast.FunctionDef) and not one.name.startswith("_"):
            is_value = any("property" in ast.unparse(each) for each in one.decorator_list)
            own = [ast.unparse(each) for each in _arguments(one.args)[1:]]
            call = one.name if is_value else f"{one.name}({', '.join(own)})"
            first = (ast.get_docstring(one) or "").split("\n\n")[0].replace("\n", " ")
            rows.append(f"- `{call}`: {first}")
    return ["\n".join(rows)] if rows else []


def _words(docstring: str) -> str:
    """A docstring as Markdown: lists of arguments become lists."""
    blocks = []
    for block in docstring.split("\n\n"):
        head, _, rest = block.partition("\n")
        title = head.rstrip(":")
        if title in LISTS and rest:
            blocks.append(f"**{title}**\n\n" + "\n".join(_items(rest)))
        elif title == "Returns" and rest:
            blocks.append(f"**Returns** {' '.join(rest.split())}")
        elif not head.startswith(("Proof:", "Source:")):
            blocks.append(block)
    return "\n\n".join(blocks)


def _items(text: str) -> list[str]:
    """`name: words` with lines that go on, as items of a list."""
    items: list[str] = []
    for line in text.splitlines():
        if re.match(r"    \S", line):
            name, _, words = line.strip().partition(": ")
            items.append(f"- `{name}`: {words}")
        else:
            items[-1] += f" {line.strip()}"
    return items
