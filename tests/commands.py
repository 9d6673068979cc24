"""Runs the command as a person does: as a program of its own, in a folder of its own."""

from __future__ import annotations

import multiprocessing
import os
import subprocess
import sys
from functools import cache
from multiprocessing import forkserver
from multiprocessing.context import ForkServerContext
from pathlib import Path
from tempfile import TemporaryDirectory
from unittest import mock

import fuelsys_meshes
from fuelsys.model.found.study import Study

PROGRAM = Path(sys.executable).with_name("fuelsys")
MESHES = Path(fuelsys_meshes.__file__ or "").parent
DEMO = MESHES / "taildragger.toml"
PLAIN = {"COLUMNS": "120", "NO_COLOR": "1"}
# Commands are those of the installation: without this the process below would look for them in the folder it is started in first.
os.environ["PYTHONSAFEPATH"] = "1"


@cache
def _forks() -> ForkServerContext:
    """A process that has loaded everything (loaded.py) and forks one for each command: loading takes longer than most answers."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["loaded"])
    found = os.pathsep.join([str(Path(__file__).parent), *filter(None, [os.environ.get("PYTHONPATH")])])
    with mock.patch.dict(os.environ, PYTHONPATH=found):
        forkserver.ensure_running()
    ready = context.Process(target=int)  # no command waits for the loading
    ready.start()
    ready.join()
    return context


@cache
def demo_study() -> Study:
    """The example's study, for all tests of a process that only read it: what one of them has asked is not computed again."""
    from fuelsys import review

    return review.study(review.read(DEMO))


def run_program(*arguments: str, folder: Path, timeout_s: float = 120.0) -> subprocess.CompletedProcess[str]:
    """Start `fuelsys` itself with arguments in a folder, without a terminal."""
    return subprocess.run(
        [str(PROGRAM), *arguments],
        cwd=folder,
        env={**os.environ, **PLAIN},
        capture_output=True,
        text=True,
        timeout=timeout_s,
        check=False,
    )


def run(*arguments: str, folder: Path, timeout_s: float = 120.0) -> subprocess.CompletedProcess[str]:
    """The same in a process forked from one that has loaded the libraries: what it prints, and its exit code."""
    with TemporaryDirectory() as kept:
        out, err = Path(kept, "out"), Path(kept, "err")
        process = _forks().Process(target=_forked, args=(arguments, str(folder), str(out), str(err), dict(os.environ)))
        process.start()
        process.join(timeout_s)
        if process.is_alive():
            process.kill()
            raise subprocess.TimeoutExpired(["fuelsys", *arguments], timeout_s)
        texts = [path.read_text(encoding="utf-8") for path in (out, err)]
    return subprocess.CompletedProcess(["fuelsys", *arguments], process.exitcode or 0, *texts)


def _forked(arguments: tuple[str, ...], folder: str, out: str, err: str, environment: dict[str, str]) -> None:
    os.environ.clear()
    os.environ.update({**environment, **PLAIN})
    os.chdir(folder)
    for number, path in ((1, out), (2, err)):
        os.dup2(os.open(path, os.O_CREAT | os.O_WRONLY | os.O_TRUNC), number)
    sys.argv = ["fuelsys", *arguments]
    from fuelsys_cli.main import main

    main()


def table(text: str) -> list[list[str]]:
    """The rows under the first rule line of a printed table, as words parted by two blanks or more."""
    lines = text.splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith("───")) + 1
    rows = []
    for line in lines[start:]:
        if not line.strip() or line.startswith("  "):
            break
        rows.append([part for part in line.replace("  ", "\t").split("\t") if part])
    return [[part.strip() for part in row] for row in rows]
