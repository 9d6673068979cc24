"""Breaks the code at random places, one at a time, and asks the tests of that part whether they notice.

Run: python tests/mutants.py --count 60 [--seed 1] [--minutes 20]. It works on a copy; each mutant gets the tests of TESTS, and what
survives is printed with its line. Not among the tests: some minutes for ten mutants. Equivalent mutants survive by right.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[1]
FLOW = (
    "tests/analysis/test_flow_laws.py tests/kernels/test_flow_network.py tests/rules/test_rules_flow.py"
    " tests/analysis/test_published_fuel.py"
)
STATES = "tests/analysis/test_states.py tests/rules/test_rules_flow.py"
AIR = "tests/rules/test_rules_breathing.py"
RULES = (
    "tests/rules/test_planted.py tests/rules/test_rules_feed.py tests/rules/test_rules_vents.py tests/rules/test_rules_returns.py"
    " tests/rules/test_rules_flow.py tests/rules/test_rules_breathing.py tests/rules/test_rules_in_flight.py"
    " tests/rules/test_rules_shares.py tests/rules/test_rules_builder.py"
)
# A file, or a folder with what it holds, and its tests.
TESTS = {
    "fuelsys/kernels/steady.py": FLOW,
    "fuelsys/kernels/meeting.py": "tests/analysis/test_held.py",
    "fuelsys/analysis/lines/states.py": STATES,
    "fuelsys/analysis/lines/statewise.py": STATES,
    "fuelsys/analysis/lines/phases.py": "tests/analysis/test_phases.py",
    "fuelsys/analysis/lines/breathing.py": AIR,
    "fuelsys/analysis/lines/overfilling.py": AIR,
    "fuelsys/analysis/lines/heat.py": "tests/analysis/test_heat.py",
    "fuelsys/analysis/lines/flow.py": FLOW,
    "fuelsys/analysis/lines/hydraulics.py": FLOW,
    "fuelsys/analysis/tank/held.py": "tests/analysis/test_held.py",
    "fuelsys/analysis/tank/combined.py": "tests/analysis/test_combined.py tests/analysis/test_held.py",
    "fuelsys/analysis/tank/unusable.py": "tests/analysis/test_held.py tests/analysis/test_published.py tests/rules/test_rules_tank.py",
    "fuelsys/rules/plumbing": RULES,
}
SWAPS: dict[type, type] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Lt: ast.Gt, ast.Gt: ast.Lt, ast.LtE: ast.GtE,
    ast.GtE: ast.LtE, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.And: ast.Or, ast.Or: ast.And, ast.In: ast.NotIn, ast.NotIn: ast.In,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
CALLS = {"max": "min", "min": "max", "any": "all", "all": "any"}


def mutant(text: str, chance: random.Random) -> tuple[int, str, str]:
    """One of a file: its line, what is changed, and the file's text with that."""
    listed = text.splitlines()
    may = [
        k
        for k, node in enumerate(list(ast.walk(ast.parse(text))))
        if changed(node) and "@rule" not in listed[node.lineno - 1]
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


def files() -> list[tuple[Path, str]]:
    """The files that are broken, each with its tests."""
    found = []
    for name, tests in TESTS.items():
        path = ROOT / name
        found += [
            (one, tests)
            for one in (sorted(path.glob("*.py")) if path.is_dir() else [path])
            if one.name != "__init__.py"
        ]
    return found


def noticed(copy: Path, tests: str, seconds: float) -> bool:
    """Whether the tests fail, or never end."""
    links = copy / "links"
    environment = {**os.environ, "PYTHONPATH": f"{copy}:{links}"}
    command = [sys.executable, "-m", "pytest", "-q", "-x", "-n", "0", "-p", "no:cacheprovider", *tests.split()]
    try:
        ran = subprocess.run(command, cwd=copy, env=environment, capture_output=True, timeout=seconds, check=False)
    except subprocess.TimeoutExpired:
        return True
    return ran.returncode != 0


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
    parser.add_argument("--count", type=int, default=60)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=60.0)
    asked = parser.parse_args()
    chance, end, lived, killed = random.Random(asked.seed), time.monotonic() + asked.minutes * 60.0, 0, 0
    chosen, sound = files(), set[str]()
    with tempfile.TemporaryDirectory() as folder:
        copy = copied(Path(folder))
        while killed + lived < asked.count and time.monotonic() < end:
            path, tests = chance.choice(chosen)
            if tests not in sound and noticed(copy, tests, 900.0):
                sys.exit(f"these fail as it is: {tests}")
            sound.add(tests)
            text = path.read_text(encoding="utf-8")
            line, what, broken = mutant(text, chance)
            target = copy / path.relative_to(ROOT)
            target.write_text(broken, encoding="utf-8")
            known = noticed(copy, tests, 400.0)
            target.write_text(text, encoding="utf-8")
            killed, lived = killed + known, lived + (not known)
            word = "killed" if known else "SURVIVED"
            print(f"{word} {path.relative_to(ROOT)}:{line} {what}: {text.splitlines()[line - 1].strip()}", flush=True)
    print(f"{killed + lived} mutants, {killed} killed, {lived} survived")
    return 0


if __name__ == "__main__":
    sys.exit(main())
