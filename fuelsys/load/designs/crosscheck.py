"""What the fields of a design file must be to one another: names that exist and are unique, one normal attitude a phase."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from math import dist

from fuelsys import units
from fuelsys.errors import meant
from fuelsys.load import bounds
from fuelsys.load.designs.faults import Fault, Place
from fuelsys.load.designs.floats import fuel_density, switch_floats
from fuelsys.model.stated.components import Pump, Selector, Valve
from fuelsys.model.stated.design import Design, Segment, Tank
from fuelsys.model.stated.gauges import AnyGauge, Arm

# Finer graduations than this are a slip of the pen and would fill pages. Common practice, no source.
_LEAST_STEP_M3 = 1e-5
# The two ends of an arm's swing may lie so differently far from its pivot, and so far from one line with it. Common practice,
# no source: places are given to the millimetre.
_ARM_M = 1e-3


def amounts(design: Design) -> Iterator[Fault]:
    """What is beyond any light aircraft, and would be computed for minutes."""
    if len(design.tank) > bounds.MOST_TANKS:
        yield Fault(("tank",), f"there are {len(design.tank):,} tanks", f"Give at most {bounds.MOST_TANKS}.")
    for i, tank in enumerate(design.tank):
        if len(tank.inside) > bounds.MOST_INSIDE:
            found = f"there are {len(tank.inside):,} bodies"
            yield Fault(
                ("tank", i, "inside"),
                found,
                f"Give at most {bounds.MOST_INSIDE}: unite them in CAD, or export the tank without them.",
            )
        if len(tank.gauge) > bounds.MOST_GAUGES:
            found = f"there are {len(tank.gauge):,} gauges"
            yield Fault(("tank", i, "gauge"), found, f"Give at most {bounds.MOST_GAUGES}.")
    fitted = sum(1 + sum(map(len, tank.fittings.values())) + len(tank.switch) + len(tank.gauge) for tank in design.tank)
    if fitted * len(design.attitude) > bounds.MOST_CASES:
        found = f"{len(design.attitude):,} attitudes times {fitted:,} tanks and fittings are too many"
        mend = f"Keep it to {bounds.MOST_CASES:,}: leave out attitudes that lie between others; `fuelsys map` goes over a grid."
        yield Fault(("attitude",), found, mend)


def faults(design: Design) -> Iterator[Fault]:
    """Every contradiction between the fields of a design."""
    yield from _attitudes(design)
    if design.fuel.reserve_phase not in design.flows_m3_s:
        phase, known = design.fuel.reserve_phase, [f'"{name}"' for name in design.flows_m3_s]
        mend = f"{meant(phase, design.flows_m3_s)}Name one of: {_listed(known)}."
        yield Fault(("fuel", "reserve_phase"), f'there is no flow "{phase}"', mend)
    yield from _twice(("tank",), [tank.name for tank in design.tank])
    yield from _twice(("component",), [component.name for component in design.component])
    yield from _twice(("line",), [line.name for line in design.line])
    grounds = [a.name for a in design.attitude if a.phase == "ground"]
    for i, tank in enumerate(design.tank):
        yield from _tank(("tank", i), tank)
        yield from switch_floats(("tank", i), tank, design.fuel)
        face, named = tank.dipstick.other_face if tank.dipstick else None, [a.name for a in design.attitude]
        if face is not None and face not in named:
            mend = f"{meant(face, named)}Name one of: {_listed(named)}."
            yield Fault(("tank", i, "dipstick", "other_face"), f'there is no attitude "{face}"', mend)
        at = tank.measured.at if tank.measured else None
        if at is not None and at not in grounds:
            mend = f"{meant(at, grounds)}Name one of: {_listed(grounds)}."
            yield Fault(("tank", i, "measured", "at"), f'there is no ground attitude "{at}"', mend)
    yield from _twice(("load",), [load.name for load in design.load])
    for i, load in enumerate(design.load):
        forward_m, aft_m = load.forward_limit_m, load.aft_limit_m
        if forward_m is not None and aft_m is not None and forward_m >= aft_m:
            found = "the forward limit is not ahead of the aft one"
            yield Fault(("load", i, "forward_limit"), found, "Give both aft of the datum, the forward one the less.")
    yield from fuel_density(design.fuel)
    yield from _ends(design)
    yield from _flight(design)


def _listed(names: Iterable[str]) -> str:
    """Names in a sentence; of very many the first.

    >>> _listed(str(k) for k in range(1000))[-20:]
    '18, 19, and 980 more'
    """
    different = list(dict.fromkeys(names))
    more = len(different) - bounds.MOST_NAMED
    return ", ".join([*different[: bounds.MOST_NAMED], *([f"and {more} more"] if more > 0 else [])])


def _twice(place: Place, names: Iterable[str]) -> Iterator[Fault]:
    for name, times in Counter(names).items():
        if times > 1:
            count = {2: "twice"}.get(times, f"{times} times")
            yield Fault(place, f'the name "{name}" stands there {count}', "Give each its own name.")


def _attitudes(design: Design) -> Iterator[Fault]:
    yield from _twice(("attitude",), [a.name for a in design.attitude])
    for phase in ("ground", "flight"):
        normal = [f'"{a.name}"' for a in design.attitude if a.normal and a.phase == phase]
        if len(normal) != 1:
            many = f"{len(normal)} attitudes are marked as normal for {phase} ({_listed(normal)})"
            found = many if normal else f"no attitude is marked as normal for {phase}"
            yield Fault(("attitude",), found, f'Mark one attitude that has phase = "{phase}" with normal = true.')
    for i, attitude in enumerate(design.attitude):
        if attitude.attitude.up[2] <= 0.0:
            yield Fault(
                ("attitude", i),
                "the aircraft stands on end or upside down",
                "Keep pitch and roll within 90 deg; inverted flight is not modelled.",
            )
        if attitude.held_s is not None and (attitude.phase == "ground" or attitude.normal):
            which = "a ground attitude" if attitude.phase == "ground" else "the normal flight attitude"
            mend = "Take it out: only flight attitudes that are turned into from the normal one are held for a time."
            yield Fault(("attitude", i, "held"), f"{which} says how long it is held", mend)


def _tank(place: Place, tank: Tank) -> Iterator[Fault]:
    switches = [f"switch {switch.name}" for switch in tank.switch]
    bodies = [body.name for body in tank.inside]
    for i, switch in enumerate(tank.switch):
        if switch.own_float and switch.own_float not in bodies:
            known = ", ".join(f'"{name}"' for name in bodies) or "none"
            mend = f"{meant(switch.own_float, bodies)}Name the body among [[tank.inside]] that is its float; there are: {known}."
            yield Fault((*place, "switch", i, "own_float"), f'there is no body "{switch.own_float}" inside', mend)
    dipstick = ["dipstick bottom"] if tank.dipstick else []
    yield from _twice(place, [*(one.name for some in tank.fittings.values() for one in some), *switches, *dipstick])
    yield from _twice((*place, "gauge"), [gauge.name for gauge in tank.gauge])
    for i, gauge in enumerate(tank.gauge):
        yield from _gauge((*place, "gauge", i), gauge, tank.unit)
    if tank.dipstick is None:
        return
    if tank.dipstick.top_m == tank.dipstick.bottom_m:
        yield Fault((*place, "dipstick"), "top and bottom are one point", "Give the stick's two ends.")
    for i, one in enumerate(tank.dipstick.also):
        if one.top_m == one.bottom_m:
            there: Place = (*place, "dipstick", "also", i)
            yield Fault(there, "top and bottom are one point", "Give the stick's two ends at that place.")
    if tank.dipstick.step_m3 is not None and tank.dipstick.step_m3 < _LEAST_STEP_M3:
        least = f"{_LEAST_STEP_M3 * 1e6:g} mL"
        yield Fault((*place, "dipstick", "step"), f"the step is less than {least}", f"Give {least} or more.")


def _gauge(place: Place, gauge: AnyGauge, unit: str) -> Iterator[Fault]:
    if not isinstance(gauge, Arm):
        if dist(gauge.bottom_m, gauge.top_m) < _ARM_M:
            yield Fault(place, "top and bottom are one point", "Give its two ends.")
        return
    empty_m, full_m = dist(gauge.pivot_m, gauge.empty_m), dist(gauge.pivot_m, gauge.full_m)
    if abs(empty_m - full_m) > _ARM_M:
        found = f"from pivot to empty it is {units.written(empty_m, unit, 'length')}, to full {units.written(full_m, unit, 'length')}"
        mend = f"An arm has one length: give the three places to {units.written(_ARM_M, unit, 'length')}."
        yield Fault(place, found, mend)
    elif min(empty_m, dist(gauge.empty_m, gauge.full_m)) < _ARM_M:
        yield Fault(place, "two of pivot, empty and full are one point", "Give the three places.")
    elif empty_m + full_m - dist(gauge.empty_m, gauge.full_m) < _ARM_M**2:
        mend = "Give the swing between its stops; it must be less than half a turn."
        yield Fault(place, "pivot, empty and full lie on one line: the plane of the arm's swing is open", mend)


def _ends(design: Design) -> Iterator[Fault]:
    known = [f"{tank.name}.{port.name}" for tank in design.tank for port in tank.ports]
    known += [component.name for component in design.component]
    there = f"there are: {_listed(known)}" if known else "there are none yet"
    ends, missing = set(known), 0
    kinds = {component.name: component.kind for component in design.component}
    for i, line in enumerate(design.line):
        for key, end in (("from", line.from_port), ("to", line.to_port)):
            if end not in ends:
                missing += 1
                near = meant(end, known) if missing <= bounds.MOST_TOLD else ""  # the rest is counted only
                mend = f'{near}Write "TANK.PORT" or the name of a component; {there}.'
                yield Fault(("line", i, key), f'there is no port or component "{end}"', mend)
        begins = kinds.get(line.from_port)
        if line.kind == "feed" and begins in ("engine", "overboard"):
            back = ' What the engine sends back runs through a line of kind "return".' if begins == "engine" else ""
            yield Fault(
                ("line", i, "from"),
                f'found "{line.from_port}", of kind "{begins}": no fuel is fed from there',
                f'Name the outlet ("TANK.PORT") or the component that the fuel comes from.{back}',
            )
        if line.from_port == line.to_port:
            yield Fault(("line", i), "it begins and ends at one place", "Give its two ends.")


def _flight(design: Design) -> Iterator[Fault]:
    yield from _twice(("flight",), [segment.name for segment in design.flight])
    if len(design.flight) > bounds.MOST_SEGMENTS:
        yield Fault(("flight",), f"there are {len(design.flight):,} parts", f"Give at most {bounds.MOST_SEGMENTS}.")
        return
    for i, segment in enumerate(design.flight):
        yield from _segment(design, ("flight", i), segment)
        if i and segment.loaded_m3:
            yield Fault(("flight", i, "loaded"), "only the first part of a flight is loaded", "State it there.")


def _segment(design: Design, place: Place, segment: Segment) -> Iterator[Fault]:
    """Every name of a flight's part that the design does not have."""
    tanks = [tank.name for tank in design.tank]
    kinds = {kind: [one.name for one in design.component if isinstance(one, kind)] for kind in (Selector, Valve, Pump)}
    flown = [entry.name for entry in design.attitude]
    asked: list[tuple[str, str, list[str], str]] = [
        ("attitude", segment.attitude, flown, "attitude"),
        ("flow", segment.flow, list(design.flows_m3_s), "flow"),
        *(("selectors", name, kinds[Selector], "selector") for name in segment.selectors),
        *(("selectors", to, [*tanks, "both", "off"], "position") for to in segment.selectors.values()),
        *(("shut", name, kinds[Valve], "valve") for name in segment.shut),
        *(("pumps", name, kinds[Pump], "pump") for name in segment.pumps or ()),
        *(("returns_to", name, tanks, "tank") for name in [segment.returns_to] if name is not None),
        *(("loaded", name, tanks, "tank") for name in segment.loaded_m3),
    ]
    for key, name, known, what in asked:
        if name not in known:
            there = _listed(f'"{one}"' for one in known) or "none"
            yield Fault((*place, key), f'there is no {what} "{name}"', f"{meant(name, known)}Name one of: {there}.")
    both = {one.name for one in design.component if isinstance(one, Selector) and one.both is False}
    for name, to in segment.selectors.items():
        if to == "both" and name in both:
            mend = "Name the tank that it stands on, or state both = true of the selector."
            yield Fault((*place, "selectors"), f'the selector "{name}" has no position "both"', mend)
