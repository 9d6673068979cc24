"""Breaks the code at random places, one at a time, and asks the tests that reach the place whether they notice.

Run: nice python tests/mutants.py [kernels rules ...] --count 30 [--seed 1]. It works on a copy. Which test calls which function is traced
once and kept in the temporary folder, by the text of the file of tests. A mutant is a process forked from one that has loaded the
libraries: it loads the broken code and runs the tests that call the broken function, the quickest first, then the rest of their files
and the examples of the broken one, then what else calls it, until one fails or the time is spent. Of compiled kernels only the broken
one and its callers are compiled anew. What survives is printed with its line; `equivalent.txt` beside this file lists what cannot be
noticed, and why. `mutants_quick.py` asks many more of what is not compiled.
"""

from __future__ import annotations

import argparse
import ast
import hashlib
import importlib
import json
import os
import random
import re
import shutil
import signal
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from functools import cache
from itertools import accumulate
from pathlib import Path
from types import FrameType
from typing import Any

import pytest

ROOT = Path(__file__).parents[1]
KEPT = Path(tempfile.gettempdir()) / "fuelsys-mutants"
# Loaded once, before any mutant is forked; nothing of our own.
LIBRARIES = (
    "numba", "pandas", "matplotlib.pyplot", "hypothesis.strategies", "pydantic", "trimesh", "scipy.optimize", "scipy.stats", "fluids",
    "click", "rich.table", "manifold3d", "jinja2", "networkx", "lxml.etree", "pint", "ezdxf", "numpy.testing",
)  # fmt: skip
# A room of the code, and the rooms of tests that have to notice what is broken in it.
ROOMS = {
    "kernels": (("fuelsys/kernels",), ("tests/kernels", "tests/analysis", "tests/load")),
    "analysis": (
        tuple(f"fuelsys/analysis/{name}" for name in ("tank", "flights", "fills", "sweeping")),
        ("tests/analysis", "tests/rules"),
    ),
    "network": (("fuelsys/analysis/lines", "fuelsys/model/built"), ("tests/analysis", "tests/rules")),
    "rules": (("fuelsys/rules",), ("tests/rules",)),
    "load": (("fuelsys/load",), ("tests/load", "tests/cli")),
    "units": (
        ("fuelsys/units.py", "fuelsys/report/shown.py", "fuelsys/report/table.py"),
        ("tests/report", "tests/load"),
    ),
}
SWAPS: dict[type, type] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Lt: ast.Gt, ast.Gt: ast.Lt, ast.LtE: ast.GtE,
    ast.GtE: ast.LtE, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq, ast.And: ast.Or, ast.Or: ast.And, ast.In: ast.NotIn, ast.NotIn: ast.In,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is,
}  # fmt: skip
# Where a mutant would be equivalent: lists are of one length, records are not changed, values between wires.
_EQUIVALENT = re.compile(r"strict=(True|False)\)|frozen=True|maxsize=|TYPE_CHECKING")
CALLS = {"max": "min", "min": "max", "any": "all", "all": "any"}


Reached = dict[str, tuple[float, list[str]]]


def mutant(text: str, chance: random.Random) -> tuple[int, str, str]:
    """One of a file: its line, what is changed, and the file's text with that."""
    listed, tree = text.splitlines(), ast.parse(text)
    may = [
        k
        for k, node in enumerate(list(ast.walk(ast.parse(text))))
        if changed(node) and "@rule" not in listed[node.lineno - 1] and not _EQUIVALENT.search(listed[node.lineno - 1])
    ]
    node: Any = list(ast.walk(tree))[chance.choice(may)] if may else None
    return (node.lineno, changed(node), plain(tree)) if node else (0, "", text)


def plain(tree: ast.AST) -> str:
    """A file's text of one length, one statement a line: numba knows what it keeps by the file's length, age and lines."""
    return ast.unparse(tree).ljust(100_000) + "\n"


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


# --- what reaches a place ----------------------------------------------------------------------------------------------------


@cache
def functions() -> dict[str, tuple[str, int, int, frozenset[str], bool]]:
    """Of each function and statement of the code, as path:name: its plain name, lines, the names that it says, whether it is traced."""
    found = {}
    for path in sorted([*ROOT.glob("fuelsys/**/*.py"), *ROOT.glob("cli/**/*.py")]):
        place = path.relative_to(ROOT)
        for name, node in _parts(ast.parse(path.read_text(encoding="utf-8")), ""):
            words = frozenset(
                one.id if isinstance(one, ast.Name) else one.attr
                for one in ast.walk(node)
                if isinstance(one, ast.Name | ast.Attribute)
            )
            # What stands in a class's body belongs to the class.
            known = name.split(".")[0] if isinstance(node, ast.Assign | ast.AnnAssign) else name
            # What is compiled makes no calls that can be seen.
            traced = isinstance(node, ast.FunctionDef) and "compiled" not in map(ast.unparse, node.decorator_list)
            found[f"{place}:{name}"] = (known.split(".")[-1], node.lineno, node.end_lineno or 0, words, traced)
    return found


