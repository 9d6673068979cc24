"""What was written down while a finished tank was filled. All SI."""

from __future__ import annotations

import re
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
    names the one that it was read at, where that is not the test's; signals are what the gauges show, in their own numbers;
    step is what the sheet numbers it by.
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
    step: str = ""

    @property
    def place(self) -> str:
        """Where it stands: its step as printed, and its line in the file."""
        return f"step {self.step}, line {self.line} of the file" if self.step else f"line {self.line}"


@dataclass(frozen=True)
class MadeFor:
    """What a sheet was written for: a tank, an attitude, the first digits of its mesh's SHA-256 (empty: not known).

    It stands as a remark, before what a person writes there.

    >>> MadeFor("left", "parked", "0a1b2c").words
    'sheet for tank left; attitude parked; mesh 0a1b2c'
    >>> MadeFor.read(MadeFor("left", "parked", "0a1b2c").words + ", cold")
    (MadeFor(tank='left', attitude='parked', mesh='0a1b2c'), 'cold')
    """

    tank: str
    attitude: str
    mesh: str = ""

    @property
    def words(self) -> str:
        """As it stands in the sheet."""
        return f"sheet for tank {self.tank}; attitude {self.attitude}; mesh {self.mesh or '-'}"

    @classmethod
    def read(cls, remark: str) -> tuple[MadeFor | None, str]:
        """What a remark says of it, and what else stands there."""
        said = re.match(r"sheet for tank (.+); attitude (.+); mesh ([0-9a-f]+|-)(?![0-9a-z])[\s,;.]*", remark)
        if said is None:
            return None, remark
        return cls(said[1], said[2], said[3].replace("-", "")), remark[said.end() :]


@dataclass(frozen=True)
class Sheet:
    """A sheet that was filled in; file is its name, for messages. made_for is None where it does not say."""

    file: str
    entries: tuple[Entry, ...]
    made_for: MadeFor | None = None
