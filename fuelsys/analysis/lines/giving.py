"""By which of its outlets a tank's fuel comes to the engine, and through which other tank.

Fuel that leaves a tank by a line into another one reaches the engine only as that one runs down. So a tank with outlets that lead on
to an engine or a pump past no other tank counts these alone; by the others it loses fuel, in a slip, and gives none. A tank without
such an outlet gives through those that have, step by step: it falls no lower than what they keep at their own end, at the same
attitude, in the pool that the line comes to, with what drives the flow on top. Of an outlet's ways those past no other tank count alone,
where it has such: by the others it may give more, which is not counted.
"""

from __future__ import annotations

from dataclasses import replace

from fuelsys.model.built.layout import FittedTank, Layout


def with_giving(layout: Layout) -> Layout:
    """The same with what each tank gives, and by what; nothing is said of one from which no way leads to an engine."""
    known = {tank.name: found for tank in layout.tanks if (found := _leading_on(tank))}
    while more := {
        tank.name: found for tank in layout.tanks if tank.name not in known and (found := _through(tank, known))
    }:
        known |= more
    return replace(layout, tanks=tuple(known.get(tank.name, tank) for tank in layout.tanks))


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