def _parts(tree: Any, before: str) -> Iterator[tuple[str, Any]]:
    for node in tree.body:
        if isinstance(node, ast.ClassDef):
            yield from _parts(node, f"{before}{node.name}.")
        elif isinstance(node, ast.FunctionDef):
            yield f"{before}{node.name}", node
        elif isinstance(node, ast.Assign | ast.AnnAssign):
            target = node.targets[0] if isinstance(node, ast.Assign) else node.target
            yield f"{before}{ast.unparse(target)}", node


def users(place: str, line: int) -> set[str]:
    """The part of the code that holds a line, and where that is no traced function all that use it, one through the other."""
    listed = functions().items()
    inside = [one for one, (_, low, high, *_) in listed if one.startswith(f"{place}:") and low <= line <= high]
    found, new = set(inside[:1]), inside[:1]
    while new:
        name, *_, traced = functions()[new.pop()]
        more = set() if traced else {user for user, (*_, words, _) in listed if name in words} - found
        found |= more
        new += more
    return found


class TooSlowError(BaseException):
    """A test that is not worth asking: what it calls until then is noted."""


class Reaching:
    """Of each test how long it takes, which of our functions it calls, and which names it says itself."""

    def __init__(self) -> None:
        self.found: Reached = {}

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Any:
        """Trace the calls of one test and nothing inside them."""
        called: set[Any] = set()

        def note(frame: FrameType, event: str, told: Any) -> None:
            called.add(frame.f_code)

        def stop(number: int, frame: FrameType | None) -> None:
            raise TooSlowError

        signal.signal(signal.SIGPROF, stop)
        signal.setitimer(signal.ITIMER_PROF, _SLOWEST_S)
        start = time.process_time()
        sys.settrace(note)
        result = yield
        sys.settrace(None)
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        own = {(os.path.relpath(os.path.realpath(one.co_filename)), one) for one in called}
        names = {
            f"{path}:{one.co_qualname.split('.<locals>')[0]}"
            for path, one in own
            if path.startswith(("fuelsys", "cli"))
        }
        said = {f"said:{word}" for path, one in own if path.startswith("tests") for word in one.co_names}
        self.found[item.nodeid] = (time.process_time() - start, sorted(names | said))
        return result


def kept_at(place: str) -> Path:
    """Where it is kept what the tests of a file call."""
    text = (ROOT / place).read_bytes()
    return KEPT / f"{hashlib.sha256(b'slow too' + place.encode() + text).hexdigest()[:20]}.json"


def reached(copy: Path, place: str) -> Reached:
    """Of each test of a file how long it takes and what it calls; kept for as long as the file stays as it is."""
    kept = kept_at(place)

    def trace() -> str:
        reaching = Reaching()
        try:
            pytest.main([*PYTEST, place], plugins=[reaching])
        finally:
            whole = kept.with_suffix(f".{os.getpid()}")
            whole.write_text(json.dumps(reaching.found))
            whole.rename(kept)
        return ""

    if not kept.exists():
        fault = forked(copy, trace, 900.0)
        if not kept.exists():
            sys.exit(f"{place} cannot be traced: {fault}")
    return json.loads(kept.read_text())


def other_tests(copy: Path, room: str, places: set[str], asked: set[str], budget: float) -> list[str]:
    """Of a room's tests what calls a place and was not asked, slow tests too, the quickest first, as far as the time goes."""
    listed = [
        (seconds, name)
        for path in (one for name in ROOMS[room][1] for one in sorted((ROOT / name).rglob("test_*.py")))
        for name, (seconds, called) in reached(copy, str(path.relative_to(ROOT))).items()
        if name not in asked and places & set(called)
    ]
    spent = list(accumulate(seconds for seconds, _ in sorted(listed)))
    return [name for (_, name), until in zip(sorted(listed), spent, strict=True) if until < budget]


