"""Counts the floating-point operations of the kernels by running their source in plain Python.

Every kernel's source is rewritten so that each operation calls a counting function, and stands in
for the compiled one while a batch is played. So it counts what the machine code has to work out,
whatever the kernels are and however they call each other; that the strokes are those of the
compiled kernels is tested.

Counted, where an operand is a float: sums and differences, products, quotients, square roots,
other functions of `math`, and values read from arrays of floats. Comparisons (with min, max, abs
and isfinite) are counted apart. Not counted: integer work (addresses in arrays, the generator of
random numbers), record fields read and written, changes of sign, and whatever runs in NumPy
outside of the kernels.
"""

from __future__ import annotations

import ast
import inspect
import math
import operator
import sys
import textwrap
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from itertools import chain
from typing import Any
from unittest.mock import patch

import numpy as np

from sim.compiled import Kernel

ADD, MULTIPLY, DIVIDE, ROOT, FUNCTION = "add", "multiply", "divide", "root", "function"
READ, COMPARE = "read", "compare"
ARITHMETIC = (ADD, MULTIPLY, DIVIDE, ROOT, FUNCTION)
KINDS = (*ARITHMETIC, READ, COMPARE)

OPERATORS: dict[str, tuple[str, Callable[[Any, Any], Any]]] = {
    "Add": (ADD, operator.add),
    "Sub": (ADD, operator.sub),
    "Mult": (MULTIPLY, operator.mul),
    "Div": (DIVIDE, operator.truediv),
    "Pow": (FUNCTION, operator.pow),
    "Lt": (COMPARE, operator.lt),
    "LtE": (COMPARE, operator.le),
    "Gt": (COMPARE, operator.gt),
    "GtE": (COMPARE, operator.ge),
    "Eq": (COMPARE, operator.eq),
    "NotEq": (COMPARE, operator.ne),
}
CHOICES = {"min", "max", "abs", "isfinite", "isnan", "fabs", "copysign", "floor", "ceil"}
OWN_LAYERS = ("sim", "strategies")


class Row:
    """A record as kernels see it: fields by name, plain numbers, written through to the array."""

    __slots__ = ("_record",)

    def __init__(self, record: np.void) -> None:
        object.__setattr__(self, "_record", record)

    def __getattr__(self, name: str) -> Any:
        value = self._record[name]
        return value if isinstance(value, np.ndarray) else value.item()

    def __setattr__(self, name: str, value: Any) -> None:
        self._record[name] = value


class Tally:
    """What the rewritten kernels call, and how often it was a floating-point operation."""

    def __init__(self, counts: Counter[str]) -> None:
        self.counts = counts

    def binary(self, kind: str, act: Callable[[Any, Any], Any], a: Any, b: Any) -> Any:
        """One operation on two numbers; a square is a product. Division by zero as in NumPy."""
        if not (isinstance(a, float) or isinstance(b, float)):
            return as_compiled(act, a, b)
        self.counts[MULTIPLY if kind == FUNCTION and b == 2 else kind] += 1
        try:
            return act(a, b)
        except (ZeroDivisionError, OverflowError):
            return float(act(np.float64(a), np.float64(b)))

    def call(self, name: str, function: Callable[..., Any], *values: Any) -> Any:
        """A function of `math` or NumPy, or one of min, max and abs, outside its domain NaN."""
        if any(isinstance(value, float) for value in values):
            kind = COMPARE if name in CHOICES else ROOT if name == "sqrt" else FUNCTION
            self.counts[kind] += 1
        try:
            return function(*values)
        except ValueError:
            return math.nan
        except OverflowError:
            return math.inf

    def compare(self, first: Any, *rest: Any) -> bool:
        """A chain of comparisons: value, then pairs of an operator and the next value."""
        for act, value in zip(rest[::2], rest[1::2], strict=True):
            self.counts[COMPARE] += isinstance(first, float) or isinstance(value, float)
            if not act(first, value):
                return False
            first = value
        return True

    def stored(self, value: Any) -> Any:
        """What is put into an array: a whole record as NumPy knows it."""
        return value._record if isinstance(value, Row) else value

    def read(self, values: Any, place: Any) -> Any:
        """An element: a record as a Row, a number of an array as a plain one."""
        found = values[place]
        if isinstance(found, np.void):
            return Row(found)
        if isinstance(values, np.ndarray) and isinstance(found, float):
            self.counts[READ] += 1
            return float(found)
        return found


