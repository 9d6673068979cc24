"""Designs with a line, a valve or a pump more: what may keep an engine running that a failure would stop."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.built.ends import ComponentEnd, End, PlacedLine, PortEnd
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.fly import Flown
from fuelsys.model.stated.components import CheckValve, Component, Overboard, Pump
from fuelsys.model.stated.design import Line
from fuelsys.model.words import Words

_BACK_M3 = 1e-4  # that must have run into a tank for a check valve to be tried; chosen here, no source
_BY = {"engine": "by the engine", "electric": "by electric power", None: "by something else than the first"}
_NOWHERE = (0.0, 0.0, 0.0)  # of a part whose place nothing is computed from: its lines say where they run


def vents(
    layout: Layout, blocked: Collection[str], airless: Sequence[tuple[str, ...]]
) -> Iterator[tuple[Words, Layout]]:
    """A line that joins a tank without air to another tank's vent, then a second line beside a blocked one."""
    shut_in = {name for group in airless for name in group}
    lines = [line for line in layout.lines if line.name in blocked]
    for tank in layout.tanks:
        for other in layout.tanks:
            if tank.name in shut_in and other.name not in shut_in and tank.design.vent and other.design.vent:
                ends = [PortEnd(one.name, one.design.vent[0].name) for one in (tank, other)]
                at_m = [one.body_m(one.design.vent[0].position_m) for one in (tank, other)]
                new = _line(layout, "vent more", ends, lines[0], np.array(at_m))
                yield (f"a vent line that joins {ends[0]} to {ends[1]}",), _with_lines(layout, (*layout.lines, new))
    for line in lines:
        out = Overboard.model_construct(name=_free(layout, f"{line.name} end"), kind="overboard", position_m=_NOWHERE)
        tanks_first = layout.network.overboard(line.end)
        if tanks_first or layout.network.overboard(line.start):
            new_end = ComponentEnd(out.name)
            two = (line.start, new_end) if tanks_first else (new_end, line.end)
            new = _line(layout, "vent more", two, line, line.points_m)
            words = f"a second vent line beside {line.name}, its end where what blocks that one cannot block it too"
            yield (words,), _with_lines(layout, (*layout.lines, new), out)


def check_valves(layout: Layout, flown: Flown, from_s: float) -> Iterator[tuple[Words, Layout]]:
    """A check valve behind an outlet of a tank into which fuel ran, and to which nothing is returned."""
    begun = flown.times_s >= (
        from_s if from_s <= flown.end_s else 0.0
    )  # one that is held from the start may end before
    returned = {part.back_to for part in flown.parts}
    for name, held in zip(flown.tanks, flown.held_m3.T, strict=True):
        if name in returned or held[begun].max() - held[begun][0] < _BACK_M3:
            continue
        for line in layout.lines:
            if line.kind == "feed" and line.start in {
                PortEnd(name, one.name) for one in layout.tank(name).design.outlet
            }:
                part = CheckValve.model_construct(
                    name=_free(layout, f"{line.name} check"), kind="check valve", position_m=_NOWHERE
                )
                yield (f"a check valve in {line.name}, behind {line.start}",), _inserted(layout, line, part)


def pumps(layout: Layout, stopped: Collection[str]) -> Iterator[tuple[Words, Layout]]:
    """Behind a pump that stands still a second one like it, driven by something else."""
    for part in layout.design.component:
        if not isinstance(part, Pump) or part.name not in stopped or part.curve is None:
            continue
        driven = {"engine": "electric", "electric": "engine"}.get(part.driven or "")
        new = part.model_copy(update={"name": _free(layout, f"second {part.name}"), "driven": driven})
        for line in layout.lines:
            if line.kind == "feed" and line.start == ComponentEnd(part.name):
                words = f"a second pump like {part.name}, driven {_BY[driven]}, in line behind it"
                yield (words,), _inserted(layout, line, new)


# --- how lines are changed


def _free(layout: Layout, name: str) -> str:
    """A name that nothing has; a dot, which a line's may have, would make a component's a port's."""
    name = name.replace(".", " ")
    taken = {one.name for one in (*layout.design.component, *layout.lines, *layout.tanks)}
    return next(one for n in range(len(taken) + 1) if (one := f"{name} {n}" if n else name) not in taken)


def _line(layout: Layout, name: str, ends: Sequence[End], like: PlacedLine, points_m: Floats) -> PlacedLine:
    """A line of the bore and kind of another."""
    given = {"name": _free(layout, name), "from_port": str(ends[0]), "to_port": str(ends[1]), "path_m": ()}
    return PlacedLine(like.design.model_copy(update=given), points_m, np.zeros((0, 3)))


def _inserted(layout: Layout, line: PlacedLine, part: Component) -> Layout:
    """A component in the middle of a line's first stretch."""
    middle_m = (line.points_m[0] + line.points_m[1]) / 2.0
    here = ComponentEnd(part.name)
    first = _line(layout, line.name, [line.start, here], line, np.array([line.points_m[0], middle_m]))
    given = {"from_port": part.name, "path_m": ()}
    rest = PlacedLine(line.design.model_copy(update=given), np.vstack([middle_m, line.points_m[1:]]), line.drains_m)
    lines = [more for one in layout.lines for more in ((first, rest) if one is line else (one,))]
    return _with_lines(layout, tuple(lines), part)


def _with_lines(layout: Layout, lines: tuple[PlacedLine, ...], *parts: Component) -> Layout:
    stated: tuple[Line, ...] = tuple(line.design for line in lines)
    design = layout.design.model_copy(update={"line": stated, "component": (*layout.design.component, *parts)})
    return replace(layout, lines=lines, design=design)
