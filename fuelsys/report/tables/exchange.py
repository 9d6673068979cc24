"""Joined tanks in flight as tables: what they keep together, and how long the engine lasts with what runs across."""

from __future__ import annotations

from dataclasses import replace

from fuelsys.model.found.exchange import Exchange, Together, TogetherAt, Turned
from fuelsys.model.found.unusable import LEAST_DIFFERENCE_M3
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.table import Cell, Column, Table
from fuelsys.report.tables.shared import ATTITUDE, attitude_cells

TOGETHER = Column("usable together")
_LOOKED = "Times are told up to 30 min; where no stop is told the engine lasts so long, or longer."


def exchange(of: Exchange, shown: Shown) -> list[Table]:
    """What each group keeps at each flight attitude, and how long the engine lasts; none without joined tanks."""
    if not of.together:
        return []
    rows = [_kept(group, at) for group in of.together for at in group.at]
    columns = (
        Column("tanks"), *ATTITUDE, Column("each for itself", "volume", rank=3), Column("together, for ever", "volume"),
        Column("held for", "time", as_stated=True, rank=3), Column("together, in that time", "volume"),
        Column("from full tanks", "time"), Column("from the last half hour", "time", rank=3), Column("remark"),
    )  # fmt: skip
    told = [
        *(Doubt(f"{names(group)} together: not computed: needs {group.needs}.") for group in of.unknown),
        *dict.fromkeys(note for group in of.together for note in group.notes),
        *(_summed(group, shown) for group in of.together if group.at),
        "Unusable fuel of joined tanks: for ever, with their fuel at one level, all that they hold when the engine first gets air or"
        " too little; in a time, what runs across in it through the lines, from one level at the worst attitude that is held for ever, at"
        " the greatest flow. Neither counts less than the tanks keep for themselves.",
        "From full tanks: how long the engine lasts in an attitude of which no time is stated, held for ever out of level flight; from the"
        " last half hour: the same with half an hour's fuel above what the tanks keep for themselves, each at its own worst attitude (of"
        f" one that is held for a time: whether it lasts that, at the end). {_LOOKED}",
        "An attitude that is held for a time is turned into out of level flight or any other of which no time is stated, the fuel at one"
        " level there, or in any row of up to fourteen such ones without a pause (fewer where there are more than four such attitudes,"
        " three at least), whichever leaves less; of more than two tanks that is not proven: fly a row that matters ([[flight]]).",
    ]
    return [Table("joined", "Joined tanks in flight, together", columns, tuple(rows), tuple(told), shown, paper=False)]


def more_m3(of: Exchange, attitude: Attitude) -> float:
    """What joined tanks keep at an attitude beyond what they keep for themselves."""
    known = (at for group in of.apart for at in group.at if at.attitude == attitude)
    return sum(at.unusable_m3 - at.own_m3 for at in known)


def keeping(of: Exchange) -> list[Together]:
    """The groups that keep more together than their tanks for themselves."""
    return [group for group in of.apart if group.unusable_m3 > group.own_m3 + LEAST_DIFFERENCE_M3]


def keeps(of: Exchange, tank: str, shown: Shown) -> tuple[str, ...]:
    """A warning under a tank's own figures where it is one of joined tanks that keep more together."""
    return tuple(
        Doubt(
            f"{names(group)} keep {shown.text(group.unusable_m3, 'volume')} together, {shown.text(group.own_m3, 'volume')} as the sum"
            f" of each for itself: of what is told as usable here some is not to be had; see the table of joined tanks."
        )
        for group in keeping(of)
        if tank in group.joined.tanks
    )


def in_all(of: Exchange, tank: str, shown: Shown) -> str:
    """What joined tanks have for use together where that is less than the sum of their own, or is not known; empty elsewhere."""
    for group in (*of.unknown, *keeping(of)):
        if tank in group.joined.tanks:
            return "not known" if group.needs else f"{shown.text(group.usable_m3, 'volume')} in {names(group)}"
    return ""


def where_joined(table: Table) -> Table:
    """A table whose last column says what each tank has together with others: without it where none has less so."""
    if any(row[-1] for row in table.rows):
        told = Doubt("of joined tanks no more is usable than what they have together: see the table of joined tanks.")
        return replace(table, notes=(told, *table.notes))
    rows = tuple(row[:-1] for row in table.rows)
    return replace(table, columns=table.columns[:-1], rows=rows, absent=table.columns[-1:])


def names(group: Together) -> str:
    """Its tanks."""
    return " and ".join(group.joined.tanks)


def _summed(group: Together, shown: Shown) -> str:
    """How much of what is filled in is usable."""
    kept, own = (shown.text(one, "volume") for one in (group.unusable_m3, group.own_m3))
    through = f" (with {' and '.join(group.joined.through)})" if group.joined.through else ""
    usable = shown.text(group.usable_m3, "volume")
    return (
        f"{names(group)}{through}: {kept} unusable over all attitudes, {own} as the sum of each at its own worst; {usable} usable by the"
        " placards."
    )


def _kept(group: Together, at: TogetherAt) -> tuple[Cell, ...]:
    remarks = ["worst in flight"] if at is group.worst else []
    turns = [("full", at.full), ("half hour", at.reserve.lasting if at.reserve else None)]
    remarks += [f"{words}: engine stops" for words, lasting in turns if lasting and lasting.stopped]
    times = [lasting.lasts_s if lasting else None for _, lasting in turns]
    held = (at.attitude.held_s, at.unusable_m3 if at.held else None)
    return (
        names(group), *attitude_cells(at.attitude), at.own_forever_m3, at.forever_m3, *held, *times, ", ".join(remarks)
    )  # fmt: skip


def lamps(of: Exchange, shown: Shown) -> list[Table]:
    """Each lamp's latest trip at each attitude, where fuel may run out of its tank, or other tanks feed too."""
    rows = [_lamp(group, at, one) for group in of.together for at in group.at for one in at.lamps if not one.own]
    if not rows:
        return []
    columns = (
        Column("tanks", rank=4), Column("tank"), Column("switch"), *ATTITUDE, Column("in the tank", "volume", rank=3),
        Column("in all", "volume"), Column("promised", "time"), Column("engine lasts", "time"), Column("left in all", "volume", rank=3),
        Column("remark"),
    )  # fmt: skip
    told = (
        "From a lamp's latest trip at each attitude, the tanks beside it at one level with it in level flight, or after the attitude held"
        " for ever that is named and leaves less in them: how long until the engine gets air, with what runs across. Promised: the least"
        " minutes told of the tank for itself, no more than its target.",
        "An attitude that is held for a time is turned into at the end of what is promised, with what is aboard then, out of the worst"
        " attitude or row, and is to be lasted.",
        f"At least: not looked at closer, since what the tanks keep lasts so long. {_LOOKED}",
    )
    title = "Joined tanks from a lamp's trip until the engine gets air"
    return [Table("joined-lamps", title, columns, tuple(rows), told, shown, paper=False)]


def _lamp(group: Together, at: TogetherAt, one: Turned) -> tuple[Cell, ...]:
    lasting = one.lasting
    remarks = [f"engine stops: {lasting.stopped}"] if lasting.stopped else ["at least"] if lasting.bounded else []
    remarks += [f"after {one.after.name}"] if one.after and not one.after.normal else []
    quantities = (one.held_m3, lasting.total_m3, one.promised_s, lasting.lasts_s, lasting.left_m3)
    return (names(group), one.tank, one.switch, *attitude_cells(at.attitude), *quantities, ", ".join(remarks))
