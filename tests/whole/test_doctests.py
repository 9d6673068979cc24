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


def path_of(name: str) -> Path:
    return Path(importlib.util.find_spec(name).origin)  # type: ignore[union-attr, arg-type]


# Whether there is an example in one is asked of each as it is run: reading all takes a second, in every worker.
WITH_EXAMPLES = [name for name in MODULES if ">>> " in path_of(name).read_text(encoding="utf-8")]


@pytest.mark.parametrize("name", WITH_EXAMPLES)
def test_examples_of_a_module(name: str) -> None:
    results = doctest.testmod(importlib.import_module(name))
    assert results.failed == 0
    # A decorator that drops a docstring (a compiled kernel, a rule) would hide its examples.
    assert results.attempted == examples_in(path_of(name)) > 0


def test_there_are_examples() -> None:
    assert len(WITH_EXAMPLES) > 30
