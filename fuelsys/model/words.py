"""Sentences about a design: texts with figures in SI between them, and which of them are warnings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Quantity:
    """A figure in a sentence, for the report to write in the units asked for: one SI value, or three of a place.

    kind is "length", "area", "volume", "flow", "pressure", "density", "mass", "force", "speed" or "climb" (a rate of it or of
    descent); up: written as no less than it is, for mends.
    """

    kind: str
    values_si: tuple[float, ...]
    up: bool = False


Words = tuple[str | Quantity, ...]


def warnings(notes: Sequence[str | Words]) -> tuple[str, ...]:
    """Those notes that say why a figure may be wrong; they go wherever the figure goes.

    >>> warnings(["made for 0.05 mm", "Warning: mended"])
    ('Warning: mended',)
    """
    return tuple(note for note in notes if isinstance(note, str) and note.startswith("Warning:"))
