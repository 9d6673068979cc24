"""Tables of a flight: what happens when, what each lamp is worth, what is left behind, and what each failure does."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fuelsys import units
from fuelsys.model.found.fly import ENOUGH_S, LEAK_BORE_M, Failing, Failures, Flown, Happening
from fuelsys.model.found.switches import EARLY_TIMES
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.table import Cell, Column, Table
from fuelsys.report.tables.fly_words import beyond, longer

_SAYS = {
    "begins": "begins: {detail}",
    "lights": 'lamp "{detail}" lights',
    "goes out": 'lamp "{detail}" goes out',
    "outlet dry": "{detail} takes air",
    "outlet covered": "{detail} is covered again",
    "passes on": "empty to {detail}; what runs in runs on",
    "full": "full",
    "falls": "no longer kept full",
    "runs over": "runs over by its vent {detail}",
    "stops running over": "no longer runs over",
    "breathes": "draws air through the line of an empty tank",
    "parts": "its fuel parts into two pools, each with an outlet of its own",
    "joins": "its two pools join again",
    "air": "the engine stops: {detail}",
    "ends": "the flight ends",
}
BASIS = (
    "Computed, not measured: steady flow at each moment from the surfaces as they stand, one attitude in each part, no slosh.",
    "Simplified: one level for each tank, or for each of two pools with outlets that its fuel parts into; a pool without an outlet"
    " is held back full, as when the tank is drained from full; what the lines hold is not counted; an outlet gives nothing from"
    " its cover down, or below the top of its line.",
)
SHUT_IN = (
    "Air shut in keeps p V at 1013 hPa; it lets no air past by lines that still hold fuel. Fuel boils as hot fuel does."
)

_FAILING = (
    Column("wrong"), Column("mark"), Column("engine stops at", "time"), Column("first warning"), Column("before it stops", "time"),
    Column("at the latest", "time"), Column("left then", "volume", rank=1), Column("overboard", "volume", rank=2),
    Column("why it stops", rank=1),
)  # fmt: skip


def flight(
    flown: Flown, shown: Shown, unusable: tuple[Attitude, float] | None, not_placarded_m3: float | None = 0.0
) -> list[Table]:
    """The tables of one flight; unusable is where in flight all tanks keep most together, and how much; None: not known.

    not_placarded_m3 is what of full tanks their placards leave out, each at its own worst attitude; None: not known.
    """
    lamps = _lamps(flown, shown)
    left = _left(flown, shown)
    left = replace(left, notes=(*left.notes, *beyond(flown, unusable, not_placarded_m3, shown), *longer(flown)))
    return [_events(flown, shown), *([lamps] if lamps.rows else []), left]


def says(one: Happening, flown: Flown, shown: Shown) -> str:
    """What happened, in words."""
    part = next((part for part in flown.parts if one.what == "begins" and part.name == one.detail), None)
    if part is None:
        return _SAYS[one.what].format(detail=one.detail).strip()
    back = f", {shown.flow_text(part.back_m3_s)} sent back to {part.back_to}" if part.back_to and part.back_m3_s else ""
    at = part.attitude.text.removeprefix(f"{part.attitude.name} ")
    name = part.name if part.attitude.name in part.name else f"{part.name} at {part.attitude.name}"
    return f"begins: {name} {at}, {shown.flow_text(part.burnt_m3_s)} burnt{back}"


def _events(flown: Flown, shown: Shown) -> Table:
    columns = (
        Column("time", "time"),
        Column("tank"),
        Column("what happens"),
        Column("in it", "volume"),
        Column("in all", "volume"),
    )
    rows: list[tuple[Cell, ...]] = [
        (one.at_s, one.tank, says(one, flown, shown), one.held_m3, one.total_m3) for one in flown.happenings
    ]
    notes = [*flown.notes, *BASIS]
    if flown.warning is None and flown.stopped:
        notes.insert(0, Doubt("no lamp lights before the engine stops."))
    return Table("flight", "Flight", columns, tuple(rows), tuple(notes), shown)


def _lamps(flown: Flown, shown: Shown) -> Table:
    columns = (
        Column("tank"), Column("lamp"), Column("lights at", "time"), Column("in its tank then", "volume", rank=1),
        Column("in all then", "volume", rank=1), Column("before the engine stops" if flown.stopped else "before the end", "time"),
        Column("at the latest", "time"),
    )  # fmt: skip
    lit = sorted(flown.warned, key=lambda one: one.lit_s)
    rows: list[tuple[Cell, ...]] = [
        (
            one.tank,
            f"{one.switch}{' (lit from the start)' if one.first else ''}{' (its tank only fills others)' if one.aside else ''}",
            one.lit_s,
            one.held_m3,
            one.total_m3,
            flown.end_s - one.lit_s,
            None if one.late_s is None else flown.end_s - one.late_s,
        )
        for one in lit
    ]
    notes = [
        "At the latest: with its mark low by its tolerance: count on no more. –: it may not light before the end.",
        *_early(flown),
    ]
    return Table("flight-lamps", "Lamps lit when the flight ends", columns, tuple(rows), tuple(notes), shown)


def _early(flown: Flown) -> list[str]:
    """Lamps that light so much before their target that they are soon not believed."""
    leads = [(one, flown.end_s - one.lit_s) for one in sorted(flown.warned, key=lambda one: one.lit_s)]
    early = [
        f'{one.tank} "{one.switch}" {units.minutes(lead_s)} min before, for a target of {units.minutes(one.target_s)} min'
        for one, lead_s in leads
        if one.target_s and lead_s > EARLY_TIMES * one.target_s
    ]
    if not early:
        return []
    return [
        f"Early, more than {EARLY_TIMES:g} times their target: {'; '.join(early)}. What lights so early is soon not believed."
    ]


def _left(flown: Flown, shown: Shown) -> Table:
    columns = (Column("tank"), Column("loaded", "volume"), Column("left", "volume"))
    pairs = zip(flown.tanks, flown.held_m3[0].tolist(), flown.held_m3[-1].tolist(), strict=True)
    rows: list[tuple[Cell, ...]] = [*pairs, ("all", float(flown.held_m3[0].sum()), flown.left_m3)]
    lost = float(flown.overboard_m3[-1])
    burnt = float(flown.burnt_m3[-1])
    notes = [
        f"Burnt {shown.text(burnt, 'volume')}"
        + (f", run overboard {shown.text(lost, 'volume')}." if lost > 5e-7 else ".")
    ]
    part = flown.parts[-1]
    when = (
        f"when the engine stops, at {part.attitude.text}" if flown.stopped else f"at the end, at {part.attitude.text}"
    )
    return Table("flight-left", f"Left behind {when}", columns, tuple(rows), tuple(notes), shown)


def failures(found: Sequence[Failing], usual: Flown, from_s: float, shown: Shown) -> Table:
    """One row for each thing that may go wrong, worst first."""
    rows = tuple(_row(one) for one in found)
    begun = "from the start" if from_s <= 0.0 else f"from {from_s / 60:g} min on"
    notes = [
        _usual(usual),
        f"Marked: SHORT under {ENOUGH_S / 60:g} min of warning before the engine stops. At the latest: with the lamp's mark low by its"
        " tolerance, which is what counts. NO WARNING: no lamp lights, or it may not within its tolerance; one that is lit from the start"
        " is none.",
        "An attitude that is held takes the place of the flight's own. As a lamp is due: from a second before the first lamp is sure to"
        " light on the flight with nothing wrong, which takes most of what it promises; where none is, from ten minutes before the end.",
        f"A valve, selector or check valve that leaks passes, where it should shut, what a hole of {shown.short(LEAK_BORE_M, 'length')}"
        " lets through (chosen here, no source); looked at are those that the flight has shut, in fuel lines. What leaks into another"
        " return line, overboard or by a drain is not looked at.",
        *usual.notes,
        *BASIS,
        SHUT_IN,
    ]
    return Table(
        "failures",
        f"One thing wrong, {begun}: is there a warning, and how long before?",
        _FAILING,
        rows,
        tuple(notes),
        shown,
    )


def together(found: Sequence[Failing], more: int, from_s: float, shown: Shown) -> Table:
    """One row for each pair of things that one cause may bring about, worst first; more are pairs that were not flown."""
    notes: list[str | Doubt] = [
        "Ice blocks two vents, dirt half blocks two strainers or filters, without electric power its pumps stand still and no lamp"
        " lights. Other things that go wrong at once are not looked at.",
    ]
    if more:
        notes.insert(0, Doubt(f"{more} more pairs were not flown."))
    begun = "from the start" if from_s <= 0.0 else f"from {from_s / 60:g} min on"
    title = f"Two things wrong by one cause, {begun}"
    rows = tuple(_row(one) for one in found)
    return Table("failures-together", title, _FAILING, rows, tuple(notes), shown, paper=False)


def _usual(usual: Flown) -> str:
    if not usual.stopped:
        return f"With nothing wrong the flight ends after {units.minutes(usual.end_s)} min, the engine running."
    first = usual.warning
    warned = (
        "without a warning" if first is None else f"{units.minutes(usual.end_s - first.lit_s)} min after the first lamp"
    )
    return f"With nothing wrong the engine stops after {units.minutes(usual.end_s)} min, {warned}."


def _row(one: Failing) -> tuple[Cell, ...]:
    if one.flown is None:
        return (one.words, "not computed", None, f"needs {one.needs}", None, None, None, None, "")
    flown = one.flown
    mark = ("NO WARNING" if one.least_s is None else "SHORT") if one.marked else ""
    overboard_m3 = float(flown.overboard_m3[-1])
    lamp = flown.warning
    warned = "none" if lamp is None else f"{lamp.tank} {lamp.switch}"
    if not flown.stopped:
        return (one.words, mark, None, "not needed", None, None, flown.left_m3, overboard_m3, "it does not stop")
    return (
        one.words, mark, flown.end_s, warned, one.before_s, one.least_s, flown.left_m3, overboard_m3, flown.stopped,
    )  # fmt: skip


def changes(found: Sequence[Failing], shown: Shown) -> list[Table]:
    """Of each failure that is marked, the cheapest change that catches it, proved by flying it; none where nothing is marked."""
    columns = (
        Column("wrong"), Column("cheapest change that catches it"), Column("warns now", "time"), Column("then", "time"),
        Column("engine stops now at", "time", rank=1), Column("then at", "time", rank=1),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for one in found:
        if one.flown is None or not one.marked:
            continue
        now = (one.words, _change(one, shown), one.least_s)
        proof = one.change.proof if one.change else None
        ends = proof.flown.end_s if proof and proof.flown and proof.flown.stopped else None
        rows.append((*now, proof.least_s if proof else None, one.flown.end_s, ends))
    notes = (
        "Tried from the cheapest on (common practice, no source): a higher mark, one more switch, a vent line, a check valve, a second"
        " pump; of a blocked vent a vent line first, of dark lamps a battery of their own; where none alone does, pairs of them, a dozen"
        " at most. Each was flown with the same thing wrong; minutes are with the mark low by its tolerance.",
    )
    title = "What would give a warning in time, or keep the engine running"
    # Not for paper: each change stands beside its finding there.
    return [Table("catches", title, columns, tuple(rows), notes, shown, paper=False)] if rows else []


def pairs(one: Failing) -> str:
    """How many pairs of changes were flown."""
    return "1 pair" if one.pairs == 1 else f"{one.pairs} pairs"


def _change(one: Failing, shown: Shown) -> str:
    if one.change:
        ends = one.change.proof.flown and not one.change.proof.flown.stopped
        of = f" (of {pairs(one)} flown, no change alone)" if one.pairs else ""
        return shown.words(one.change.words) + of + (": the engine does not stop" if ends else "")
    if one.meant:
        return "none: no other way brings fuel"
    if not one.tried and not one.unflown:
        return "none: no switch could light in time"
    more = f", and {pairs(one)} of them" if one.pairs else ""
    flown = [f"flown with {', '.join(one.tried)}{more}"] if one.tried else []
    return f"none found: {'; '.join([*flown, *(f'not flown: {what}' for what in one.unflown)])}"


def reviewed(found: Failures | None, shown: Shown) -> list[Table]:
    """The failures of a review, worst first, and what would catch them; nothing where they were not flown."""
    if found is None or found.usual is None:
        return []
    table = failures(found.single, found.usual, 0.0, shown)
    table = replace(table, title=f"Flight and failures. {table.title}", paper=False)
    both = [replace(together(found.together, found.more, 0.0, shown), paper=False)] if found.together else []
    return [table, *both, *changes(found.every, shown)]
