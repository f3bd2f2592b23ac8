"""Small faults to put into a module, one at a time: each a change that a slip of the pen makes."""

from __future__ import annotations

import ast
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial

COMPARISONS: dict[type[ast.cmpop], type[ast.cmpop]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
}
ARITHMETIC: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.BitAnd: ast.BitOr,
    ast.BitOr: ast.BitAnd,
}
REMOVED = {"max", "min", "sorted", "abs", "round", "reversed", "set"} | {
    f"np.{name}"
    for name in ("abs", "clip", "cumsum", "flatnonzero", "maximum", "minimum", "sort", "sqrt")
}
"""Calls that may be forgotten around their first argument."""
SYMMETRIC = {"max", "min", "np.maximum", "np.minimum", "np.hypot", "np.isclose", "math.hypot"}
"""Calls that give the same with their arguments swapped."""
SETS = (ast.Set, ast.SetComp)
NOT_RUN = {"annotation", "returns", "type_params", "type_comment", "decorator_list"}
"""Of any node; and of a class its keywords, which only say what a struct is like: frozen, say."""
LEFT_ALONE = (ast.Raise, ast.Assert, ast.Import, ast.ImportFrom)
TASTE = {
    *("above_pt", "alpha", "clip_on", "elinewidth", "height_ratios", "linestyle", "linewidth"),
    *("markeredgewidth", "pad", "right_pt", "strict", "width", "wspace", "zorder"),
}
"""Arguments that no number from outside decides: how thick a line is, how far a text stands off;
and `strict`, which guards against what should not be."""
SPEC = re.compile(r"\.(\d+)")


@dataclass(frozen=True)
class Mutant:
    """A fault: where it is, what stands there and what is put in its place.

    `scope`: the dotted name of the function or class around it, empty for the module itself.
    `in_function`: whether a function holds it, so that calling decides; otherwise importing does.
    """

    path: str
    line: int
    scope: str
    in_function: bool
    old: str
    new: str
    index: int

    @property
    def name(self) -> str:
        """What it is, without the line, which moves with every edit above."""
        return f"{self.path} {self.scope or '(module)'}: {self.old} → {self.new}"


@dataclass(frozen=True)
class _Change:
    scope: tuple[str, ...]
    in_function: bool
    old: ast.AST
    new: ast.AST
    put: Callable[[ast.AST], None]


def mutants(path: str, source: str) -> list[Mutant]:
    """All faults that the operators make in a module."""
    return [
        Mutant(
            path,
            next(each.lineno for each in ast.walk(change.old) if hasattr(each, "lineno")),
            ".".join(change.scope),
            change.in_function,
            _text(change.old),
            _text(change.new),
            index,
        )
        for index, change in enumerate(_changes(ast.parse(source)))
    ]


def mutated(source: str, index: int) -> ast.Module:
    """The module with the fault of this index in it."""
    tree = ast.parse(source)
    for place, change in enumerate(_changes(tree)):
        if place == index:
            change.put(ast.copy_location(change.new, change.old))
            return ast.fix_missing_locations(tree)
    raise IndexError(f"there is no fault {index}")


def _text(node: ast.AST) -> str:
    if isinstance(node, ast.FormattedValue):  # cannot stand alone
        node = ast.JoinedStr([node])
    return " ".join(ast.unparse(node).split())


def _changes(tree: ast.Module) -> Iterator[_Change]:
    yield from _below(tree, (), False)


def _below(node: ast.AST, scope: tuple[str, ...], in_function: bool) -> Iterator[_Change]:
    if isinstance(node, ast.FunctionDef | ast.ClassDef):
        scope = (*scope, node.name)
    for field, value in ast.iter_fields(node):
        if field in NOT_RUN or (isinstance(node, ast.Assign) and _is_a_type(node)):
            continue
        if field == "keywords" and isinstance(node, ast.ClassDef):
            continue
        inside = in_function or (isinstance(node, ast.FunctionDef) and field == "body")
        inside = inside or isinstance(node, ast.Lambda)
        for child, put in _children(node, field, value):
            if _prose(child) or _is_left_alone(child):
                continue
            for new in _faults(child, node):
                yield _Change(scope, inside, child, new, put)
            yield from _below(child, scope, inside)


def _children(
    node: ast.AST, field: str, value: object
) -> Iterator[tuple[ast.AST, Callable[[ast.AST], None]]]:
    """What is in a field, and what puts something else in its place."""
    if isinstance(value, ast.AST):
        yield value, partial(setattr, node, field)
    elif isinstance(value, list):
        for place, each in enumerate(value):
            if isinstance(each, ast.AST):
                yield each, partial(value.__setitem__, place)


def _prose(node: ast.AST) -> bool:
    """A docstring, or a condition that only the type checker sees."""
    if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant):
        return True
    return isinstance(node, ast.If) and ast.unparse(node.test) == "TYPE_CHECKING"


