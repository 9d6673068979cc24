"""A sweep: one question asked of many cases, shared out to whatever workers there are, answered in the order asked."""

from __future__ import annotations

import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator, Sized
from concurrent.futures import Executor, Future, ThreadPoolExecutor, wait
from contextlib import contextmanager
from functools import partial
from itertools import islice
from typing import TypeVar

Asked = TypeVar("Asked")
Answer = TypeVar("Answer")
Progress = Callable[[int, int], None]  # told the cases done, and their number; 0 where that is not known

LEAST_SHARED_FACES = 10_000  # measured: at 2,000 two threads take twice as long as one, at 66,000 little more than half
AHEAD = 4  # batches in flight for each worker, so that none waits for the one whose turn it is


def cores() -> int:
    """The number of cores that this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def threads_for(faces: int) -> int:
    """How many threads are worth while for a mesh: on a small one they wait for the interpreter's lock, and one is quicker.

    >>> threads_for(2000), threads_for(200_000) == cores()
    (1, True)
    """
    return cores() if faces >= LEAST_SHARED_FACES else 1


def untold(_done: int, _of: int) -> None:
    """Progress that nobody watches."""


def sweep(
    work: Callable[[Asked], Answer],
    asked: Iterable[Asked],
    executor: Executor | None = None,
    progress: Progress = untold,
    ahead: int | None = None,
    batch: int = 1,
) -> Iterator[Answer]:
    """The work's answer to each case, in the order asked: the same whatever the number or the kind of workers.

    Without an executor it runs in this thread; threads are enough, since the kernels leave the interpreter's lock. For
    processes and clusters work and cases must pickle: work is sent once with every batch of cases, so that what it
    holds (a cavity) does not travel with each. asked is read only as far as the workers get: at most `ahead` batches
    are in flight (four for each core of this machine where it is not said). What the work raises, and an interruption,
    is raised here; batches that have not begun are then cancelled, and those that have are waited for.

    >>> list(sweep(abs, iter([-3, 2, -1]), batch=2))
    [3, 2, 1]
    """
    of = len(asked) if isinstance(asked, Sized) else 0
    done = 0
    for answers in _in_order(partial(_each, work), _batches(asked, batch), executor, ahead or AHEAD * cores()):
        done += len(answers)
        progress(done, of)
        yield from answers


def _each(work: Callable[[Asked], Answer], asked: list[Asked]) -> list[Answer]:
    return [work(one) for one in asked]


def _batches(asked: Iterable[Asked], size: int) -> Iterator[list[Asked]]:
    left = iter(asked)
    while batch := list(islice(left, size)):
        yield batch


def _in_order(
    work: Callable[[Asked], Answer], asked: Iterable[Asked], executor: Executor | None, ahead: int
) -> Iterator[Answer]:
    if executor is None:
        yield from map(work, asked)
        return
    flying: deque[Future[Answer]] = deque()
    try:
        for one in asked:
            flying.append(executor.submit(work, one))
            if len(flying) >= ahead:
                yield flying[0].result()
                flying.popleft()
        while flying:
            yield flying[0].result()
            flying.popleft()
    finally:
        wait([future for future in flying if not future.cancel()])


@contextmanager
def threads(workers: int) -> Iterator[Executor | None]:
    """Threads for sweeps, none for a single worker; when they are left, nothing of theirs runs or waits any more."""
    if workers == 1:
        yield None
        return
    executor = ThreadPoolExecutor(workers)
    try:
        yield executor
    finally:
        executor.shutdown(cancel_futures=True)
