"""Progress of long work, on stderr and only where a person is watching."""

from __future__ import annotations

import sys
from types import TracebackType
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from rich.console import Console
    from rich.progress import Progress
    from rich.status import Status


def _console() -> Console:
    """Names of a design's parts are words here, no markup; rich leaves colours out where NO_COLOR is set."""
    from rich.console import Console

    return Console(stderr=True, markup=False, emoji=False, highlight=False)


def _status() -> Status:
    from rich.status import Status

    return Status("", console=_console())


def _progress() -> Progress:
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    columns = (TextColumn("{task.description}", markup=False), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    return Progress(*columns, console=_console(), transient=True)


class Steps:
    """Shows which step is being worked on; call it with the step's name."""

    def __init__(self) -> None:
        self._status = _status() if sys.stderr.isatty() else None

    def __enter__(self) -> Steps:
        if self._status:
            self._status.start()
        return self

    def __call__(self, step: str) -> None:
        if self._status:
            from rich.text import Text

            self._status.update(Text(step, no_wrap=True, overflow="ellipsis"))

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._status:
            self._status.stop()


class Bar:
    """Shows how far a sweep is; call it with what is done and of how many."""

    def __init__(self, what: str) -> None:
        self._progress = _progress() if sys.stderr.isatty() else None
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
