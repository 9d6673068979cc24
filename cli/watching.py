"""Waits until a file that an answer rests on is saved again."""

from __future__ import annotations

import time
from collections.abc import Iterable
from pathlib import Path

_EVERY_S = 0.5
State = dict[Path, tuple[int, int, int] | None]


def state(files: Iterable[Path]) -> State:
    """When each file was written, how long it is and which it is; None where it is not there."""
    found: State = {}
    for file in files:
        try:
            stat = file.stat()
        except OSError:
            found[file] = None
        else:
            found[file] = (stat.st_mtime_ns, stat.st_size, stat.st_ino)
    return found


def known(files: Iterable[Path], before: State) -> State:
    """The state of files: as it was before they were read where that is known, else as it is now."""
    return {file: before.get(file, now) for file, now in state(files).items()}


def wait(since: State) -> State:
    """The state once it is another one and has stood still, so that a file is whole."""
    while True:
        time.sleep(_EVERY_S)
        now = state(since)
        if now != since:
            time.sleep(_EVERY_S)
            if state(since) == now:
                return now
