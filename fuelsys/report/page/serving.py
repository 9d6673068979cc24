"""Shows a review to a browser on this machine while it is written anew: its own files alone, under an address that nobody guesses."""

from __future__ import annotations

import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from urllib.parse import unquote, urlsplit

from fuelsys.report.files import regular
from fuelsys.report.page.folder import ledger

_HERE = "127.0.0.1"
_ASK = "written"  # what the page asks again and again: how often the review was written
_KINDS = {
    ".html": "text/html; charset=utf-8", ".svg": "image/svg+xml", ".csv": "text/csv; charset=utf-8", ".json": "application/json",
    ".txt": "text/plain; charset=utf-8", ".pdf": "application/pdf",
}  # fmt: skip
_HEADERS = {
    "Cache-Control": "no-store", "X-Content-Type-Options": "nosniff", "Referrer-Policy": "no-referrer",
    "Cross-Origin-Resource-Policy": "same-origin", "X-Frame-Options": "DENY",
}  # fmt: skip
# Given to the page as it is served, never written to the disk: it comes back to its place, and asks every second. Its place is
# that of the last named part above: for some seconds it is held there, while the explorer opens, or until the person moves.
_SCRIPT = """<script>(() => {
  const at = "fuelsys-place", place = JSON.parse(sessionStorage.getItem(at));
  sessionStorage.removeItem(at);
  const seen = (one) => one.getClientRects().length > 0, top = (one) => one.getBoundingClientRect().top;
  function hold(until) {
    const one = document.getElementById(place.part);
    if (one && seen(one)) scrollBy(0, top(one) - place.top);
    if (performance.now() < until) requestAnimationFrame(() => hold(place.moved ? 0 : until));
  }
  if (place !== null) {
    for (const kind of ["wheel", "touchstart", "pointerdown", "keydown"]) addEventListener(kind, () => { place.moved = true; });
    addEventListener("load", () => requestAnimationFrame(() => { scrollTo(0, place.y); hold(performance.now() + 5000); }));
  }
  setInterval(async () => {
    const now = await fetch("%s").then(told => told.ok ? told.text() : "%d", () => "%d");
    if (now === "%d") return;
    const part = [...document.querySelectorAll("main [id]")].filter((one) => seen(one) && top(one) <= 1).pop();
    sessionStorage.setItem(at, JSON.stringify({ y: scrollY, part: part?.id ?? "", top: part ? top(part) : 0 }));
    location.reload();
  }, 1000);
})()</script></body>"""


class Server(ThreadingHTTPServer):
    """Serves the review in a folder; add one to written when it was written anew."""

    daemon_threads = True

    def __init__(self, folder: Path) -> None:
        super().__init__((_HERE, 0), _Handler)
        self.folder, self.token, self.written = folder, secrets.token_urlsafe(24), 1

    @property
    def address(self) -> str:
        """What to open."""
        return f"http://{_HERE}:{self.server_port}/{self.token}/"

    def found(self, host: str, path: str) -> tuple[str, bytes] | None:
        """What stands under a path of this server: its kind and bytes; None for all that is not the review's."""
        parts = unquote(urlsplit(path).path).split("/", 2)
        if host != f"{_HERE}:{self.server_port}" or len(parts) != 3:
            return None
        if not secrets.compare_digest(parts[1].encode(), self.token.encode()):
            return None
        name = parts[2] or "index.html"
        if name == _ASK:
            return _KINDS[".txt"], str(self.written).encode()
        file = self.folder / name
        inside = file.resolve() == self.folder.resolve() / name  # no link on the way leads elsewhere
        if name not in ledger(self.folder) or not inside or not regular(file):
            return None
        number = self.written
        data = file.read_bytes()
        if name == "index.html":
            data = data.replace(b"</body>", (_SCRIPT % (_ASK, number, number, number)).encode(), 1)
        return _KINDS.get(file.suffix, "application/octet-stream"), data


class _Handler(BaseHTTPRequestHandler):
    timeout = 10.0
    server: Server

    def do_GET(self) -> None:
        """One file of the review, or 404."""
        try:
            found = self.server.found(self.headers.get("Host", ""), self.path)
        except (OSError, ValueError):  # taken away meanwhile, or no path at all: it is not there
            found = None
        kind, data = found or (_KINDS[".txt"], b"not found\n")
        self.send_response(200 if found else 404)
        for name, value in {**_HEADERS, "Content-Type": kind, "Content-Length": str(len(data))}.items():
            self.send_header(name, value)
        self.end_headers()
        self.wfile.write(data)

    def version_string(self) -> str:
        """Nothing about the machine."""
        return "fuelsys"

    def log_message(self, format: str, *args: object) -> None:
        """Nothing is logged: the address holds the token."""


@contextmanager
def served(folder: Path) -> Iterator[Server]:
    """The review of a folder on a free port of this machine, until the end of the block."""
    with Server(folder) as server:
        Thread(target=server.serve_forever, kwargs={"poll_interval": 0.1}, daemon=True).start()
        try:
            yield server
        finally:
            server.shutdown()
