"""What an output was made of, by which version, on which day."""

from __future__ import annotations

from datetime import date, datetime
from importlib.metadata import version
from typing import Any

from fuelsys.model.built.layout import Input, Layout


def line(layout: Layout, day: date) -> str:
    """One line for a sheet of paper: the design file, twelve digits of the digest of it and its meshes, the version and the day."""
    return f"{layout.file} ({layout.made_of}), fuelsys {version('fuelsys')}, {day.isoformat()}"


def record(inputs: tuple[Input, ...], made: datetime) -> dict[str, Any]:
    """The same for a program, each file with its SHA-256.

    >>> record((Input("left.stl", "ab"),), datetime(2026, 3, 1))["inputs"]
    [{'file': 'left.stl', 'sha256': 'ab'}]
    """
    return {
        "made": made.isoformat(timespec="seconds"),
        "version": version("fuelsys"),
        "inputs": [{"file": one.file, "sha256": one.sha256} for one in inputs],
    }
