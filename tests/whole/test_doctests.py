"""Every example in a docstring of the library is run, and none is passed over."""

import ast
import doctest
import importlib
import pkgutil
from pathlib import Path

import pytest

import fuelsys

MODULES = sorted(module.name for module in pkgutil.walk_packages(fuelsys.__path__, "fuelsys."))


def examples_in(path: Path) -> int:
    """Examples in all docstrings of a file, whatever becomes of the objects that carry them."""
    documented = ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef
    nodes = [n for n in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(n, documented)]
    return sum(len(doctest.DocTestParser().get_examples(ast.get_docstring(node) or "")) for node in nodes)


COUNTS = {name: examples_in(Path(importlib.util.find_spec(name).origin)) for name in MODULES}  # type: ignore[union-attr, arg-type]


@pytest.mark.parametrize("name", [name for name, count in COUNTS.items() if count])
def test_examples_of_a_module(name: str) -> None:
    results = doctest.testmod(importlib.import_module(name))
    assert results.failed == 0
    # A decorator that drops a docstring (a compiled kernel, a rule) would hide its examples.
    assert results.attempted == COUNTS[name]


def test_there_are_examples() -> None:
    assert sum(COUNTS.values()) > 30
