"""The page of a review as a PDF, printed to scale by a browser that is installed."""

from __future__ import annotations

import os
import shutil
import subprocess
import tempfile
from pathlib import Path

from fuelsys.errors import QuestionError

PAPERS = ("a4", "letter")
# What such a browser is called on the systems that have one; all of them print with the same three options.
_BROWSERS = (
    "chromium",
    "chromium-browser",
    "google-chrome",
    "google-chrome-stable",
    "chrome",
    "microsoft-edge",
    "msedge",
)
_MOST_S = 180.0


def browser() -> str:
    """The program of a browser that prints; QuestionError where none is found: asked before long work."""
    found = next((path for name in _BROWSERS if (path := shutil.which(name))), None)
    if found is None:
        raise QuestionError(
            "no browser that prints is installed",
            mend=f"Install one that runs as {', '.join(_BROWSERS[:3])}, or print index.html from your own.",
            field="--pdf",
        )
    return found


def as_pdf(page: bytes, paper: str) -> bytes:
    """A page of HTML printed on a paper of PAPERS at its full size; QuestionError where the browser does not do it."""
    program = browser()
    root = ["--no-sandbox"] if hasattr(os, "geteuid") and os.geteuid() == 0 else []  # which it refuses to have
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as kept:
        source, printed = Path(kept, "page.html"), Path(kept, "page.pdf")
        sized = f"<style>@page {{ size: {paper} }}</style></head>".encode()
        source.write_bytes(page.replace(b"</head>", sized, 1))
        command = [
            program, "--headless", *root, "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run", "--no-pdf-header-footer",
            "--disable-background-networking", f"--user-data-dir={Path(kept, 'profile')}", f"--print-to-pdf={printed}",
            source.as_uri(),
        ]  # fmt: skip
        try:
            subprocess.run(command, capture_output=True, timeout=_MOST_S, check=True)
            pdf = printed.read_bytes()
        except (OSError, subprocess.SubprocessError) as fault:
            raise _failed(program) from fault
    if not pdf.startswith(b"%PDF-"):
        raise _failed(program)
    return pdf


def _failed(program: str) -> QuestionError:
    return QuestionError(
        f'the browser "{Path(program).name}" did not print the page',
        mend="Leave --pdf out, and print index.html from a browser of your own.",
        field="--pdf",
    )
