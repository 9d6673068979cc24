"""Sentences about a design: texts with figures in SI between them, and which of them are warnings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Quantity:
    """A figure in a sentence, for the report to write in the units asked for: one SI value, or three of a place.

    kind is "length", "area", "volume", "flow", "pressure", "density", "mass", "force", "speed" or "climb" (a rate of it or of
    descent); up: written as no less than it is, down: as no more, for mends.
    """

    kind: str
    values_si: tuple[float, ...]
    up: bool = False
    down: bool = False


Words = tuple[str | Quantity, ...]


class Doubt(str):
    """A note that says why a figure may be wrong: a warning, wherever the figure goes.

    >>> Doubt("mended") == "mended", as_read(Doubt("mended")), as_read("made for 0.05 mm")
    (True, 'Warning: mended', 'made for 0.05 mm')
    """

    __slots__ = ()


def as_read(note: str) -> str:
    """A note as a person reads it."""
    return f"Warning: {note}" if isinstance(note, Doubt) else note


def warnings(notes: Sequence[str | Words]) -> tuple[Doubt, ...]:
    """The doubts among notes.

    >>> warnings(["made for 0.05 mm", Doubt("mended")])
    ('mended',)
    """
    return tuple(note for note in notes if isinstance(note, Doubt))