class Rewriter(ast.NodeTransformer):
    """Turns operations in a kernel's source into calls of a Tally named `counted`."""

    def visit_BinOp(self, node: ast.BinOp) -> ast.AST:
        self.generic_visit(node)
        return _binary(node.op, node.left, node.right) or node

    def visit_AugAssign(self, node: ast.AugAssign) -> ast.AST:
        before = ast.parse(ast.unparse(node.target), mode="eval").body
        following = _binary(node.op, self.visit(before), self.visit(node.value))
        if following is None:
            return self.generic_visit(node)
        return ast.Assign([self.visit(node.target)], following)

    def visit_Assign(self, node: ast.Assign) -> ast.AST:
        self.generic_visit(node)
        if any(isinstance(target, ast.Subscript) for target in node.targets):
            node.value = _call("stored", node.value)
        return node

    def visit_Compare(self, node: ast.Compare) -> ast.AST:
        self.generic_visit(node)
        if any(type(op).__name__ not in OPERATORS for op in node.ops):  # `is None`
            return node
        pairs = zip(map(_act, node.ops), node.comparators, strict=True)
        return _call("compare", node.left, *chain.from_iterable(pairs))

    def visit_Call(self, node: ast.Call) -> ast.AST:
        self.generic_visit(node)
        called = node.func
        if isinstance(called, ast.Attribute):
            home = called.value.id if isinstance(called.value, ast.Name) else ""
            if home == "math" or (home == "np" and called.attr in ("sqrt", "log", "exp")):
                return _call("call", ast.Constant(called.attr), called, *node.args)
        if isinstance(called, ast.Name) and called.id in CHOICES:
            return _call("call", ast.Constant(called.id), called, *node.args)
        return node

    def visit_Subscript(self, node: ast.Subscript) -> ast.AST:
        self.generic_visit(node)
        if isinstance(node.ctx, ast.Store) or isinstance(node.slice, ast.Slice):
            return node
        return _call("read", node.value, node.slice)


def _name(name: str) -> ast.expr:
    return ast.Name(name, ast.Load())


def _call(method: str, *values: ast.expr) -> ast.Call:
    return ast.Call(ast.Attribute(_name("counted"), method, ast.Load()), list(values), [])


def _binary(op: ast.operator, left: ast.expr, right: ast.expr) -> ast.Call | None:
    if type(op).__name__ not in OPERATORS:
        return None
    kind = ast.Constant(OPERATORS[type(op).__name__][0])
    return _call("binary", kind, _act(op), left, right)


def _act(op: ast.operator | ast.cmpop) -> ast.expr:
    return _name(f"act_{type(op).__name__}")


def twin(kernel: Kernel, counted: Tally) -> Callable[..., Any]:
    """The kernel in plain Python, counting; it meets other kernels under the names of its module.

    What the rewriting calls comes in as keyword defaults, since the globals are the module's own.
    """
    source = ast.parse(textwrap.dedent(inspect.getsource(kernel.py_func)))
    function = source.body[0]
    assert isinstance(function, ast.FunctionDef)
    function.decorator_list, function.returns = [], None
    for argument in function.args.args:
        argument.annotation = None
    Rewriter().visit(function)
    names: dict[str, Any] = {"counted": counted}
    names |= {f"act_{name}": act for name, (_, act) in OPERATORS.items()}
    function.args.kwonlyargs = [ast.arg(name) for name in names]
    function.args.kw_defaults = [None] * len(names)
    ast.fix_missing_locations(source)
    found: dict[str, Any] = {}
    code = compile(source, inspect.getfile(kernel.py_func), "exec")
    exec(code, kernel.py_func.__globals__, found)
    made = found[function.name]
    made.__kwdefaults__ = names
    return made


def as_compiled(act: Callable[[Any, Any], Any], a: Any, b: Any) -> Any:
    """One operation on whole numbers; signed ones have 64 bits and come round beyond them."""
    if not isinstance(a, int | np.int64) or not isinstance(b, int | np.int64):
        return act(a, b)
    found = act(int(a), int(b))
    return found if isinstance(found, bool | float) else (found + 2**63) % 2**64 - 2**63


@contextmanager
def counting() -> Iterator[dict[str, Counter[str]]]:
    """While inside, kernels run in plain Python and count; gives counts by KINDS for each module.

    Slow: a stroke takes about 50 milliseconds.
    """
    homes = [home for name, home in sys.modules.items() if name.split(".")[0] in OWN_LAYERS]
    replaced = [
        (home, name, kernel)
        for home in homes
        for name, kernel in vars(home).items()
        if isinstance(kernel, Kernel)
    ]
    counts: dict[str, Counter[str]] = {}
    twins = {}
    for kernel in {kernel for _, _, kernel in replaced}:
        counted = counts.setdefault(kernel.py_func.__module__, Counter())
        twins[kernel] = twin(kernel, Tally(counted))
    with ExitStack() as patched, np.errstate(all="ignore"):
        for home, name, kernel in replaced:
            patched.enter_context(patch.object(home, name, twins[kernel]))
        yield counts


def total(counts: dict[str, Counter[str]]) -> Counter[str]:
    """The counts of all modules together."""
    return sum(counts.values(), Counter())


def by_module(counts: dict[str, Counter[str]], strokes: int) -> dict[str, dict[str, float]]:
    """Arithmetic and table reads of a stroke for each module that has any, most first."""
    of = {
        name: {
            "arithmetic": sum(counted[kind] for kind in ARITHMETIC) / strokes,
            READ: counted[READ] / strokes,
        }
        for name, counted in counts.items()
    }
    used = [name for name in of if any(of[name].values())]
    return {name: of[name] for name in sorted(used, key=lambda name: -of[name]["arithmetic"])}
