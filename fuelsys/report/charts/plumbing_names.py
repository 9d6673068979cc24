"""Names on the drawings of the plumbing: of components and of tanks' fittings, joined where their marks lie on one another."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.tank_pictures import Mark, marks

_MOST_MM = 62.0  # of names in one label


class Name(NamedTuple):
    """What stands at a place of the paper: its words, the tank that it belongs to, and its sign."""

    at: Floats
    words: str
    tank: str = ""
    sign: str = "o"

    @property
    def component(self) -> bool:
        """Is it a component, or the datum?"""
        return self.sign != "o"


def ports(layout: Layout) -> list[tuple[FittedTank, Mark]]:
    """The fittings of all tanks that lines may join."""
    return [(tank, mark) for tank in layout.tanks for mark in marks(tank) if mark.kind != "switch"]


def merged(named: Sequence[Name]) -> list[Name]:
    """Labels of marks that lie on one another joined into one; components first, since they matter most."""
    found: list[list[Name]] = []
    for one in sorted(named, key=lambda one: not one.component):
        same = (group for group in found if group[0].component == one.component)
        group = next((group for group in same if np.hypot(*(group[0].at - one.at)) < 0.6), None)
        if group is None:
            found.append([one])
        else:
            group.append(one)
    return [group[0]._replace(words=_joined([(one.tank, one.words) for one in group])) for group in found]


def _joined(names: Sequence[tuple[str, str]]) -> str:
    """Names in one label with their tanks: a tank that they share said once, and what is called alike in several.

    >>> _joined([("header", "inlet from left"), ("header", "inlet from right")]), _joined([("", "pump")])
    ('header: inlet from left, inlet from right', 'pump')
    >>> _joined([("left", "vent"), ("right", "vent")])
    'left, right: vent'
    """
    tanks: dict[str, list[str]] = {}
    for tank, words in names:
        tanks.setdefault(words, []).append(tank)
    alike: dict[str, list[str]] = {}
    for words, of in tanks.items():
        alike.setdefault(", ".join(filter(None, dict.fromkeys(of))), []).append(words)
    return "; ".join((f"{of}: " if of else "") + _few(words) for of, words in alike.items())


def _few(words: Sequence[str]) -> str:
    """Names in a row, as many as find room on a drawing.

    >>> _few(["left overboard", "right overboard"])
    'left overboard, right overboard'
    """
    fit = next((k for k in range(len(words), 1, -1) if ink.width_of(", ".join(words[:k]), weight="bold") < _MOST_MM), 1)
    return ", ".join(words[:fit]) + (f" and {len(words) - fit} more" if fit < len(words) else "")
