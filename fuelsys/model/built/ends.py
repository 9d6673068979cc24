"""What lines run between: typed ends, lines placed in the aircraft, and a line as it is followed from one end to the other."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.stated.design import Line, LineKind


@dataclass(frozen=True)
class PortEnd:
    """A tank's port."""

    tank: str
    port: str

    def __str__(self) -> str:
        return f"{self.tank}.{self.port}"


@dataclass(frozen=True)
class ComponentEnd:
    """A component."""

    name: str
    tank: None = None  # so that any end can be asked for its tank

    def __str__(self) -> str:
        return self.name


End = PortEnd | ComponentEnd


def end_of(text: str) -> End:
    """An end as the design file writes it; no name has a dot in it.

    >>> end_of("left.outlet"), end_of("filter").tank
    (PortEnd(tank='left', port='outlet'), None)
    """
    tank, dot, port = text.partition(".")
    return PortEnd(tank, port) if dot else ComponentEnd(text)


@dataclass(frozen=True, eq=False)
class PlacedLine:
    """A line with its whole path in body axes, ends included: points_m (k, 3), from its `from` to its `to`."""

    design: Line
    points_m: Floats
    drains_m: Floats

    @property
    def name(self) -> str:
        """The line's name."""
        return self.design.name

    @cached_property
    def start(self) -> End:
        """Its `from`."""
        return end_of(self.design.from_port)

    @cached_property
    def end(self) -> End:
        """Its `to`."""
        return end_of(self.design.to_port)

    @property
    def kind(self) -> LineKind:
        """What it is for."""
        return self.design.kind

    @property
    def bore_m(self) -> float:
        """Its bore."""
        return self.design.bore_m

    @cached_property
    def bends_rad(self) -> tuple[float, ...]:
        """By how much it turns at each of its corners."""
        along = np.diff(self.points_m, axis=0)
        long = np.linalg.norm(along, axis=1)
        along = along[long > 0.0] / long[long > 0.0, None]
        return tuple(np.arccos(np.clip((along[1:] * along[:-1]).sum(axis=1), -1.0, 1.0)).tolist())

    @property
    def length_m(self) -> float:
        """Its length along the bends."""
        return float(np.linalg.norm(np.diff(self.points_m, axis=0), axis=1).sum())


@dataclass(frozen=True, eq=False)
class Step:
    """A line as it is followed, from start to end: as it is drawn, or back."""

    line: PlacedLine
    start: End
    end: End

    @property
    def points_m(self) -> Floats:
        """The line's points in the order in which it is followed: (k, 3)."""
        return self.line.points_m if self.line.start == self.start else self.line.points_m[::-1]