def _is_left_alone(node: ast.AST) -> bool:
    return isinstance(node, LEFT_ALONE) or (isinstance(node, ast.keyword) and node.arg in TASTE)


def _is_a_type(node: ast.Assign) -> bool:
    """`Floats = NDArray[np.float64]`, `Number = TypeVar(…)`: nothing of it is run."""
    text = ast.unparse(node.value)
    return text.startswith(("TypeVar(", "NewType(", "NDArray[", "npt.NDArray[", "Callable["))


def _faults(node: ast.AST, parent: ast.AST) -> Iterator[ast.AST]:
    match node:
        case ast.Compare(left, [op, *ops], comparators) if type(op) in COMPARISONS:
            yield ast.Compare(left, [COMPARISONS[type(op)](), *ops], comparators)
            if ops and type(ops[-1]) in COMPARISONS:
                yield ast.Compare(left, [op, *ops[:-1], COMPARISONS[type(ops[-1])]()], comparators)
        case ast.BoolOp(op, values):
            yield ast.BoolOp(ast.Or() if isinstance(op, ast.And) else ast.And(), values)
            for place in range(len(values)):
                rest = [*values[:place], *values[place + 1 :]]
                yield rest[0] if len(rest) == 1 else ast.BoolOp(op, rest)
        case ast.UnaryOp(ast.Not() | ast.Invert() | ast.USub(), operand):
            yield operand
        case ast.BinOp(left, ast.Pow(), _):
            yield left
        case ast.BinOp(left, ast.Sub() | ast.BitOr() | ast.BitAnd(), right) if isinstance(
            right, SETS
        ):
            yield left
        case ast.BinOp(left, op, right) if type(op) in ARITHMETIC and not _joins_text(node):
            yield ast.BinOp(left, ARITHMETIC[type(op)](), right)
        case ast.AugAssign(target, op, value) if type(op) in ARITHMETIC:
            yield ast.AugAssign(target, ARITHMETIC[type(op)](), value)
        case ast.Constant(bool() as value):
            yield ast.Constant(not value)
        case ast.Constant(int() | float() as value):
            yield ast.Constant(_other_number(value))
        case ast.FormattedValue(value, conversion, ast.JoinedStr([ast.Constant(str() as spec)])):
            if SPEC.search(spec):
                other = SPEC.sub(_other_decimals, spec)
                yield ast.FormattedValue(value, conversion, ast.JoinedStr([ast.Constant(other)]))
        case ast.Return(ast.expr() as value) if not _says_no(value):
            yield ast.Return(ast.Constant(None))
        case ast.Call(func, [first, *rest], keywords):
            if ast.unparse(func) in REMOVED and not isinstance(first, ast.GeneratorExp):
                yield first
            plain = not any(isinstance(each, ast.Starred) for each in (first, *rest[:1]))
            alike = rest and ast.unparse(first) == ast.unparse(rest[0])
            if rest and plain and not alike and ast.unparse(func) not in SYMMETRIC:
                yield ast.Call(func, [rest[0], first, *rest[1:]], keywords)
        case ast.Slice(lower, upper, step):
            if lower is not None:
                yield ast.Slice(None, upper, step)
            if upper is not None:
                yield ast.Slice(lower, None, step)
        case ast.comprehension(target, iterated, [_, *more], is_async):
            yield ast.comprehension(target, iterated, more, is_async)
        case ast.IfExp(test, body, otherwise) if _is_plain(test):
            yield ast.IfExp(test, otherwise, body)
        case ast.If(test, body, otherwise) if _is_plain(test):
            yield ast.If(ast.UnaryOp(ast.Not(), test), body, otherwise)
        case ast.keyword("key", value) if isinstance(parent, ast.Call):
            yield ast.keyword("key", ast.Constant(None))


def _other_number(value: float) -> float:
    """For a whole number the next, for a share twice the tail (0.05 → 0.1, 0.95 → 0.9)."""
    if isinstance(value, int):
        return value + 1
    if 0.5 < value < 1:
        return round(2 * value - 1, 12)
    return 2 * value if value else 1.0


def _other_decimals(found: re.Match[str]) -> str:
    decimals = int(found[1])
    return f".{decimals - 1 if decimals > 1 else decimals + 1}"


def _says_no(node: ast.expr) -> bool:
    """None and False: in conditions they are the same."""
    return isinstance(node, ast.Constant) and node.value in (None, False)


def _is_plain(test: ast.expr) -> bool:
    """A condition on which no other operator works."""
    return isinstance(test, ast.Name | ast.Attribute | ast.Call | ast.NamedExpr | ast.Subscript)


def _joins_text(node: ast.AST) -> bool:
    return any(
        isinstance(each, ast.JoinedStr)
        or (isinstance(each, ast.Constant) and isinstance(each.value, str))
        for each in (getattr(node, "left", None), getattr(node, "right", None))
    )
