"""The house: imports go down only, rooms on one floor are strangers, every file opens with a sentence, help is in step."""

from __future__ import annotations

import ast
import importlib
import subprocess
from functools import cache
from graphlib import TopologicalSorter
from pathlib import Path

import pytest
from fuzz_asked import OFTEN

import fuelsys
import fuelsys_cli
import fuelsys_meshes
from fuelsys_cli.main import COMMANDS

PACKAGES = {package.__name__: Path(package.__file__ or "").parent for package in (fuelsys, fuelsys_cli, fuelsys_meshes)}
FILES = [(name, folder, path) for name, folder in PACKAGES.items() for path in sorted(folder.rglob("*.py"))]
# Floor of each room; the longest matching prefix counts. The demo's meshes are made by a script that imports nothing of ours.
FLOORS = {
    "fuelsys_cli": 6,
    "fuelsys.face": 6,
    "fuelsys.report": 5,
    "fuelsys.review": 5,
    "fuelsys.load": 4,
    "fuelsys.analysis": 4,
    "fuelsys.rules": 4,
    "fuelsys.model": 3,
    "fuelsys.kernels": 2,
    "fuelsys.arrays": 1,
    "fuelsys.questions": 1,
    "fuelsys.errors": 1,
    "fuelsys.units": 1,
    "fuelsys.stops": 1,
    "fuelsys_meshes": 0,
    "fuelsys": 7,
}
# units.py raises errors.py's UnitError: the ground floor is one room.
ONE_ROOM = {"fuelsys.errors", "fuelsys.units"}


def module_name(package: str, folder: Path, path: Path) -> str:
    parts = [package, *path.relative_to(folder).with_suffix("").parts]
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def room(module: str) -> str:
    return max((r for r in FLOORS if module == r or module.startswith(f"{r}.")), key=len)


@cache
def imported(path: Path) -> list[str]:
    names = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names += [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            names += [f"{node.module}.{alias.name}" for alias in node.names]
    return [name for name in names if name.split(".")[0] in PACKAGES]


@pytest.mark.parametrize(("package", "folder", "path"), FILES, ids=[str(path.name) for _, _, path in FILES])
def test_imports_go_down_only(package: str, folder: Path, path: Path) -> None:
    here = room(module_name(package, folder, path))
    for name in imported(path):
        there = room(name)
        if here == there or {here, there} <= ONE_ROOM:
            continue
        assert FLOORS[there] < FLOORS[here], f"{path}: {here} (floor {FLOORS[here]}) imports {name}"


def test_no_ring_of_modules_and_none_of_rooms() -> None:
    modules = {module_name(package, folder, path): path for package, folder, path in FILES}
    needs = {
        name: {there if there in modules else there.rpartition(".")[0] for there in imported(path)} - {name}
        for name, path in modules.items()
    }
    assert sum(map(len, needs.values())) > 500
    TopologicalSorter(needs).prepare()
    folders = {
        name: name if path.name == "__init__.py" or name.count(".") == 1 else name.rpartition(".")[0] + ", inside"
        for name, path in modules.items()
    }
    assert len(set(folders.values())) > 20
    for of in (room, folders.__getitem__):
        rooms: dict[str, set[str]] = {}
        for name, found in needs.items():
            rooms.setdefault(of(name), set()).update(of(there) for there in found if there in modules)
        for name, found in rooms.items():
            found.discard(name)
        TopologicalSorter(rooms).prepare()


@pytest.mark.parametrize(("package", "folder", "path"), FILES, ids=[str(path.name) for _, _, path in FILES])
def test_every_file_opens_with_a_sentence(package: str, folder: Path, path: Path) -> None:
    words = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
    assert words is not None
    assert words.split("\n\n")[0].rstrip().endswith((".", ":")), f"{path}: {words.splitlines()[0]}"


def test_the_floors_have_no_module_left_out() -> None:
    for package, folder, path in FILES:
        name = module_name(package, folder, path)
        assert name in PACKAGES or room(name) not in ("fuelsys",), f"{name} stands on no floor"


@pytest.mark.parametrize("name", list(COMMANDS))
def test_the_help_line_is_the_commands_own(name: str) -> None:
    command = importlib.import_module(f"fuelsys_cli.{name}").command
    assert command.name == name
    assert (command.help or "").split("\n\n")[0].replace("\n", " ") == COMMANDS[name]


@pytest.mark.parametrize("name", list(COMMANDS))
def test_the_readme_names_every_command(name: str) -> None:
    readme = Path(__file__).parents[2] / "README.md"
    if not readme.exists():
        pytest.skip("not a checkout")
    assert f"fuelsys {name}" in readme.read_text(encoding="utf-8"), "give it a line in README's table"


def test_the_fuzzer_asks_every_command() -> None:
    assert set(OFTEN) == set(COMMANDS), "tests/fuzz_asked.py says how often each is asked, and with which options"


def test_the_top_level_is_the_design_card() -> None:
    top = Path(__file__).parents[2]
    if not (top / ".git").exists():
        pytest.skip("not a checkout")
    listed = subprocess.run(
        ["git", "ls-files"], cwd=top, capture_output=True, text=True, check=True
    ).stdout.splitlines()
    wanted = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "fuelsys",
        "cli",
        "tests",
        "meshes",
        "LICENSE",
        ".gitignore",
        ".ci",
    }
    assert {name.split("/")[0] for name in listed} == wanted


