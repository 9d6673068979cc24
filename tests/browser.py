"""Drives Chromium without a window over its own pipe: opens a page, acts in it, keeps what it logged and asked for."""

from __future__ import annotations

import base64
import fcntl
import json
import os
import select
import shutil
import subprocess
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

CHROMIUM = next((found for name in ("chromium", "chromium-browser") if (found := shutil.which(name))), None)
needs_browser = pytest.mark.skipif(CHROMIUM is None, reason="needs Chromium to open the page")
FLAGS = [
    "--headless", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage", "--remote-debugging-pipe", "about:blank",
]  # fmt: skip
_WAIT_S = 60.0


@dataclass
class Page:
    """A page in Chromium; events are all that it told of itself since it was opened."""

    _ask: Callable[..., dict[str, Any]]
    events: list[dict[str, Any]] = field(default_factory=list)

    def open(self, file: Path, fragment: str = "") -> None:
        """Open a file and wait until its explorer shows something or has gone."""
        self.events.clear()
        self._ask("Page.navigate", url=f"{file.as_uri()}{fragment}")
        ready = "document.readyState === 'complete' && !document.getElementById('ex-body')?.hidden"
        self.until(f"location.href !== 'about:blank' && {ready}")

    def until(self, condition: str) -> None:
        """Wait until something holds in the page."""
        end = time.monotonic() + _WAIT_S
        while not self.run(f"return Boolean({condition})"):
            assert time.monotonic() < end, f"{condition}: {self.logged}"
            time.sleep(0.05)

    def run(self, body: str) -> Any:
        """What the body of an asynchronous function gives back in the page."""
        told = self._ask(
            "Runtime.evaluate", expression=f"(async () => {{ {body} }})()", awaitPromise=True, returnByValue=True
        )
        assert "exceptionDetails" not in told, told
        return told["result"].get("value")

    def set(self, method: str, **parameters: Any) -> dict[str, Any]:
        """Any command of the protocol."""
        return self._ask(method, **parameters)

    def pdf(self) -> bytes:
        """The page as it is printed."""
        return base64.b64decode(self._ask("Page.printToPDF", preferCSSPageSize=True)["data"])

    @property
    def asked_for(self) -> list[str]:
        """Every address that the page has asked for."""
        found = [one["params"] for one in self.events if one["method"] == "Network.requestWillBeSent"]
        return [one["request"]["url"] for one in found]

    @property
    def logged(self) -> list[str]:
        """Everything that the page has logged, and every fault."""
        kinds = ("Runtime.consoleAPICalled", "Runtime.exceptionThrown", "Log.entryAdded")
        return [json.dumps(one["params"])[:500] for one in self.events if one["method"] in kinds]


@contextmanager
def browser() -> Iterator[Page]:
    """Chromium with a profile of its own and one empty page."""
    ends = [end for pipe in (os.pipe(), os.pipe()) for end in pipe]
    theirs_in, ours_out, ours_in, theirs_out = (fcntl.fcntl(end, fcntl.F_DUPFD, 20) for end in ends)
    # 3 and 4 stay taken until Chromium has started, so that the pipe by which a start tells of its faults is neither.
    taken = [*ends, *(os.open(os.devnull, os.O_RDONLY) for _ in range(2))]

    def ordered() -> None:  # Chromium listens at 3 and speaks at 4
        os.dup2(theirs_in, 3)
        os.dup2(theirs_out, 4)

    root = ["--no-sandbox"] if os.geteuid() == 0 else []
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        command = [str(CHROMIUM), f"--user-data-dir={profile}", *root, *FLAGS]
        process = subprocess.Popen(
            command,
            preexec_fn=ordered,  # noqa: PLW1509  no threads here
            close_fds=False,  # Python's own close themselves
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        for end in (theirs_in, theirs_out, *taken):
            os.close(end)
        try:
            yield _attached(ours_out, ours_in)
        finally:
            process.terminate()
            process.wait(timeout=20)
            os.close(ours_out)
            os.close(ours_in)


def _attached(out: int, into: int) -> Page:
    """The browser's one page, telling of all that it does."""
    session: dict[str, str] = {}
    number, unread = 0, b""

    def ask(method: str, **parameters: Any) -> dict[str, Any]:
        nonlocal number, unread
        number += 1
        message = {"id": number, "method": method, "params": parameters, **session}
        os.write(out, json.dumps(message).encode() + b"\0")
        end = time.monotonic() + _WAIT_S
        while True:
            text, found, rest = unread.partition(b"\0")
            if not found:
                ready, _, _ = select.select([into], [], [], max(0.0, end - time.monotonic()))
                assert ready, f"{method}: no answer"
                unread += os.read(into, 1 << 20)
                continue
            unread = rest
            told = json.loads(text)
            if told.get("id") == number:
                assert "error" not in told, told
                answer: dict[str, Any] = told["result"]
                return answer
            if "method" in told:
                page.events.append(told)

    page = Page(ask)
    targets = ask("Target.getTargets")["targetInfos"]
    target = next(one["targetId"] for one in targets if one["type"] == "page")
    session["sessionId"] = ask("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
    for kind in ("Page", "Runtime", "Network", "Log"):
        ask(f"{kind}.enable")
    return page
