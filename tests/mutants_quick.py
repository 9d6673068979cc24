"""Breaks functions where they stand in memory and asks all tests that reach them: no start for a mutant, so many more can be asked.

Run: nice python tests/mutants_quick.py analysis network --count 60 [--seed 1 --only flights]. The mutants are those of `mutants.py` of the
same room and seed, the tests traced as there. All tests of the rooms are collected once; each mutant is a process forked from that, in
which the broken function's code takes the sound one's place. What no code holds (defaults, constants, classes, kernels) is left to
`mutants.py` and said, and so is what other processes alone would notice.
"""

from __future__ import annotations

import argparse
import ast
import gc
import importlib
import json
import os
import random
import re
import resource
import sys
import time
from collections import Counter
from pathlib import Path
from types import CodeType, FunctionType
from typing import Any

import mutants
import pytest
from mutants import PYTEST, ROOT, Reached


def kept(place: str) -> Reached:
    """What was traced of a file of tests, empty where that is to be done yet."""
    path = mutants.kept_at(place)
    return json.loads(path.read_text()) if path.exists() else {}


def codes(text: str, path: Path) -> dict[str, list[CodeType]]:
    """The code of each function and method of a text, by its qualified name."""
    found: dict[str, list[CodeType]] = {}
    waiting: list[CodeType] = [compile(text, str(path), "exec")]
    while waiting:
        for one in waiting.pop().co_consts:
            if isinstance(one, CodeType):
                found.setdefault(one.co_qualname, []).append(one)
                waiting += [one] if "<locals>" not in one.co_qualname else []
    return found


def holder(text: str, line: int) -> ast.FunctionDef | None:
    """The function of a module or class in whose body a line stands."""
    found = None
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef) and node.body[0].lineno <= line <= (node.end_lineno or 0):
            found = found or node  # the outermost comes first
    return found


def swap(path: Path, sound: str, broken: str) -> int:
    """Put the broken code into the functions that hold the sound one; -> how many."""
    importlib.import_module(str(path.relative_to(ROOT))[:-3].replace("/", "."))
    old, new, many = codes(sound, path), codes(broken, path), 0
    differ = {
        name: new[name]
        for name, ones in old.items()
        if name in new and [_told(c) for c in ones] != [_told(c) for c in new[name]]
    }
    gc.unfreeze()  # what was set aside for forks is looked at too
    for one in gc.get_objects():
        if isinstance(one, FunctionType) and one.__code__.co_qualname in differ:
            name = one.__code__.co_qualname
            if os.path.realpath(one.__code__.co_filename) == str(path) and len(differ[name]) == 1:
                one.__code__ = differ[name][0]
                many += 1
    return many


def _told(code: CodeType) -> Any:
    inner = tuple(_told(one) if isinstance(one, CodeType) else repr(one) for one in code.co_consts)
    return code.co_code, inner, code.co_names


# Tests of other processes alone, which hold sound code here.
_APART = re.compile("interrupted_sweep|a_cluster_gives|test_starts.py|test_fuzz|test_browser")


DOCTESTS = "tests/whole/test_doctests.py"


