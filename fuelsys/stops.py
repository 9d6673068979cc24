"""Signals that stop the program, and how something short is finished before they do."""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

# What a person, a terminal that closes or a system that shuts down stops a program with, where the system has it.
STOPS = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))


@contextmanager
def uninterrupted() -> Iterator[None]:
    """Signals that would stop the program wait until what is begun here is done; it must be short."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    came: list[int] = []

    def remember(number: int, _frame: FrameType | None) -> None:
        came.append(number)

    before = {number: signal.getsignal(number) for number in STOPS}
    handled = {number: handler for number, handler in before.items() if handler not in (signal.SIG_IGN, None)}
    try:
        for number in handled:
            signal.signal(number, remember)
        yield
    finally:
        for number, handler in handled.items():
            signal.signal(number, handler)
    if came:
        signal.raise_signal(came[0])
