"""Fuel-system design checks for a light aircraft, made before its tanks are closed.

A design file in, everything that was computed and every finding out; quantities are SI, errors of people are FuelsysError:

>>> import fuelsys
>>> sorted(fuelsys.__all__)[-3:]
['tables', 'unusable_over', 'write_review']
"""

from __future__ import annotations

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from fuelsys.errors import FuelsysError
    from fuelsys.face import cavity, drawings, place, tables, unusable_over, write_review
    from fuelsys.model.built.layout import Layout
    from fuelsys.model.found.findings import Finding, Outcome
    from fuelsys.model.found.study import Study
    from fuelsys.review import findings, read, study

# Loaded when they are asked for: the numerical libraries take a second, and an error message need not wait for them.
_AT = {
    "read": "fuelsys.review",
    "study": "fuelsys.review",
    "findings": "fuelsys.review",
    "Layout": "fuelsys.model.built.layout",
    "Study": "fuelsys.model.found.study",
    "Finding": "fuelsys.model.found.findings",
    "Outcome": "fuelsys.model.found.findings",
    "FuelsysError": "fuelsys.errors",
    **dict.fromkeys(("cavity", "drawings", "place", "tables", "unusable_over", "write_review"), "fuelsys.face"),
}
__all__ = [
    "Finding", "FuelsysError", "Layout", "Outcome", "Study", "cavity", "drawings", "findings", "place", "read", "study", "tables",
    "unusable_over", "write_review",
]  # fmt: skip


def __getattr__(name: str) -> Any:
    """One of the names above; AttributeError for any other."""
    if name not in _AT:
        raise AttributeError(f"module 'fuelsys' has no attribute {name!r}; it offers {', '.join(__all__)}")
    found = globals()[name] = getattr(importlib.import_module(_AT[name]), name)
    return found
