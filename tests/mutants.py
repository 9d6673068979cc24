"""Breaks the code at random places, one at a time, and asks the tests of that part whether they notice.

Run: python tests/mutants.py [kernels rules ...] --count 25 [--seed 1]. It works on a copy; each mutant gets the tests of its room, those
first that name the broken function, and what survives is printed with its line. Not among the tests: about half an hour for 25 mutants
of each room. Equivalent mutants survive by right.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
# A room of the code, and the rooms of tests that have to notice what is broken in it.
ROOMS = {
    "kernels": (("fuelsys/kernels",), ("tests/kernels", "tests/analysis")),
    "analysis": (
        ("fuelsys/analysis/tank", "fuelsys/analysis/flights", "fuelsys/analysis/fills"),
        ("tests/analysis", "tests/rules"),
    ),
    "network": (("fuelsys/analysis/lines", "fuelsys/model/built"), ("tests/analysis", "tests/rules")),
    "rules": (("fuelsys/rules",), ("tests/rules",)),
    "load": (("fuelsys/load",), ("tests/load", "tests/cli")),
    "units": (("fuelsys/units.py", "fuelsys/report/shown.py"), ("tests/report",)),
}
SWAPS: dict[type, type] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Lt: ast.Gt, ast.Gt: ast.Lt, ast.LtE: ast.GtE,
    ast.GtE: ast.LtE, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.And: ast.Or, ast.Or: ast.And, ast.In: ast.NotIn, ast.NotIn: ast.In,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
# Where a mutant would be equivalent: lists are of one length, records are not changed, values between wires.
_EQUIVALENT = re.compile(r"strict=(True|False)\)|frozen=True|maxsize=|TYPE_CHECKING")
CALLS = {"max": "min", "min": "max", "any": "all", "all": "any"}


def mutant(text: str, chance: random.Random) -> tuple[int, str, str]:
    """One of a file: its line, what is changed, and the file's text with that."""
    listed = text.splitlines()
    may = [
        k
        for k, node in enumerate(list(ast.walk(ast.parse(text))))
        if changed(node) and "@rule" not in listed[node.lineno - 1] and not _EQUIVALENT.search(listed[node.lineno - 1])
    ]
    number = chance.choice(may)
    tree = ast.parse(text)
    node = list(ast.walk(tree))[number]
    what = changed(node)
    return node.lineno, what, ast.unparse(tree)


def changed(node: Any) -> str:
    """Change a node in place, if anything of it can be, and say what."""
    told = ""
    if isinstance(node, ast.BinOp | ast.BoolOp) and type(node.op) in SWAPS:
        swapped = SWAPS[type(node.op)]
        told = f"{type(node.op).__name__} -> {swapped.__name__}"
        node.op = swapped()
    elif isinstance(node, ast.Compare) and type(node.ops[0]) in SWAPS:
        swapped = SWAPS[type(node.ops[0])]
        told = f"{type(node.ops[0]).__name__} -> {swapped.__name__}"
        node.ops[0] = swapped()
    elif isinstance(node, ast.Constant) and isinstance(node.value, bool | float):
        told = f"{node.value} -> {not node.value if isinstance(node.value, bool) else node.value * 1.3 + 0.01}"
        node.value = (not node.value) if isinstance(node.value, bool) else node.value * 1.3 + 0.01
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in CALLS:
        told = f"{node.func.id} -> {CALLS[node.func.id]}"
        node.func.id = CALLS[node.func.id]
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub):
        told = f"{type(node.op).__name__} away"
        node.op = ast.UAdd() if isinstance(node.op, ast.USub) else ast.Not()
        if isinstance(node.op, ast.Not):
            node.operand = ast.UnaryOp(ast.Not(), node.operand)
    return told


def sources(room: str) -> list[Path]:
    """The files of a room that are broken."""
    paths = [ROOT / name for name in ROOMS[room][0]]
    found = [one for path in paths for one in (sorted(path.rglob("*.py")) if path.is_dir() else [path])]
    return [one for one in found if one.name != "__init__.py"]


def asked_tests(room: str, path: Path, line: int) -> list[str]:
    """The room's files of tests, those first that name the broken function, then those that name its module."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    inside = [
        node.name
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef | ast.ClassDef) and node.lineno <= line <= (node.end_lineno or node.lineno)
    ]
    listed = []
    for name in ROOMS[room][1]:
        for one in sorted((ROOT / name).rglob("test_*.py")):
            words = set(re.findall(r"\w+", one.read_text(encoding="utf-8")))
            near = (3 if words & set(inside) else 0) + (2 if path.stem in words else 0) + (path.stem in one.stem)
            listed.append((-near, one.stat().st_size, str(one.relative_to(ROOT))))
    return [name for _, _, name in sorted(listed)]


def noticed(copy: Path, tests: list[str], seconds: float) -> str:
    """The first test that fails; none where those that ended in time have not noticed."""
    links = copy / "links"
    environment = {**os.environ, "PYTHONPATH": f"{copy}:{links}", "PYTHONDONTWRITEBYTECODE": "1"}
    command = [sys.executable, "-m", "pytest", "-q", "-x", "-n", "0", "-p", "no:cacheprovider", *tests]
    try:
        ran = subprocess.run(
            command, cwd=copy, env=environment, capture_output=True, text=True, timeout=seconds, check=False
        )
    except subprocess.TimeoutExpired:
        return ""
    failed = re.findall(r"^(?:FAILED|ERROR) (\S+)", ran.stdout, re.M)
    if ran.returncode != 0 and not failed:
        sys.exit(f"pytest did not run: {ran.stdout[-500:]} {ran.stderr[-500:]}")
    return failed[0] if failed else ""


def copied(folder: Path) -> Path:
    """A copy of the project that can be broken."""
    copy = folder / "copy"
    shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(".git", ".venv", "*.egg-info", ".*_cache", ".hypothesis"))
    (copy / "links").mkdir()
    for link, to in (("fuelsys_cli", "cli"), ("fuelsys_meshes", "meshes")):
        (copy / "links" / link).symlink_to(copy / to)
    return copy


def main() -> int:
    """Break, ask, tell."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("rooms", nargs="*", default=list(ROOMS), help=f"of {', '.join(ROOMS)}; all")
    parser.add_argument("--count", type=int, default=25)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=400.0)
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        copy = copied(Path(folder))
        for room in asked.rooms:
            chance, killed = random.Random(f"{asked.seed} {room}"), 0
            for _ in range(asked.count):
                killed += one_mutant(copy, room, chance, asked.seconds)
            print(f"{room}: {asked.count} mutants, {killed} killed, {asked.count - killed} survived", flush=True)
    return 0


def one_mutant(copy: Path, room: str, chance: random.Random, seconds: float) -> bool:
    """Break one place, ask the room's tests, tell, and put it back. A file is chosen as often as it is long."""
    files = sources(room)
    path = chance.choices(files, [one.stat().st_size for one in files])[0]
    text = path.read_text(encoding="utf-8")
    line, what, broken = mutant(text, chance)
    target = copy / path.relative_to(ROOT)
    target.write_text(broken, encoding="utf-8")
    known = noticed(copy, asked_tests(room, path, line), seconds)
    target.write_text(text, encoding="utf-8")
    word = f"killed by {known}:" if known else "SURVIVED"
    print(f"{word} {path.relative_to(ROOT)}:{line} {what}: {text.splitlines()[line - 1].strip()}", flush=True)
    return bool(known)


if __name__ == "__main__":
    sys.exit(main())
