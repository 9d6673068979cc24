"""Sweeps: the same answers whoever computes them, in order, a few at a time, and nothing left behind when they stop."""

from __future__ import annotations

import multiprocessing
import os
import pty
import signal
import subprocess
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from commands import DEMO, PROGRAM, run
from hypothesis import given
from hypothesis import strategies as st
from numpy.testing import assert_array_equal

from fuelsys.analysis.sweeping.map import unusable_map
from fuelsys.analysis.sweeping.place_search import search
from fuelsys.analysis.sweeping.sweeps import sweep, threads
from fuelsys.analysis.sweeping.tolerance import tolerance_study
from fuelsys.load.designs.door import load_design
from fuelsys.model.found.tolerance import Tolerances
from fuelsys_cli import main


class Kept(Executor):
    """Threads whose futures are kept, for looking at them afterwards."""

    def __init__(self, workers: int) -> None:
        self._threads, self.futures = ThreadPoolExecutor(workers), []

    def submit(self, work: Callable[..., Any], /, *given: Any, **named: Any) -> Future[Any]:
        self.futures.append(self._threads.submit(work, *given, **named))
        return self.futures[-1]

    def shutdown(self, wait: bool = True, *, cancel_futures: bool = False) -> None:
        self._threads.shutdown(wait=wait, cancel_futures=cancel_futures)

    @property
    def flying(self) -> int:
        return sum(not future.done() for future in self.futures)


def cube(number: int) -> int:
    time.sleep(0.0002 * (number % 3))  # so that answers do not come in the order asked
    return number**3


@given(st.lists(st.integers(-99, 99), max_size=40), st.integers(1, 7), st.integers(1, 9), st.integers(0, 4))
def test_answers_are_those_of_a_plain_loop(asked: list[int], batch: int, ahead: int, workers: int) -> None:
    told: list[tuple[int, int]] = []
    with threads(workers) if workers else threads(1) as executor:
        found = list(sweep(cube, asked, executor, lambda *at: told.append(at), ahead, batch))
    assert found == [number**3 for number in asked]
    # Progress rises batch by batch to the whole.
    n = len(asked)
    assert told == [(min(n, done + batch), n) for done in range(0, n, batch)]


def test_only_a_few_are_in_flight_and_the_rest_is_not_read() -> None:
    read: list[int] = []

    def endless() -> Iterator[int]:
        while True:
            read.append(len(read))
            yield read[-1]

    with Kept(2) as executor:
        answers = sweep(cube, endless(), executor, ahead=5, batch=3)
        for number in range(100):
            assert next(answers) == number**3
            assert executor.flying <= 5
            assert len(read) <= number + 3 * 5 + 3
        answers.close()  # type: ignore[attr-defined]
        assert all(future.done() for future in executor.futures)


@pytest.mark.parametrize("workers", [0, 2])
@pytest.mark.parametrize("fault", [ValueError("the seventh"), KeyboardInterrupt()])
def test_a_fault_of_the_work_stops_all_of_it(workers: int, fault: BaseException) -> None:
    begun: list[int] = []

    def work(number: int) -> int:
        begun.append(number)
        if number == 7:
            raise fault
        time.sleep(0.01)
        return number

    with Kept(2) as executor:
        with pytest.raises(type(fault)):
            list(sweep(work, range(10_000), executor if workers else None, ahead=6))
        assert executor.flying == 0
    # What had been handed out when the seventh was looked at, no more.
    assert set(begun) <= set(range(7 + 6 + 1))


def test_an_interruption_between_answers_cancels_what_waits() -> None:
    def told(done: int, _of: int) -> None:
        if done == 3:
            raise KeyboardInterrupt

    def slow(number: int) -> int:
        time.sleep(0.02)
        return number

    before = threading.active_count()
    with pytest.raises(KeyboardInterrupt), threads(2) as executor:
        list(sweep(slow, range(1000), executor, told, ahead=8))
    assert threading.active_count() == before


# --- the real sweeps, on all kinds of workers --------------------------------------------------------------------------


def answers(executor: Executor | None, ahead: int | None = None) -> list[Any]:
    """All three sweeps over the demo's tanks, small."""
    layout = load_design(DEMO)
    left, _, header = layout.tanks
    grid = unusable_map(left, np.radians([-7.0, 0.0, 9.0]), np.radians([-5.0, 0.0, 3.0]), executor, ahead=ahead)
    spread = tolerance_study(layout, header, Tolerances(0.002, 0.01, 0.05, 0.01), 40, 3, executor, ahead=ahead)
    found = search(layout, header, 600.0, 0.05, executor, ahead=ahead)
    return [grid.tolist(), spread, found]


@pytest.fixture(scope="module")
def plain() -> list[Any]:
    return answers(None)


@pytest.mark.parametrize("workers", [1, 2, 5])
def test_threads_give_the_same_bits(workers: int, plain: list[Any]) -> None:
    with ThreadPoolExecutor(workers) as executor:
        assert answers(executor, 1 + workers) == plain


def test_processes_give_the_same_bits(plain: list[Any]) -> None:
    with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as executor:
        assert answers(executor) == plain


