"""Mutants of a source file: one small change each, made on the text, so that all other lines stay as they are."""

import ast
import hashlib
from dataclasses import dataclass
from pathlib import Path

COMPARISONS = {
    "<": ("<=", ">="),
    "<=": ("<", ">"),
    ">": (">=", "<="),
    ">=": (">", "<"),
    "==": ("!=",),
    "!=": ("==",),
    "is": ("is not",),
    "is not": ("is",),
    "in": ("not in",),
    "not in": ("in",),
}
"""Each comparison once with its boundary moved, once turned round."""

OPERATORS = {"+": "-", "-": "+", "*": "/", "/": "*", "**": "*", "//": "*", "%": "*", "&": "|", "|": "&"}
NAMES = {
    **{"min": "max", "argmin": "argmax", "minimum": "maximum", "floor": "ceil", "any": "all", "sin": "cos"},
    **{"max": "min", "argmax": "argmin", "maximum": "minimum", "ceil": "floor", "all": "any", "cos": "sin"},
}
TOKENS = {
    **{ast.Lt: "<", ast.LtE: "<=", ast.Gt: ">", ast.GtE: ">=", ast.Eq: "==", ast.NotEq: "!="},
    **{ast.Is: "is", ast.IsNot: "is not", ast.In: "in", ast.NotIn: "not in", ast.And: "and", ast.Or: "or"},
    **{ast.Add: "+", ast.Sub: "-", ast.Mult: "*", ast.Div: "/", ast.Pow: "**", ast.FloorDiv: "//", ast.Mod: "%"},
    **{ast.BitAnd: "&", ast.BitOr: "|", ast.Not: "not", ast.USub: "-", ast.Invert: "~"},
}
SAID_ELSEWHERE = (ast.Assert, ast.Raise, ast.JoinedStr, ast.Import, ast.ImportFrom)
"""Left as they are: error texts have tests of their own, and what a type checker asserts cannot fail."""


@dataclass(frozen=True)
class Mutant:
    """One change of one file.

    Attributes:
        path: The file, relative to the package.
        line: Number of the line.
        text: That line before the change, stripped.
        becomes: The same line after it.
        start: First byte of the change.
        before: What stands there.
        after: What stands there instead.
    """

    path: str
    line: int
    text: str
    becomes: str
    start: int
    before: str
    after: str

    @property
    def folder(self) -> str:
        return self.path.split("/")[0]

    def __str__(self) -> str:
        return f"{self.path}:{self.line}: `{self.text}` → `{self.becomes}`"

    def order(self, seed: int) -> str:
        """Where a seeded sample finds it; other lines of the project do not matter to that."""
        key = f"{seed} {self.path} {self.text} {self.before} {self.after} {self.start}"
        return hashlib.sha256(key.encode()).hexdigest()

    def applied(self, source: bytes) -> bytes:
        """The file with the change."""
        before = self.before.encode()
        assert source[self.start : self.start + len(before)] == before
        return source[: self.start] + self.after.encode() + source[self.start + len(before) :]

    def is_another_program(self, source: bytes) -> bool:
        """Whether the change leaves Python, and not the same."""
        try:
            return ast.dump(ast.parse(self.applied(source))) != ast.dump(ast.parse(source))
        except SyntaxError:
            return False


def mutants_of(package: Path, path: str) -> list[Mutant]:
    """All mutants of a file, in the order in which they stand there; some few may be no Python."""
    finder = _Finder(path, (package / path).read_bytes())
    finder.visit(ast.parse(finder.source))
    return sorted(finder.mutants, key=lambda mutant: mutant.start)


