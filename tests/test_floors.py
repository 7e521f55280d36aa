"""Imports go down only: chem, bench, log, balance, then compare and plan side by side, then show."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).resolve().parents[1] / "reef_calc"
FLOORS = {"chem": 1, "bench": 2, "log": 3, "balance": 4, "compare": 5, "plan": 5, "show": 6}
FACE = 7
MODULES = sorted(PACKAGE.rglob("*.py"))


def parts_of(path: Path) -> tuple[str, ...]:
    """("reef_calc", "chem", "units") for reef_calc/chem/units.py."""
    return (PACKAGE.name, *path.relative_to(PACKAGE).with_suffix("").parts)


def floor(parts: tuple[str, ...]) -> int:
    """The floor of a module: 0 for what stands below all rooms, 7 for the package's face."""
    if len(parts) == 1 or parts[1] == "__init__":
        return FACE
    return FLOORS.get(parts[1], 0)


def imported(path: Path, tree: ast.AST) -> Iterator[tuple[int, str]]:
    """Line and full name of everything imported anywhere in a module, functions included."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            above = parts_of(path)[: -node.level] if node.level else ()
            base = ".".join([*above, *([node.module] if node.module else [])])
            yield from ((node.lineno, f"{base}.{alias.name}") for alias in node.names)


def module_parts(name: str) -> tuple[str, ...]:
    """The parts of the module that is meant; `from reef_calc import open_tank` means the face."""
    parts = tuple(name.split("."))
    if len(parts) == 2 and parts[0] == PACKAGE.name:
        below = PACKAGE / parts[1]
        if not (below.is_dir() or below.with_suffix(".py").exists()):
            return parts[:1]
    return parts


def upward(path: Path, tree: ast.AST) -> list[str]:
    """The imports of a module that go up, or across between two rooms of one floor."""
    own = parts_of(path)
    if floor(own) == FACE:
        return []
    found = []
    for line, name in imported(path, tree):
        parts = module_parts(name)
        if parts[0] != PACKAGE.name:
            continue
        across = floor(parts) == floor(own) and parts[1:2] != own[1:2] and floor(own) > 0
        if floor(parts) > floor(own) or across:
            found.append(f"line {line}: {name}")
    return found


def heavy(path: Path, tree: ast.Module) -> list[str]:
    """Imports of figure, widget and statistics libraries where they do not belong."""
    drawing = floor(parts_of(path)) < FLOORS["show"]
    found = []
    for line, name in imported(path, tree):
        top, *below = name.split(".")
        if drawing and top in ("matplotlib", "ipywidgets"):
            found.append(f"line {line}: {name} below show")
        if top == "statsmodels" and (len(below) < 2 or "api" in below):
            found.append(
                f"line {line}: {name}, not from one module such as regression.linear_model"
            )
    for node in statements_run_on_import(tree):
        names = [alias.name for alias in node.names]
        names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
        if any(name.split(".")[0] == "statsmodels" for name in names):
            found.append(f"line {node.lineno}: statsmodels outside a function")
    return found


def statements_run_on_import(tree: ast.AST) -> Iterator[ast.Import | ast.ImportFrom]:
    """The import statements outside every function."""
    for node in ast.iter_child_nodes(tree):
        if isinstance(node, ast.Import | ast.ImportFrom):
            yield node
        elif not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            yield from statements_run_on_import(node)


def units_outside_their_room(path: Path, tree: ast.AST) -> list[str]:
    """A second unit registry, or a number stripped of its unit, outside chem/units.py."""
    if parts_of(path)[1:] == ("chem", "units"):
        return []
    found = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and node.attr in ("magnitude", "m_as"):
            found.append(f"line {node.lineno}: .{node.attr}")
        if isinstance(node, ast.Call) and ast.unparse(node.func).endswith("UnitRegistry"):
            found.append(f"line {node.lineno}: a second UnitRegistry")
    return found


@pytest.mark.parametrize("path", MODULES, ids=lambda path: ".".join(parts_of(path)[1:]))
@pytest.mark.parametrize("rule", [upward, heavy, units_outside_their_room])
def test_a_module_keeps_to_its_floor(path: Path, rule) -> None:
    assert rule(path, ast.parse(path.read_text(encoding="utf-8"))) == []


def test_there_is_one_unit_registry() -> None:
    calls = sum(path.read_text(encoding="utf-8").count("UnitRegistry(") for path in MODULES)
    assert calls == 1


@pytest.mark.parametrize(
    ("file", "text", "rule"),
    [
        ("chem/a.py", "from reef_calc.log.tank import Tank", upward),
        ("chem/a.py", "from reef_calc.log import tank", upward),
        ("chem/a.py", "from ..bench import kits", upward),
        ("log/a.py", "def f():\n    import reef_calc.show.page", upward),
        ("log/a.py", "import reef_calc as rc", upward),
        ("log/a.py", "from reef_calc import open_tank", upward),
        ("plan/a.py", "from reef_calc.compare.study import x", upward),
        ("errors.py", "from .chem import units", upward),
        ("plan/a.py", "import matplotlib.pyplot as plt", heavy),
        ("log/a.py", "def f():\n    from ipywidgets import HTML", heavy),
        ("balance/a.py", "from statsmodels.regression.linear_model import OLS", heavy),
        ("balance/a.py", "if True:\n    import statsmodels", heavy),
        ("show/a.py", "def f():\n    import statsmodels.api as sm", heavy),
        ("show/a.py", "def f():\n    from statsmodels import api", heavy),
        ("bench/a.py", "import pint\nureg = pint.UnitRegistry()", units_outside_their_room),
        ("bench/a.py", "level = reading.magnitude", units_outside_their_room),
    ],
)
def test_each_rule_bites(file: str, text: str, rule) -> None:
    assert rule(PACKAGE / file, ast.parse(text))


@pytest.mark.parametrize(
    ("file", "text", "rule"),
    [
        ("show/a.py", "from reef_calc.plan.rule import x\nfrom reef_calc import errors", upward),
        ("log/a.py", "from .times import a\nfrom ..errors import b\nimport numpy as np", upward),
        ("show/a.py", "from matplotlib.figure import Figure", heavy),
        ("log/a.py", "def f():\n    from statsmodels.regression.linear_model import OLS", heavy),
        ("chem/units.py", "ureg = UnitRegistry()\nx = q.magnitude", units_outside_their_room),
    ],
)
def test_no_rule_bites_what_is_right(file: str, text: str, rule) -> None:
    assert rule(PACKAGE / file, ast.parse(text)) == []
