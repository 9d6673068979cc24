"""How the coverage of the published paragraphs is written: an item is what covers one of them on the finished aircraft.

An item is something to see or to do, in our own words; it names the rules that check the same on paper, and the figure to reach,
which is computed for the design at hand where it can be.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fuelsys.model.found.findings import COMMON_PRACTICE, Source
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.stated.components import Engine, Pump, Selector
from fuelsys.rules.words import before_64

GASOLINE = ("avgas", "mogas")

Figure = Callable[[Study], str]  # a text with marks, see words.py
TankFigure = Callable[[Study, TankStudy], str]


@dataclass(frozen=True)
class Only:
    """What an item is for, as a phrase, and whether a design is that; of_tank: whether a tank of it is."""

    words: str
    test: Callable[[Study], bool]
    of_tank: Callable[[TankStudy], bool] = lambda _: True

    def fits(self, study: Study, tank: TankStudy | None) -> bool:
        """Whether an item is for a design, or for one of its tanks."""
        return self.test(study) and (tank is None or self.of_tank(tank))


@dataclass(frozen=True)
class Item:
    """One line of the checklist; figure is for the whole aircraft, each for one tank: such an item has a box for each tank."""

    sources: tuple[Source, ...]
    do: str
    rules: tuple[str, ...] = ()
    figure: Figure | None = None
    each: TankFigure | None = None
    only: Only | None = None


@dataclass(frozen=True)
class Section:
    """A part of the checklist that is done at one time; by_tank: once for each tank, on a sheet of its own.

    measured: what was measured is written beside the figure.
    """

    key: str
    title: str
    items: tuple[Item, ...]
    by_tank: bool = False
    measured: bool = False


def item(
    sources: str | Source | tuple[str | Source, ...],
    do: str,
    rules: str = "",
    *,
    figure: Figure | str | None = None,
    each: TankFigure | None = None,
    only: Only | None = None,
) -> Item:
    """An item; a source that begins with 23. is a paragraph of 14 CFR before amendment 23-64, rules are parted by blanks."""
    given = sources if isinstance(sources, tuple) else (sources,)
    stated = tuple(before_64(one) if isinstance(one, str) else one for one in given)
    text = figure
    computed: Figure | None = (lambda _: text) if isinstance(text, str) else text
    return Item(stated, do, tuple(rules.split()), computed, each, only)


def memory(paragraph: str, note: str = "") -> Source:
    """A paragraph of 14 CFR 23 whose words nobody has looked up."""
    return Source(f"14 CFR {paragraph}", "before amendment 23-64" + (f", {note}" if note else ""), from_memory=True)


PRACTICE = COMMON_PRACTICE
AC_90_89A = Source("AC 90-89A, 1995, chapter 1, section 11, paragraph 1.e")
AC_43_13 = Source("AC 43.13-1B, chapter 8, section 2, read in a copy")
LOW_FUEL = Source("14 CFR 27.1305(l), a rule for rotorcraft taken as a good model")
STRAINER = before_64("23.977", "read in the sister rules 25.977, 27.977 and 29.977")
CELLS = "MIL-T-5578C, for flexible cells"


def _has(kind: type) -> Callable[[Study], bool]:
    return lambda study: any(isinstance(part, kind) for part in study.layout.design.component)


def _returns(study: Study) -> bool:
    design = study.layout.design
    flows = (part.return_flow_m3_s for part in design.component if isinstance(part, Engine))
    return any(flows) or any(line.kind == "return" for line in design.line)


def _fuels(*kinds: str) -> Callable[[Study], bool]:
    return lambda study: study.layout.design.fuel.kind in kinds


def _any_tank(test: Callable[[TankStudy], object]) -> Callable[[Study], bool]:
    return lambda study: any(test(tank) for tank in study.tanks)


GRAVITY = Only("gravity feed", lambda study: study.layout.design.aircraft.feed == "gravity")
PUMPED = Only("pump feed", lambda study: study.layout.design.aircraft.feed == "pump")
PUMPS = Only("a pump", _has(Pump))
SELECTOR = Only("a selector", _has(Selector))
RETURN = Only("fuel that comes back from the engine", _returns)
GASOLINE_ONLY = Only("gasoline", _fuels(*GASOLINE))
AVGAS = Only("avgas", _fuels("avgas"))
HEAVY = Only("jet fuel or diesel", _fuels("jet", "diesel"))
MOGAS = Only("motor gasoline", _fuels("mogas"))
SEVERAL = Only("several tanks", lambda study: len(study.tanks) > 1)
RETURN_HERE = Only("a return into the tank", _returns, lambda tank: bool(tank.tank.design.return_to))
FILLER_HERE = Only("a filler of its own", lambda _: True, lambda tank: bool(tank.tank.design.filler))
SWITCHES = Only(
    "low-level switches", _any_tank(lambda tank: tank.tank.design.switch), lambda tank: bool(tank.tank.design.switch)
)
HEADERS = Only("a tank that another one fills", _any_tank(lambda tank: tank.tank.design.inlet))
# Whether a tank stands in the cabin is not always stated: then the item stays.
CABIN = Only(
    "a tank in the cabin",
    _any_tank(lambda tank: tank.tank.design.in_cabin is not False),
    lambda tank: tank.tank.design.in_cabin is not False,
)
