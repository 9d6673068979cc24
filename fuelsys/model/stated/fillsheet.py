"""What was written down while a finished tank was filled. All SI."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Typed:
    """A quantity as it was typed: its number and unit, for what a slip of the pen may have made of it, and its SI value."""

    number: str
    unit: str
    kind: str
    si: float


@dataclass(frozen=True)
class Entry:
    """One line of the sheet: an amount poured (or drained), its temperature and the tank's, the stick, the lamps that are lit.

    None is what was not written; dry means that the stick came out dry. also is the same stick put in at other places; attitude
    names the one that it was read at, where that is not the test's; signals are what the gauges show, in their own numbers.
    """

    line: int
    amount: Typed | None = None
    drained: bool = False
    temperature_k: float | None = None
    tank_k: float | None = None
    stick: Typed | None = None
    dry: bool = False
    lit: frozenset[str] | None = None
    remark: str = ""
    also: tuple[Typed | None, ...] = ()
    attitude: str = ""
    signals: tuple[float | None, ...] = ()


@dataclass(frozen=True)
class Sheet:
    """A sheet that was filled in; file is its name, for messages."""

    file: str
    entries: tuple[Entry, ...]
