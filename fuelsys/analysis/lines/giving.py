"""By which of its outlets a tank's fuel comes to the engine, and through which other tank.

Fuel that leaves a tank by a line into another one reaches the engine only as that one runs down. So a tank with outlets that lead on
to an engine or a pump past no other tank counts these alone; by the others it loses fuel, in a slip, and gives none. A tank without
such an outlet gives through those that have, step by step: it falls no lower than what they keep at their own end, at the same
attitude, in the pool that the line comes to, with what drives the flow on top. Of an outlet's ways those past no other tank count alone,
where it has such: by the others it may give more, which is not counted.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from fuelsys.arrays import Floats
from fuelsys.model.built.layout import FittedTank, Layout


def with_giving(layout: Layout) -> Layout:
    """The same with what each tank gives, and by what; nothing is said of one from which no way leads to an engine."""
    known = {tank.name: found for tank in layout.tanks if (found := _leading_on(tank))}
    while more := {
        tank.name: found for tank in layout.tanks if tank.name not in known and (found := _through(tank, known))
    }:
        known |= more
    tanks = {tank.name: known.get(tank.name, tank) for tank in layout.tanks}
    flight = [attitude.up for attitude in layout.design.envelope if attitude.phase == "flight"]
    return replace(
        layout, tanks=tuple(replace(one, runs_across=_runs_across(one, tanks, flight)) for one in tanks.values())
    )


def _runs_across(tank: FittedTank, tanks: Mapping[str, FittedTank], ups: Sequence[Floats]) -> bool:
    """Whether fuel may run between it and those joined to it otherwise than down into one that all others give through."""
    group = [tanks[name] for name in (tank.name, *tank.joined)]
    return len(group) > 1 and not any(
        all(_stands_over(one, below, ups) for one in group if one is not below) for below in group
    )


def _stands_over(tank: FittedTank, below: FittedTank, ups: Sequence[Floats]) -> bool:
    """Whether a tank gives through another by all its outlets, and these stand over that one's roof in flight: at all ups (3,)."""
    if tank.through != (below.name,) or len(tank.gives) < len(tank.design.outlet):
        return False
    off_m = tank.cavity.centre_m
    return all(
        min(tank.level_m(name, up) for name in tank.gives) + float(off_m @ up) >= below.span_m(up)[1] for up in ups
    )


def _leading_on(tank: FittedTank) -> FittedTank | None:
    """By outlets from which a pump or an engine draws, or the engine is fed by gravity, past no other tank."""
    names = [
        one.name
        for one in tank.design.outlet
        if one.name not in tank.downhill or any(climb.way.end.tank is None for climb in tank.downhill[one.name])
    ]
    return _giving(tank, dict.fromkeys(names, ())) if names else None


def _through(tank: FittedTank, known: dict[str, FittedTank]) -> FittedTank | None:
    """By outlets whose ways lead into tanks of which it is known."""
    gives = {
        name: tuple((k, known[climb.way.end.tank]) for k, climb in enumerate(climbs) if climb.way.end.tank in known)
        for name, climbs in tank.downhill.items()
    }
    gives = {name: by for name, by in gives.items() if by}
    return _giving(tank, gives) if gives else None


def _giving(tank: FittedTank, gives: dict[str, tuple[tuple[int, FittedTank], ...]]) -> FittedTank:
    return replace(tank, gives=gives, opened=replace(tank.opened, gives=gives) if tank.opened else None)
