"""What the fields of a design file must be to one another: names that exist and are unique, one normal attitude a phase."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from fuelsys.errors import meant
from fuelsys.load.faults import Fault, Place
from fuelsys.model.design import Design, Tank

# Finer graduations than this are a slip of the pen and would fill pages. Common practice, no source.
_LEAST_STEP_M3 = 1e-5


def faults(design: Design) -> Iterator[Fault]:
    """Every contradiction between the fields of a design."""
    yield from _attitudes(design)
    if design.fuel.reserve_phase not in design.flows_m3_s:
        phase, known = design.fuel.reserve_phase, ", ".join(f'"{name}"' for name in design.flows_m3_s)
        mend = f"{meant(phase, design.flows_m3_s)}Name one of: {known}."
        yield Fault(("fuel", "reserve_phase"), f'there is no flow "{phase}"', mend)
    yield from _twice(("tank",), [tank.name for tank in design.tank])
    yield from _twice(("component",), [component.name for component in design.component])
    yield from _twice(("line",), [line.name for line in design.line])
    for i, tank in enumerate(design.tank):
        yield from _tank(("tank", i), tank)
    yield from _ends(design)


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
            many = f"{len(normal)} attitudes are marked as normal for {phase} ({', '.join(normal)})"
            found = many if normal else f"no attitude is marked as normal for {phase}"
            yield Fault(("attitude",), found, f'Mark one attitude that has phase = "{phase}" with normal = true.')
    for i, attitude in enumerate(design.attitude):
        if attitude.attitude.up[2] <= 0.0:
            yield Fault(
                ("attitude", i),
                "the aircraft stands on end or upside down",
                "Keep pitch and roll within 90 deg; inverted flight is not modelled.",
            )


def _tank(place: Place, tank: Tank) -> Iterator[Fault]:
    switches = [f"switch {switch.name}" for switch in tank.switch]
    dipstick = ["dipstick bottom"] if tank.dipstick else []
    yield from _twice(place, [*(port.name for port in tank.ports), *switches, *dipstick])
    if tank.dipstick is None:
        return
    if tank.dipstick.top_m == tank.dipstick.bottom_m:
        yield Fault((*place, "dipstick"), "top and bottom are one point", "Give the stick's two ends.")
    if tank.dipstick.step_m3 is not None and tank.dipstick.step_m3 < _LEAST_STEP_M3:
        least = f"{_LEAST_STEP_M3 * 1e6:g} mL"
        yield Fault((*place, "dipstick", "step"), f"the step is less than {least}", f"Give {least} or more.")


def _ends(design: Design) -> Iterator[Fault]:
    known = [f"{tank.name}.{port.name}" for tank in design.tank for port in tank.ports]
    known += [component.name for component in design.component]
    ends = set(known)
    there = f"there are: {', '.join(dict.fromkeys(known))}" if known else "there are none yet"
    for i, line in enumerate(design.line):
        for key, end in (("from", line.from_port), ("to", line.to_port)):
            if end not in ends:
                mend = f'{meant(end, known)}Write "TANK.PORT" or the name of a component; {there}.'
                yield Fault(("line", i, key), f'there is no port or component "{end}"', mend)
        if line.from_port == line.to_port:
            yield Fault(("line", i), "it begins and ends at one place", "Give its two ends.")
