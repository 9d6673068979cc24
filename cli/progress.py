"""Progress of long work, on stderr and only where a person is watching."""

from __future__ import annotations

import sys
from types import TracebackType

from rich.console import Console
from rich.status import Status


class Steps:
    """Shows which step is being worked on; call it with the step's name."""

    def __init__(self) -> None:
        self._status = Status("", console=Console(stderr=True)) if sys.stderr.isatty() else None

    def __enter__(self) -> Steps:
        if self._status:
            self._status.start()
        return self

    def __call__(self, step: str) -> None:
        if self._status:
            self._status.update(step)

    def __exit__(
        self, kind: type[BaseException] | None, fault: BaseException | None, trace: TracebackType | None
    ) -> None:
        if self._status:
            self._status.stop()
