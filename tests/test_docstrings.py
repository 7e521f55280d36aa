"""Every public signature against its docstring: arguments, units, returns, raises, an example."""

from __future__ import annotations

import ast
import dataclasses
import importlib
import inspect
import pkgutil
import re
import textwrap
from collections.abc import Iterator
from types import FunctionType
from typing import Any

import pytest

import reef_calc

HEADINGS = ("Parameters", "Returns", "Yields", "Raises", "Attributes", "Examples", "Notes",
            "References", "See Also", "Warns")  # fmt: skip
# A number's description names its unit, or says that it has none.
UNIT = re.compile(
    r"\(.+\)|``\w+``|\b(unit|units|dKH|meq|mg|mL|litres?|°C|days?|hours?|minutes?|grams?|pixels?|"
    r"points?|share|fraction|factor|ratio|probability|quantile|index|count|number of|rank|PSU|nm|"
    r"px|z|t)\b",
    re.IGNORECASE,
)


def _modules() -> list[str]:
    walked = pkgutil.walk_packages(reef_calc.__path__, "reef_calc.")
    return sorted(module.name for module in walked)


def _public(module_name: str) -> Iterator[tuple[str, Any]]:
    """Public functions, classes, and functions of those classes that a module defines itself."""
    module = importlib.import_module(module_name)
    for name, thing in vars(module).items():
        if name.startswith("_") or getattr(thing, "__module__", "") != module_name:
            continue
        thing = inspect.unwrap(thing)
        if inspect.isclass(thing):
            yield name, thing
            for inner, member in vars(thing).items():
                function = getattr(member, "fget", None) or getattr(member, "__func__", member)
                if not inner.startswith("_") and isinstance(function, FunctionType):
                    yield f"{name}.{inner}", function
        elif isinstance(thing, FunctionType):
            yield name, thing


def _sections(doc: str) -> dict[str, str]:
    parts = re.split(rf"^({'|'.join(HEADINGS)})\n-{{3,}}\n", doc, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


def _described(section: str) -> dict[str, str]:
    """Names (and types) of a section with the text that belongs to each."""
    found: dict[str, str] = {}
    names: list[str] = []
    for line in section.splitlines():
        if line and not line.startswith(" "):
            names = [name.strip().lstrip("*") for name in line.partition(" : ")[0].split(",")]
            for name in names:
                found[name] = line.partition(" : ")[2]
        else:
            for name in names:
                found[name] += "\n" + line
    return found


def _raises(function: FunctionType) -> bool:
    """Whether the body itself raises something new (nested functions do not count)."""
    try:
        tree = ast.parse(textwrap.dedent(inspect.getsource(function)))
    except (OSError, TypeError):
        return False
    waiting: list[ast.AST] = list(ast.iter_child_nodes(tree.body[0]))
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.Raise) and node.exc is not None:
            return True
        if not isinstance(node, ast.FunctionDef | ast.Lambda | ast.ClassDef):
            waiting.extend(ast.iter_child_nodes(node))
    return False


def _is_property(owner: str, function: FunctionType) -> bool:
    """Whether it is read like an attribute: of a class, without arguments."""
    return "." in owner and len(inspect.signature(function).parameters) == 1


def _faults_of_function(name: str, function: FunctionType) -> list[str]:
    sections = _sections(inspect.getdoc(function) or "")
    signature = inspect.signature(function)
    arguments = [one for one in signature.parameters if one not in ("self", "cls")]
    described = _described(sections.get("Parameters", ""))
    faults = []
    if arguments != list(described):
        faults.append(f"{name}: arguments {arguments}, described {list(described)}")
    for one in arguments:
        annotation = str(signature.parameters[one].annotation)
        if "float" in annotation and not UNIT.search(described.get(one, "")):
            faults.append(f"{name}: no unit is named for {one}")
    returns_something = signature.return_annotation not in ("None", None, "NoReturn")
    says_so = "Returns" in sections or "Yields" in sections or _is_property(name, function)
    if returns_something and not says_so:
        faults.append(f"{name}: no Returns")
    if _raises(function) and "Raises" not in sections:
        faults.append(f"{name}: it raises, and no Raises says so")
    if "." not in name and "Examples" not in sections:
        faults.append(f"{name}: no Examples")
    return faults


def _faults_of_class(name: str, thing: type) -> list[str]:
    sections = _sections(inspect.getdoc(thing) or "")
    described = _described(sections.get("Attributes", "") + "\n" + sections.get("Parameters", ""))
    if dataclasses.is_dataclass(thing):
        wanted = [one.name for one in dataclasses.fields(thing) if not one.name.startswith("_")]
    elif issubclass(thing, tuple):
        wanted = list(getattr(thing, "_fields", ()))
    elif isinstance(vars(thing).get("__init__"), FunctionType):
        wanted = [
            one for one in inspect.signature(vars(thing)["__init__"]).parameters if one != "self"
        ]
    else:
        wanted = []
    missing = [one for one in wanted if one.lstrip("*") not in described]
    return [f"{name}: {missing} not described"] if missing else []


def faults(module_name: str) -> list[str]:
    """Return what is missing in the docstrings of one module."""
    found = []
    for name, thing in _public(module_name):
        if not inspect.getdoc(thing):
            found.append(f"{name}: no docstring")
        elif inspect.isclass(thing):
            found += _faults_of_class(name, thing)
        else:
            found += _faults_of_function(name, thing)
    return found


@pytest.mark.parametrize("module_name", _modules())
def test_docstrings_match_the_signatures(module_name: str) -> None:
    found = faults(module_name)
    assert not found, "\n".join(found)


def test_the_check_itself_sees_what_is_missing() -> None:
    def add(volume: float, other: int) -> float:
        """Return something.

        Parameters
        ----------
        volume : float
            Size.
        """
        raise ValueError(volume, other)

    found = _faults_of_function("add", add)
    assert [fault.partition(": ")[2].split()[0] for fault in found] == [
        "arguments", "no", "no", "it", "no",
    ]  # fmt: skip
