"""What a stored number is computed with rounds alike everywhere: the source, read.

A matrix product is summed in an order that the library chooses for the processor, an elementary
function of NumPy, SciPy, Python or C is rounded as its author liked, and x**2 of a Python number is
such a function too. So on the way from a seed to a stored table stand sums, products, quotients and
square roots alone, with `sim.arithmetic` and `sim.over_arrays` for the rest.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
# What is drawn, said or measured in seconds is not stored as a result's digits.
NOT_STORED = ("drawing", "gallery", "report", "command", "benchmark", "claims", "output")
SAID_OR_DRAWN = ("picture", "pictures", "words", "page", "texts", "animation", "film", "figure")

ELEMENTARY = re.compile(
    "exp2?|expm1|log(2|10|1p|addexp2?)?|pow|power|float_power|cbrt|hypot|dist|erfc?|l?gamma|sinc|i0"
    "|a?(sin|cos|tan)h?|arc(sin|cos|tan)h?|a(rc)?tan2"
)
PRODUCTS = re.compile(
    "dot|vdot|inner|matmul|matvec|vecmat|vecdot|einsum|tensordot|linalg|convolve|correlate|cov"
    "|corrcoef|polyfit|fft|sumprod|interp|leggauss"
)
LIBRARIES = {"math", "np", "numpy"}
OTHER_ROUNDING = {"scipy", "statistics"}

# Of Sobol's and the Latin sequences: whole numbers, scaled.
SEQUENCE = {"scipy.stats.qmc"}
ALLOWED: dict[str, set[str]] = {
    "experiments/answers/player/timed_runs.py": SEQUENCE,
    "experiments/study/factors.py": SEQUENCE,
    "experiments/study/parameter_draws.py": SEQUENCE,
    # A search whose sets are stored: another processor may come upon others that fit as well.
    "experiments/evidence/calibration/search.py": {
        *SEQUENCE,
        *("@", "np.linalg", "scipy.stats.norm"),
    },
    # Means and variances of NumPy's sums, and whole random numbers.
    "experiments/evidence/sensitivity/effects.py": {
        "scipy.stats.bootstrap",
        "scipy.stats.sobol_indices",
    },
    # A trial on court, planned and read: said with a few digits, stored by nobody.
    "experiments/statistics/matched_pairs.py": {
        *("**", "np.exp", "np.fft"),
        *("scipy.stats.beta", "scipy.stats.binom", "scipy.stats.binomtest"),
    },
    "experiments/statistics/two_counts.py": {"scipy.stats.boschloo_exact", "scipy.stats.binomtest"},
    # Least squares: a bound is said and stored with a few digits, its error beside it.
    "experiments/evidence/headroom/worth.py": {"@", "np.linalg"},
    # A linear program: only sums, products and quotients.
    "experiments/answers/game/zero_sum.py": {"scipy.optimize.linprog"},
    # Another's mathematics, to compare the own with: `validate` says which row that is.
    "experiments/evidence/validation/reference_flight.py": {
        *("**", "@", "math.cos", "math.sin", "np.linalg", "scipy.integrate.solve_ivp"),
    },
    # Quotients and signs of whole numbers.
    "sim/series.py": {"**"},
}


def on_the_way() -> list[Path]:
    """Files that a stored number may pass through."""
    files = [f for top in ("sim", "strategies", "experiments") for f in (ROOT / top).rglob("*.py")]
    return sorted(
        f
        for f in files
        if not set(f.relative_to(ROOT).parts[1:2]) & set(NOT_STORED)
        and f.stem.split("_")[-1] not in SAID_OR_DRAWN
    )


def is_kernel(node: ast.AST) -> bool:
    return isinstance(node, ast.FunctionDef) and any(
        isinstance(d, ast.Name) and d.id == "kernel" for d in node.decorator_list
    )


def whole(node: ast.expr) -> bool:
    return isinstance(node, ast.Constant) and isinstance(node.value, int)


def finds(node: ast.AST, compiled: bool = False) -> Iterator[str]:
    """What rounds by its own rule in a piece of source. A small whole power of a compiled number is
    a product; of an array, its square is."""
    compiled = compiled or is_kernel(node)
    if isinstance(node, ast.BinOp | ast.AugAssign):
        if isinstance(node.op, ast.MatMult):
            yield "@"
        elif isinstance(node.op, ast.Pow) and isinstance(node, ast.BinOp):
            written = all(
                isinstance(n, ast.Constant | ast.UnaryOp) for n in (node.left, node.right)
            )
            if not (written or whole(node.left) or (compiled and whole(node.right))):
                yield "**"
    elif isinstance(node, ast.Attribute):
        name = node.value.id if isinstance(node.value, ast.Name) else ""
        elementary = ELEMENTARY.fullmatch(node.attr) and name in LIBRARIES
        if elementary or PRODUCTS.fullmatch(node.attr):
            yield f"{name}.{node.attr}"
    elif isinstance(node, ast.Import):
        yield from (a.name for a in node.names if a.name.split(".")[0] in OTHER_ROUNDING)
    elif isinstance(node, ast.ImportFrom) and node.module:
        if node.module.split(".")[0] in OTHER_ROUNDING:
            yield from (f"{node.module}.{a.name}" for a in node.names)
        elif node.module in LIBRARIES:
            yield from (a.name for a in node.names if ELEMENTARY.fullmatch(a.name))
    for child in ast.iter_child_nodes(node):
        yield from finds(child, compiled)


@pytest.mark.parametrize("file", on_the_way(), ids=lambda f: str(f.relative_to(ROOT)))
def test_a_file_rounds_alike_everywhere(file: Path) -> None:
    name = file.relative_to(ROOT).as_posix()
    found = set(finds(ast.parse(file.read_text("utf-8"))))
    allowed = ALLOWED.get(name, set())
    assert found == allowed, f"{name}: {sorted(found ^ allowed)}"


@pytest.mark.parametrize(
    ("source", "what"),
    [
        ("a @ b", "@"),
        ("a @= b", "@"),
        ("x ** 2", "**"),
        ("np.exp(x)", "np.exp"),
        ("math.hypot(x, y)", "math.hypot"),
        ("from math import log", "log"),
        ("from scipy import special", "scipy.special"),
        ("np.linalg.norm(x)", "np.linalg"),
        ("table.dot(x)", "table.dot"),
        ("@other\ndef f(x):\n    return x ** 2", "**"),
        ("@kernel\ndef f(x):\n    return x ** y", "**"),
    ],
)
def test_other_rounding_is_found(source: str, what: str) -> None:
    assert list(finds(ast.parse(source))) == [what]


@pytest.mark.parametrize(
    "source",
    [
        "2**-52",
        "2 ** k",
        "np.sqrt(x)",
        "exp(x)",
        "@kernel\ndef f(x):\n    return x ** 4",
        "math.pi",
    ],
)
def test_what_ieee_754_fixes_is_let_be(source: str) -> None:
    assert not list(finds(ast.parse(source)))