class _Finder(ast.NodeVisitor):
    """Walks through a file and notes what could be changed."""

    def __init__(self, path: str, source: bytes) -> None:
        self.path, self.source = path, source
        self.lines = source.splitlines(keepends=True)
        self.starts = [sum(map(len, self.lines[:number])) for number in range(len(self.lines))]
        self.mutants: list[Mutant] = []

    def visit(self, node: ast.AST) -> None:
        if not isinstance(node, SAID_ELSEWHERE):
            super().visit(node)

    def visit_FunctionDef(self, node: ast.FunctionDef) -> None:
        for part in (*node.args.defaults, *filter(None, node.args.kw_defaults), *node.body):
            self.visit(part)

    def visit_ClassDef(self, node: ast.ClassDef) -> None:
        for part in node.body:
            self.visit(part)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> None:
        if node.value is not None:
            self.visit(node.value)

    def visit_keyword(self, node: ast.keyword) -> None:
        if node.arg != "axis":  # another axis is mostly a crash, which tells nothing about the tests
            self.visit(node.value)

    def visit_Compare(self, node: ast.Compare) -> None:
        for left, operator, right in zip([node.left, *node.comparators], node.ops, node.comparators):
            for after in COMPARISONS[TOKENS[type(operator)]]:
                self._between(left, right, operator, after)
        self.generic_visit(node)

    def visit_BinOp(self, node: ast.BinOp) -> None:
        if type(node.op) in TOKENS:
            self._between(node.left, node.right, node.op, OPERATORS[TOKENS[type(node.op)]])
        self.generic_visit(node)

    def visit_BoolOp(self, node: ast.BoolOp) -> None:
        for left, right in zip(node.values, node.values[1:]):
            self._between(left, right, node.op, "or" if isinstance(node.op, ast.And) else "and")
        self.generic_visit(node)

    def visit_AugAssign(self, node: ast.AugAssign) -> None:
        token = TOKENS.get(type(node.op))
        if token is not None:
            self._between(node.target, node.value, node.op, f"{OPERATORS[token]}=", suffix="=")
        self.visit(node.value)

    def visit_UnaryOp(self, node: ast.UnaryOp) -> None:
        if type(node.op) in TOKENS:
            start, inner = self._at(node), self._at(node.operand)
            if self.source[start:inner].strip() == TOKENS[type(node.op)].encode():
                self._note(node.lineno, start, self.source[start:inner].decode(), "")
        self.generic_visit(node)

    def visit_Constant(self, node: ast.Constant) -> None:
        before = self.source[self._at(node) : self._end(node)].decode()
        if isinstance(node.value, bool):
            self._note(node.lineno, self._at(node), before, str(not node.value))
        elif isinstance(node.value, int):
            self._note(node.lineno, self._at(node), before, str(node.value + 1))
        elif isinstance(node.value, float):
            self._note(node.lineno, self._at(node), before, repr(2 * node.value if node.value else 1.0))

    def visit_Name(self, node: ast.Name) -> None:
        if node.id in NAMES and isinstance(node.ctx, ast.Load):
            self._note(node.lineno, self._at(node), node.id, NAMES[node.id])

    def visit_Attribute(self, node: ast.Attribute) -> None:
        if node.attr in NAMES:
            self._note(node.end_lineno or node.lineno, self._end(node) - len(node.attr), node.attr, NAMES[node.attr])
        self.generic_visit(node)

    def visit_Break(self, node: ast.Break) -> None:
        self._note(node.lineno, self._at(node), "break", "continue")

    def visit_Continue(self, node: ast.Continue) -> None:
        self._note(node.lineno, self._at(node), "continue", "break")

    def _between(self, left: ast.expr, right: ast.expr, operator: ast.AST, after: str, *, suffix: str = "") -> None:
        """Note a change of the operator between two operands, where nothing but brackets stands beside it."""
        start, end = self._end(left), self._at(right)
        gap = self.source[start:end].decode()
        token = TOKENS[type(operator)] + suffix
        if gap.strip(" \n()") == token:
            at = gap.index(token)
            line = (left.end_lineno or left.lineno) + gap[:at].count("\n")
            self._note(line, start + at, token, after)

    def _note(self, line: int, start: int, before: str, after: str) -> None:
        whole = self.lines[line - 1]
        at = start - self.starts[line - 1]
        changed = whole[:at] + after.encode() + whole[at + len(before.encode()) :]
        text, becomes = whole.decode().strip(), changed.decode().strip()
        self.mutants.append(Mutant(self.path, line, text, becomes, start, before, after))

    def _at(self, node: ast.expr | ast.stmt) -> int:
        return self.starts[node.lineno - 1] + node.col_offset

    def _end(self, node: ast.expr) -> int:
        assert node.end_lineno is not None
        assert node.end_col_offset is not None
        return self.starts[node.end_lineno - 1] + node.end_col_offset
