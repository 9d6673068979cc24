"""Runs the command as a person does: as a program of its own, in a folder of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import fuelsys_meshes

PROGRAM = Path(sys.executable).with_name("fuelsys")
MESHES = Path(fuelsys_meshes.__file__ or "").parent
DEMO = MESHES / "taildragger.toml"


def run(*arguments: str, folder: Path, timeout_s: float = 120.0) -> subprocess.CompletedProcess[str]:
    """Run `fuelsys` with arguments in a folder, without a terminal."""
    environment = {**os.environ, "COLUMNS": "120", "NO_COLOR": "1"}
    return subprocess.run(
        [str(PROGRAM), *arguments],
        cwd=folder,
        env=environment,
        capture_output=True,
        text=True,
        timeout=timeout_s,
        check=False,
    )


def table(text: str) -> list[list[str]]:
    """The rows under the first rule line of a printed table, as words parted by two blanks or more."""
    lines = text.splitlines()
    start = next(i for i, line in enumerate(lines) if line.startswith("───")) + 1
    rows = []
    for line in lines[start:]:
        if not line.strip() or line.startswith("  "):
            break
        rows.append([part for part in line.replace("  ", "\t").split("\t") if part])
    return [[part.strip() for part in row] for row in rows]
