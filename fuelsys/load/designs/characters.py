"""Texts of a design file that cannot be shown as they are: they would reach the terminal, pictures and names of files."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator

from fuelsys import units
from fuelsys.load.designs.faults import Fault, Place

# Control characters, those that turn the direction of a text round or join and part letters unseen, halves of characters,
# and breaks of a line or a paragraph.
_UNSEEN = ("Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp")


def faults(tables: object, place: Place = ()) -> Iterator[Fault]:
    """Every key and text of a file's tables that holds a character which cannot be seen."""
    if isinstance(tables, dict):
        for key, value in tables.items():
            if _unseen(key):
                yield _fault(place, key, "the key")
            yield from faults(value, (*place, key))
    elif isinstance(tables, list):
        for number, value in enumerate(tables):
            yield from faults(value, (*place, number))
    elif isinstance(tables, str) and _unseen(tables):
        yield _fault(place, tables, "found")


def _unseen(text: str) -> bool:
    return not text.isprintable() and any(unicodedata.category(c) in _UNSEEN for c in text)


def _fault(place: Place, text: str, what: str) -> Fault:
    first = next(c for c in text if unicodedata.category(c) in _UNSEEN)
    name = unicodedata.name(first, f"control character {ord(first)}").lower()
    return Fault(place, f"{what} {units.shown(text)} holds a character that cannot be seen ({name})", "Take it out.")
