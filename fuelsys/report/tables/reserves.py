"""Usable fuel as flight time: how long it lasts, what is left of that above the reserves, and what a placard says."""

from __future__ import annotations

from math import floor

from fuelsys.model.found.study import Study
from fuelsys.model.stated.standards import DAY_RESERVE_S, NIGHT_RESERVE_S
from fuelsys.report.shown import Shown
from fuelsys.report.table import Cell, Column, Table
from fuelsys.report.tables.exchange import keeping, names

_TOGETHER = "together only: see the row of joined tanks"
_STEPS = {"L": 1.0, "US gal": 0.5, "imp gal": 0.5}  # of a placard; common practice, no source


def reserves(study: Study, shown: Shown) -> Table:
    """Each tank alone and all together: minutes at cruise and at maximum continuous power, and what may be flown by day and night."""
    flows = study.layout.design.flows_m3_s
    cruise, most = flows.get("cruise"), flows.get("max_continuous")
    together = keeping(study.exchange)
    placards = {name: _TOGETHER for group in together for name in group.joined.tanks}
    for group in study.exchange.unknown:
        placards |= dict.fromkeys(group.joined.tanks, f"not known together: needs {group.needs}")
    asked = [(tank.name, tank.capacity.usable_m3, placards.get(tank.name)) for tank in study.tanks]
    asked += [(names(group), group.usable_m3, None) for group in together]
    if len(study.tanks) == len(study.layout.tanks) > 1:
        all_m3 = placards_m3(study)
        asked.append(("all tanks", all_m3, "" if all_m3 is not None else "needs that of each tank"))
    rows = [_row(*one, cruise, most, shown) for one in asked]
    notes = [
        "Usable fuel of each tank at its own worst flight attitude, the tank filled as it can be; all tanks: their sum, less what joined"
        " ones keep together beyond it. A tank alone gives all that the engine burns; what it sends back elsewhere is not taken off: see"
        " `fuelsys switches`.",
        "Flown by day and by night: until 30 and 45 min at cruise are in hand (14 CFR 91.151; a rule of operation in the United States,"
        " your own rules count); below zero the reserve is not there. Flying above cruise power takes more.",
    ]
    if together:
        notes.append(
            "Joined tanks in one row: together they keep more than each for itself, so no tank has a placard of its own."
        )
    if most is not None:
        notes.append(
            "Half an hour at maximum continuous power is asked of all tanks (14 CFR 23.963(d), before amendment 23-64)."
        )
    missing = [name for name, flow in (("cruise", cruise), ("max_continuous", most)) if flow is None]
    if missing:
        notes.append(f"Not computed: needs flows.{' and flows.'.join(missing)}.")
    columns = (
        Column("tank"), Column("usable", "volume"), Column("placard, rounded down"), Column("lasts at cruise", "time"),
        Column("flown by day", "time"), Column("by night", "time"), Column("at max continuous", "time", rank=1),
    )  # fmt: skip
    title = "Usable fuel as flight time, and the placard of each tank (14 CFR 23.1555(d), before amendment 23-64)"
    return Table("reserves", title, columns, tuple(rows), tuple(notes), shown)


def placards_m3(study: Study) -> float | None:
    """The sum of all tanks, less what joined ones keep together beyond their own; none where something of that is not known."""
    usable = [tank.capacity.usable_m3 for tank in study.tanks]
    known = [volume_m3 for volume_m3 in usable if volume_m3 is not None]
    if len(known) < len(usable) or study.exchange.unknown:
        return None
    return sum(known) - sum(group.unusable_m3 - group.own_m3 for group in keeping(study.exchange))


def not_placarded_m3(study: Study) -> float | None:
    """What the placards leave out of full tanks; None where that is not known."""
    placarded_m3 = placards_m3(study)
    full = [tank.capacity.filled for tank in study.tanks]
    if placarded_m3 is None or any(one is None for one in full):
        return None
    return sum(one.volume_m3 for one in full if one) - placarded_m3


def _row(
    name: str, usable_m3: float | None, said: str | None, cruise: float | None, most: float | None, shown: Shown
) -> tuple[Cell, ...]:
    """A tank, some, or all; said stands in the place of its placard."""
    if usable_m3 is None:
        return (name, None, "needs an outlet, and a filler or a vent" if said is None else said, None, None, None, None)
    lasts_s = usable_m3 / cruise if cruise else None
    above = [lasts_s - reserve_s if lasts_s is not None else None for reserve_s in (DAY_RESERVE_S, NIGHT_RESERVE_S)]
    told = placard(usable_m3, shown) if said is None else said
    return (name, usable_m3, told, lasts_s, *above, usable_m3 / most if most else None)


def placard(usable_m3: float, shown: Shown) -> str:
    """What a placard says: never more than is there.

    >>> placard(46.99e-3, Shown()), placard(46.99e-3, Shown(volume="US gal"))
    ('46 L', '12 US gal')
    """
    step = _STEPS.get(shown.volume, 1.0 if shown.volume != "m3" else 0.001)
    steps = floor(shown.value(usable_m3, "volume") / step + 1e-9)
    return f"{steps * step:g} {shown.written('volume')}"