@pytest.mark.filterwarnings("default")  # the library's own
def test_a_cluster_gives_the_same_bits(plain: list[Any], tmp_path: Path) -> None:
    distributed = pytest.importorskip("distributed", reason='needs the extra "cluster"')
    with (
        distributed.LocalCluster(
            processes=True, n_workers=2, threads_per_worker=1, dashboard_address=None, local_directory=str(tmp_path)
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        assert answers(client.get_executor()) == plain
        # And by its address, as a person gives it.
        asked = ("place", str(DEMO), "--tank", "header", "--reserve", "10 min", "--search", "50 mm", "--form", "csv")
        by_threads = run(*asked, folder=tmp_path)
        by_cluster = run(*asked, "--cluster", cluster.scheduler_address, folder=tmp_path)
    assert by_threads.returncode == by_cluster.returncode == 0, by_cluster.stderr
    assert by_cluster.stdout == by_threads.stdout


# --- the commands, watched and interrupted -----------------------------------------------------------------------------

COMMANDS = {
    "map": ["map", str(DEMO), "--tank", "left", "--steps", "900", "--picture", "picture.svg"],
    "tolerance": ["tolerance", str(DEMO), "--tank", "left", "--set-off", "2 mm", "--samples", "1000000"],
    "place": [
        *("place", str(DEMO), "--tank", "left", "--reserve", "30 min"),
        *("--search", "2 mm", "--picture", "picture.png"),
    ],
}


def children(process: int) -> set[int]:
    """Processes below a process, from the system's own list."""
    parents = {}
    for status in Path("/proc").glob("[0-9]*/stat"):
        try:
            fields = status.read_text().rpartition(")")[2].split()
        except OSError:  # it ended meanwhile
            continue
        parents[int(status.parent.name)] = int(fields[1])
    found = {process}
    while more := {one for one, parent in parents.items() if parent in found} - found:
        found |= more
    return found - {process}


@pytest.mark.skipif(not Path("/proc/self/stat").exists(), reason="needs /proc")
@pytest.mark.parametrize(("name", "workers"), [("map", "3"), ("tolerance", "1"), ("tolerance", "3"), ("place", "2")])
def test_an_interrupted_sweep_leaves_no_process_and_no_file(name: str, workers: str, tmp_path: Path) -> None:
    watched, terminal = pty.openpty()
    process = subprocess.Popen(
        [str(PROGRAM), *COMMANDS[name], "--workers", workers],
        cwd=tmp_path,
        env={**os.environ, "COLUMNS": "120", "TERM": "xterm"},
        stdout=subprocess.PIPE,
        stderr=terminal,
    )
    os.close(terminal)
    shown = b""
    while b"tank left" not in shown:  # the progress bar, on a terminal
        shown += os.read(watched, 4096)
    drain = threading.Thread(target=partial(_read_on, watched), daemon=True)
    drain.start()
    time.sleep(0.3)
    assert process.poll() is None
    below = children(process.pid)
    process.send_signal(signal.SIGINT)
    told, _ = process.communicate(timeout=60)
    drain.join(timeout=10)
    os.close(watched)
    assert process.returncode == 130
    assert told == b""
    assert list(tmp_path.iterdir()) == []
    assert not [one for one in below if Path(f"/proc/{one}").exists()]


def test_an_interruption_inside_a_kernel_is_one_too(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    # numba raises SystemError from the KeyboardInterrupt that came while it called a kernel.
    def interrupted(**_: object) -> None:
        raise SystemError("returned a result with an exception set") from KeyboardInterrupt()

    monkeypatch.setattr(main.group, "main", interrupted)
    with pytest.raises(SystemExit) as left:
        main.main()
    assert left.value.code == 130
    assert capsys.readouterr().err == "stopped; nothing was left half-written\n"


def _read_on(terminal: int) -> None:
    try:
        while os.read(terminal, 4096):
            pass
    except OSError:  # how a terminal says that nobody writes any more
        return


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        pytest.param(["--workers", "0"], "Invalid value for '--workers': 0 is not in the range x>=1.", id="no worker"),
        pytest.param(
            ["--picture", "map.gif"], 'Error: --picture: "map.gif" is neither a .png nor a .svg file.', id="odd picture"
        ),
        pytest.param(
            ["--picture", "there.svg"],
            "there.svg: the file is there already. Give another name, or say --replace.",
            id="there already",
        ),
    ],
)
def test_a_mistake_is_told_before_the_work(arguments: list[str], told: str, tmp_path: Path) -> None:
    (tmp_path / "there.svg").write_text("mine", encoding="utf-8")
    done = run("map", str(DEMO), "--tank", "left", "--steps", "900", *arguments, folder=tmp_path, timeout_s=30)
    assert done.returncode == 2
    assert done.stdout == ""
    assert told in done.stderr.splitlines()[-1]
    assert (tmp_path / "there.svg").read_text(encoding="utf-8") == "mine"


def test_nothing_is_told_where_nobody_watches(tmp_path: Path) -> None:
    done = run(*COMMANDS["map"][:4], "--steps", "2", folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")


def test_arrays_are_cases_too() -> None:
    assert_array_equal(list(sweep(np.negative, np.array([1.0, 2.0]))), [-1.0, -2.0])
