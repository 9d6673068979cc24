"""Every question of the hand-kept list has its whole column: record, computation, tables, picture and command under one name."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import fuelsys
import fuelsys_cli
from fuelsys.questions import QUESTIONS, Question

ROOT, CLI = (Path(package.__file__ or "").parent for package in (fuelsys, fuelsys_cli))


def imported(path: Path) -> set[str]:
    """Modules of ours that a file imports, as paths below fuelsys/ without their suffix."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module:
            names |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return {name.removeprefix("fuelsys.").replace(".", "/") for name in names}


def column(question: Question) -> dict[str, Path]:
    """The files that a question must have."""
    parts = {"record": f"model/found/{question.name}", "computation": f"{question.room}/{question.name}"}
    if not question.sheet:
        parts["tables"] = f"report/tables/{question.name}"
        if not question.no_picture:
            parts["picture"] = f"report/charts/{question.name}"
    return {part: ROOT / f"{name}.py" for part, name in parts.items()}


@pytest.mark.parametrize("question", QUESTIONS, ids=lambda question: question.name)
def test_its_column_is_whole_and_its_command_prints_it(question: Question) -> None:
    parts = column(question) | {"command": CLI / f"{question.name}.py"}
    assert [part for part, path in parts.items() if not path.exists()] == []
    assert bool(question.no_picture or question.sheet) != (ROOT / f"report/charts/{question.name}.py").exists()
    command = imported(CLI / f"{question.name}.py")
    pictures = command | imported(ROOT / "report/charts/drawings.py")
    assert any(name.startswith(question.sheet or f"report/tables/{question.name}") for name in command)
    assert "picture" not in parts or f"report/charts/{question.name}" in pictures
    read = set().union(*(imported(path) for part, path in parts.items() if part != "record"), command)
    assert f"model/found/{question.name}" in read
    assert read & {f"{question.room}/{question.name}", "review"}