def asked_tests(copy: Path, room: str, places: set[str], budget: float) -> tuple[list[str], list[str]]:
    """The quickest tests that call a place, from the files that name it most, as far as the time goes; then their neighbours.

    First those of the nearest files, for most mutants are noticed there, and to load all files takes longer than to ask.
    """
    names = {functions()[one][0] for one in places}
    told = places | {f"said:{name}" for name in names}
    listed = []
    for path in (one for name in ROOMS[room][1] for one in (ROOT / name).rglob("test_*.py")):
        words = set(re.findall(r"\w+", text := path.read_text(encoding="utf-8")))
        stems = {Path(one.split(":")[0]).stem for one in places}
        near = 3 * len(words & names) + 2 * len(words & stems) + any(stem in path.stem for stem in stems)
        listed.append((-near, len(text), str(path.relative_to(ROOT))))
    order, spent, many = [], 0.0, 0
    for _, _, place in sorted(listed):
        tests = {
            name: (seconds, told & set(called))
            for name, (seconds, called) in reached(copy, place).items()
            if seconds < _SLOW_S
        }
        if any(called for _, called in tests.values()):
            order += [(many >= _NEAR, not called, seconds, name) for name, (seconds, called) in tests.items()]
            many += sum(bool(called) for _, called in tests.values())
            spent += sum(seconds for seconds, called in tests.values() if called)
        if spent > budget:
            break
    order.sort()
    return [name for far, _, _, name in order if not far], [name for far, _, _, name in order if far]


# --- one mutant --------------------------------------------------------------------------------------------------------------

_SLOW_S = 1.0
_SLOWEST_S = 30.0
_NEAR = 12  # tests that call a place
PYTEST = ("-q", "-n", "0", "-p", "no:cacheprovider", "-W", "ignore::pytest.PytestAssertRewriteWarning")


class Asking:
    """Runs chosen tests in the order that is given, and keeps the first that fails."""

    def __init__(self, order: list[str]) -> None:
        self.place = {name: k for k, name in enumerate(order)}
        self.failed = ""

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        """Only those, in that order."""
        items[:] = sorted((one for one in items if one.nodeid in self.place), key=lambda one: self.place[one.nodeid])

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Note a failure."""
        if report.failed and not self.failed:
            self.failed = report.nodeid


def forked(copy: Path, work: Callable[[], str], seconds: float) -> str:
    """What some work says in a process of its own that starts in the copy, or that it took too long."""
    read, write = os.pipe()
    if not (child := os.fork()):
        os.setsid()
        os.chdir(copy)
        silent = os.open(os.devnull, os.O_RDWR)
        for stream in (0, 1, 2):
            os.dup2(silent, stream)
        try:
            os.write(write, work().encode())
        except BaseException as fault:  # noqa: BLE001  whatever ends the start is what the mutant did
            os.write(write, f"the start: {fault!r}".encode())
        os._exit(0)
    os.close(write)
    end = time.monotonic() + seconds
    while not os.waitpid(child, os.WNOHANG)[0]:
        if time.monotonic() > end:
            os.killpg(child, signal.SIGKILL)
            os.waitpid(child, 0)
            os.close(read)
            return f"a wait of {seconds:.0f} s"
        time.sleep(0.02)
    with os.fdopen(read) as told:
        return told.read()


def noticed(copy: Path, place: str, tests: list[str], stale: set[str], seconds: float) -> str:
    """The first test that fails on what is broken; none where they have not noticed."""

    def ask() -> str:
        if "/kernels/" in place:
            keep_kernels(stale)
        asking = Asking(tests)
        code = pytest.main([*PYTEST, "-x", *sorted({name.split("::")[0] for name in tests})], plugins=[asking])
        return asking.failed or ("" if code == 0 else f"the start: pytest's {code!r}")

    return forked(copy, ask, seconds)


def keep_kernels(stale: set[str]) -> None:
    """Hand the broken code what was compiled of the sound one, without the kernels that hold what is broken."""
    kept = importlib.import_module("fuelsys.kernels.compiled").KEPT_IN
    names = {one.split("/")[-1].replace(".py:", ".") for one in stale}
    for path in filter(Path.is_file, (KEPT / "kernels").glob(f"{(KEPT / 'sound').read_text()}/*")):
        if path.name.rsplit("-", 1)[0] not in names:
            shutil.copy2(path, kept)
    (kept / "some.nbi").touch()  # else the tests would compile all that is missing, used or not


def copied(folder: Path) -> Path:
    """A copy of the project that can be broken, its code as `plain` writes it."""
    copy = folder / "copy"
    shutil.copytree(
        ROOT,
        copy,
        ignore=shutil.ignore_patterns(".git", ".venv", "*.egg-info", ".*_cache", ".hypothesis", "__pycache__"),
    )
    (copy / "links").mkdir()
    for link, to in (("fuelsys_cli", "cli"), ("fuelsys_meshes", "meshes")):
        (copy / "links" / link).symlink_to(copy / to)
    for path in copy.glob("fuelsys/**/*.py"):
        written(path, plain(ast.parse(path.read_text(encoding="utf-8"))))
    return copy


def written(path: Path, text: str) -> None:
    """Write a file of one age."""
    path.write_text(text, encoding="utf-8")
    os.utime(path, (1e9, 1e9))


def main() -> int:
    """Break, ask, tell."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("rooms", nargs="*", default=list(ROOMS), help=f"of {', '.join(ROOMS)}; all")
    parser.add_argument("--count", type=int, default=30)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="files whose path holds this")
    parser.add_argument(
        "--seconds", type=float, default=8.0, help="of the nearest tests for a mutant; of all others five times that"
    )
    asked = parser.parse_args()
    (KEPT / "kernels").mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        copy = copied(Path(folder))
        for name in LIBRARIES:
            importlib.import_module(name)
        sys.path[:1] = [str(copy), str(copy / "links")]
        os.environ |= {
            "PYTHONPATH": f"{copy}:{copy}/links",
            "PYTHONDONTWRITEBYTECODE": "1",
            "NUMBA_CACHE_DIR": str(KEPT / "kernels"),
        }
        sys.dont_write_bytecode = True
        (KEPT / "sound").write_text(
            forked(copy, lambda: importlib.import_module("fuelsys.kernels.compiled").KEPT_IN.name, 60.0)
        )
        for room in asked.rooms:
            chance, start = random.Random(f"{asked.seed} {room}"), time.monotonic()
            told = [one_mutant(copy, room, asked.only, chance, asked.seconds) for _ in range(asked.count)]
            counts = ", ".join(f"{told.count(word)} {word}" for word in ("killed", "equivalent", "survived"))
            print(f"{room}: {counts}, {len(told) / (time.monotonic() - start) * 60:.1f} a minute", flush=True)
    return 0