SENTENCES = {
    "note",
    "notes",
    "warning",
    "warnings",
    "found",
    "mend",
    "evidence",
    "why_not",
    "headline",
    "caution",
    "remark",
}


def said(node: ast.AST) -> bool:
    """Is it a sentence by its name, as `fault.mend` or `note` are?"""
    name = node.attr if isinstance(node, ast.Attribute) else node.id if isinstance(node, ast.Name) else ""
    return isinstance(node, ast.Attribute | ast.Name) and name in SENTENCES


def sentences_compared(tree: ast.AST) -> list[int]:
    """Lines that ask what a sentence begins or ends with, holds, or is equal to."""
    lines = []
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute):
            if node.func.attr in ("startswith", "endswith") and said(node.func.value):
                lines.append(node.lineno)
        elif isinstance(node, ast.Compare):
            texts = [one for one in (node.left, *node.comparators) if isinstance(one, ast.Constant) and one.value]
            if any(isinstance(one.value, str) for one in texts) and any(map(said, (node.left, *node.comparators))):
                lines.append(node.lineno)
    return lines


@pytest.mark.parametrize(("package", "folder", "path"), FILES, ids=[str(path.name) for _, _, path in FILES])
def test_no_code_decides_by_comparing_a_sentence(package: str, folder: Path, path: Path) -> None:
    assert sentences_compared(ast.parse("if note.startswith('Warning') or fault.mend == 'x': pass")) == [1, 1]
    assert sentences_compared(ast.parse(path.read_text(encoding="utf-8"))) == []


def lengths(path: Path) -> tuple[int, dict[str, int]]:
    """Lines of a file and of each of its functions, docstrings not counted in these."""
    text = path.read_text(encoding="utf-8")
    found = {}
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            told = node.body[0] if ast.get_docstring(node) is not None else None
            whole = (node.end_lineno or 0) - node.lineno + 1
            found[node.name] = whole - ((told.end_lineno or 0) - told.lineno + 1 if told else 0)
    return len(text.splitlines()), found


@pytest.mark.parametrize(("package", "folder", "path"), FILES, ids=[str(path.name) for _, _, path in FILES])
def test_a_stranger_can_read_every_file_and_function(package: str, folder: Path, path: Path) -> None:
    lines, functions = lengths(path)
    assert lines <= 300 or path.name == "starter_text.py"  # a text to fill in, no code
    assert {name: length for name, length in functions.items() if length > 52} == {}