class Quick:
    """A session of tests that asks them about mutants."""

    def __init__(self, asked: argparse.Namespace) -> None:
        self.asked = asked
        self.failed = ""
        self.kills: Counter[tuple[str, str]] = Counter()
        self.sound: dict[str, bool] = {}

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Note a failure."""
        if report.failed and not self.failed:
            self.failed = report.nodeid

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Break and ask."""
        self.items = {item.nodeid: item for item in session.items if not _APART.search(item.nodeid)}
        files = {name.split("::")[0] for name in self.items}
        for place in sorted(files):
            if not mutants.kept_at(place).exists() and not self.asked.untraced:
                tell(f"tracing {place}")
                self.trace(place)
        self.traced = {name: value for place in files for name, value in kept(place).items() if name in self.items}
        tell(f"{len(self.items)} tests, {len(self.traced)} of them traced")
        for room in self.asked.rooms:
            chance = random.Random(f"{self.asked.seed} {room}")
            told = Counter(self.one(room, chance) for _ in range(self.asked.count))
            tell(f"{room} (seed {self.asked.seed}{', ' + self.asked.only if self.asked.only else ''}): {dict(told)}")
        return True

    def trace(self, place: str) -> None:
        """What the tests of a file call, kept."""
        if not (child := os.fork()):
            os.setsid()
            silent = os.open(os.devnull, os.O_RDWR)
            for stream in (0, 1, 2):
                os.dup2(silent, stream)
            try:
                reaching = mutants.Reaching()
                for item in (one for name, one in self.items.items() if name.split("::")[0] == place):
                    if not item.config.pluginmanager.is_registered(reaching):
                        item.config.pluginmanager.register(reaching)
                    item.config.hook.pytest_runtest_protocol(item=item, nextitem=None)
                part = mutants.kept_at(place).with_suffix(f".{os.getpid()}")
                part.write_text(json.dumps(reaching.found))
                part.rename(mutants.kept_at(place))
            finally:
                os._exit(0)
        os.waitpid(child, 0)

    def one(self, room: str, chance: random.Random) -> str:
        """One mutant as `mutants.one_mutant` chooses it."""
        place, text, line, what, broken = mutants.chosen(room, self.asked.only, chance)
        code = text.splitlines()[line - 1].strip()
        told = f"{place}:{line} {what}: {code}"
        if why := mutants.equivalents().get((place, what, code)):
            tell(f"equivalent {told} -- {why}")
            return "equivalent"
        if holder(text, line) is None:
            tell(f"other tool {told}")
            return "other tool"
        start = time.monotonic()
        order = self.order(room, place, line)
        known = self.ask(place, text, broken, order)
        while known in self.items and not self.passes(known):
            order.remove(known)
            known = self.ask(place, text, broken, order)
        if known in self.items:
            self.kills[place, known] += 1
        tell(
            f"{f'killed by {known}' if known else f'SURVIVED {len(order)} tests'} ({time.monotonic() - start:.0f} s): {told}"
        )
        return "other tool" if known == "nothing swapped" else "killed" if known else "survived"

    def passes(self, name: str) -> bool:
        """Whether a test passes on sound code."""
        if name not in self.sound:
            self.sound[name] = not self.ask("", "", "", [name])
        return self.sound[name]

    def order(self, room: str, place: str, line: int) -> list[str]:
        """The tests that reach a place, first those that are quick, near it or have noticed others of its file."""
        places = mutants.users(place, line)
        names = {mutants.functions()[one][0] for one in places}
        said = {f"said:{name}" for name in names}
        rooms = (*(self.asked.ask or mutants.ROOMS[room][1]), DOCTESTS)
        stem, found, of_file = Path(place).stem, [], Counter[str]()
        # What a file's functions are called is what cases of rules are called.
        cases = [
            f"[{one[0].replace('_', '-')}:" for name, one in mutants.functions().items() if name.startswith(f"{place}:")
        ]
        for name, (seconds, called) in sorted(self.traced.items(), key=lambda one: one[1][0]):
            if not name.startswith(rooms) or not places & set(called):
                continue
            file = name.split("::")[0]
            of_file[file] += 1  # tests of one file often notice the same
            near = 4 * bool(said & set(called)) + 4 * (stem in file) + 8 * min(3, self.kills[place, name])
            near += 20 * any(case in name for case in cases)
            found.append(((seconds + 0.02) * of_file[file] / (1 + near), seconds, name))
        order, spent = [], 0.0
        for _, seconds, name in sorted(found):
            if spent + seconds <= self.asked.seconds:
                order.append(name)
                spent += seconds
        return order

    def ask(self, place: str, text: str, broken: str, order: list[str]) -> str:
        """The first of some tests that fails with a broken text in a file's place."""
        if not order:
            return ""
        read, write = os.pipe()
        if not (child := os.fork()):
            os.setsid()
            silent = os.open(os.devnull, os.O_RDWR)
            for stream in (0, 1, 2):
                os.dup2(silent, stream)
            expected = sum(self.traced[name][0] if name in self.traced else 30.0 for name in order)
            resource.setrlimit(resource.RLIMIT_CPU, (int(3 * expected + 15),) * 2)
            try:
                if place and not swap(ROOT / place, text, broken):
                    os.write(write, b"nothing swapped")
                    os._exit(0)
                for name in order:
                    self.items[name].config.hook.pytest_runtest_protocol(item=self.items[name], nextitem=None)
                    if self.failed:
                        break
                os.write(write, self.failed.encode())
            except BaseException as fault:  # noqa: BLE001  whatever it is, the mutant did it
                os.write(write, f"the run: {fault!r}".encode())
            os._exit(0)
        os.close(write)
        with os.fdopen(read) as said:
            told = said.read()
        _, ended = os.waitpid(child, 0)
        return told or ("" if not ended else f"the end of the process ({ended})")


def tell(what: str) -> None:
    """To the terminal that the tests' captures have not got."""
    os.write(_OUT, f"\n{what}".encode())


_OUT = os.dup(1)


def main() -> int:
    """Collect, break, ask, tell."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("rooms", nargs="+")
    parser.add_argument("--count", type=int, default=30)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--only", default="", help="files whose path holds this")
    parser.add_argument("--ask", nargs="*", default=[], help="these files and folders of tests, not all of the room's")
    parser.add_argument("--untraced", action="store_true", help="ask only what was traced before")
    parser.add_argument("--seconds", type=float, default=60.0, help="of tests for a mutant")
    asked = parser.parse_args()
    from fuelsys.analysis.sweeping.first import compile_all

    compile_all()
    places = asked.ask or sorted({name for room in asked.rooms for name in mutants.ROOMS[room][1]})
    return int(pytest.main([*PYTEST, *places, DOCTESTS], plugins=[Quick(asked)]))


if __name__ == "__main__":
    sys.exit(main())