def chosen(room: str, only: str, chance: random.Random) -> tuple[str, str, int, str, str]:
    """A mutant of a room: its file, that file's text, the line, what is changed, the broken text. A file comes as often as it is long."""
    files = [one for one in sources(room) if only in str(one.relative_to(ROOT))]
    path = chance.choices(files, [one.stat().st_size for one in files])[0]
    text = path.read_text(encoding="utf-8")
    line, what, broken = mutant(text, chance)
    return (str(path.relative_to(ROOT)), text, line, what, broken) if line else chosen(room, only, chance)


def one_mutant(copy: Path, room: str, only: str, chance: random.Random, budget: float) -> str:
    """Break one place, ask the tests that reach it, tell, and put it back."""
    place, text, line, what, broken = chosen(room, only, chance)
    code = text.splitlines()[line - 1].strip()
    if why := equivalents().get((place, what, code)):
        print(f"equivalent {place}:{line} {what}: {code} -- {why}", flush=True)
        return "equivalent"
    start, parts = time.monotonic(), users(place, line)
    examples = [f"tests/whole/test_doctests.py::test_examples_of_a_module[{place[:-3].replace('/', '.')}]"]
    near, others = asked_tests(copy, room, parts, budget)
    rounds = (near, others + (examples if ">>>" in text else []))
    known = next((found for tests in rounds if (found := asking(copy, place, text, broken, tests, parts))), "")
    asked = [*near, *others]
    if not known:
        asked += (more := other_tests(copy, room, parts, set(asked), 5.0 * budget))
        known = asking(copy, place, text, broken, more, parts)
    word = f"killed by {known}" if known else f"SURVIVED {len(asked)} tests"
    print(f"{word} ({time.monotonic() - start:.0f} s): {place}:{line} {what}: {code}", flush=True)
    return "killed" if known else "survived"


def asking(copy: Path, place: str, text: str, broken: str, tests: list[str], stale: set[str]) -> str:
    """The first of some tests that fails on what is broken and not on what is sound."""
    while tests:
        written(copy / place, broken)
        known = noticed(copy, place, tests, stale, 200.0)
        written(copy / place, plain(ast.parse(text)))
        if not known or sound(copy, place, tuple([known] if "::" in known else tests)):
            return known
        if known not in tests:
            sys.exit(f"{known}: with the sound code too")
        tests = [one for one in tests if one != known]  # what it says is not of the code
    return ""


@cache
def sound(copy: Path, place: str, tests: tuple[str, ...]) -> bool:
    """Whether tests that failed on a mutant pass on what was not broken."""
    return not noticed(copy, place, [*tests], set(), 300.0)


@cache
def equivalents() -> dict[tuple[str, str, str], str]:
    """Why a mutant cannot be noticed, by its file, what is changed, and its line of code."""
    lines = (ROOT / "tests" / "equivalent.txt").read_text(encoding="utf-8").splitlines()
    return {(place, what, code): why for place, what, code, why in (line.split(" | ") for line in lines)}


if __name__ == "__main__":
    sys.exit(main())
