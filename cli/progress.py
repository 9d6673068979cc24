"""Progress of long work, on stderr and only where a person is watching."""

from __future__ import annotations

import sys
from types import TracebackType

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn
from rich.status import Status
from rich.text import Text


def _console() -> Console:
    """Names of a design's parts are words here, no markup, and nothing is coloured where NO_COLOR is set."""
    return Console(stderr=True, markup=False, emoji=False, highlight=False)


class Steps:
    """Shows which step is being worked on; call it with the step's name."""

    def __init__(self) -> None:
        self._status = Status("", console=_console()) if sys.stderr.isatty() else None

    def __enter__(self) -> Steps:
        if self._status:
            self._status.start()
        return self

    def __call__(self, step: str) -> None:
        if self._status:
            self._status.update(Text(step, no_wrap=True, overflow="ellipsis"))

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._status:
            self._status.stop()


class Bar:
    """Shows how far a sweep is; call it with what is done and of how many."""

    def __init__(self, what: str) -> None:
        columns = (
            TextColumn("{task.description}", markup=False),
            BarColumn(),
            MofNCompleteColumn(),
            TimeRemainingColumn(),
        )
        watched = sys.stderr.isatty()
        self._progress = Progress(*columns, console=_console(), transient=True) if watched else None
        self._task = self._progress.add_task(what, total=None) if self._progress else None

    def __enter__(self) -> Bar:
        if self._progress:
            self._progress.start()
        return self

    def __call__(self, done: int, of: int) -> None:
        if self._progress and self._task is not None:
            self._progress.update(self._task, completed=done, total=of or None)

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._progress:
            self._progress.stop()
