"""Tables of a whole design: what all tanks hold, the findings, the tests that the finished aircraft must still pass."""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees

from fuelsys.model.found.findings import Finding
from fuelsys.model.found.study import Study
from fuelsys.model.found.unusable import LEAST_DIFFERENCE_M3
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.table import Cell, Column, Table
from fuelsys.report.tables.exchange import TOGETHER, in_all, more_m3, where_joined
from fuelsys.report.tables.notes import covered
from fuelsys.report.tables.reserves import placards_m3
from fuelsys.units import from_si


def totals(study: Study, shown: Shown) -> Table:
    """All tanks and their sum: unusable fuel at the one flight attitude at which all of them together keep most."""
    rows: list[tuple[Cell, ...]] = []
    for tank in study.tanks:
        held = tank.capacity
        fillable_m3 = held.filled.volume_m3 if held.filled else None
        unusable_m3 = held.unusable.volume_m3 if held.unusable else None
        volumes = (held.gross_m3, fillable_m3, unusable_m3, held.usable_m3)
        rows.append((tank.name, *volumes, in_all(study.exchange, tank.name, shown)))
    gross, fillable, added, _ = (_sum([row[i] for row in rows]) for i in range(1, 5))
    together = worst_together(study)
    least = None if together is None else together[1]
    rows.append(("all tanks", gross, fillable, least, _less(fillable, least), ""))
    ground: Attitude = study.layout.design.normal("ground")
    notes = [f"Fillable at {ground.text}; unusable at the worst flight attitude of the envelope, of each tank its own."]
    if together is not None:
        notes.append(
            f"All tanks: at the one flight attitude where they keep most together, {together[0].text}. Each tank's own worst"
            f" added would be {shown.text(added or 0.0, 'volume')}, which no single attitude has."
            if added is not None and added > together[1] + LEAST_DIFFERENCE_M3
            else f"All tanks: at {together[0].text}, where they keep most together."
        )
    placards = placards_m3(study)
    if placards is not None and least is not None and placards < (_less(fillable, least) or 0.0) - LEAST_DIFFERENCE_M3:
        notes.append(
            f"Plan with {shown.text(placards, 'volume')} usable in all, what the placards of the tanks add up to: a flight that takes"
            " each tank to its own worst attitude gives no more."
        )
    notes[:0] = [
        doubt for tank in study.tanks for doubt in (*tank.tank.untested, *tank.tank.doubts, *covered(tank, shown))
    ]
    apart = [tank.name for tank in study.tanks if tank.capacity.cut_off]
    if apart:
        notes.insert(0, Doubt(f"no line can bring the fuel of {', '.join(apart)} to the engine: none of it is usable."))
    for tank in study.tanks:
        if tank.capacity.unusable and tank.capacity.unusable.held:
            forever = shown.text(tank.capacity.unusable.sustained.sustained_m3, "volume")
            notes.append(f"Tank {tank.name}: {forever} unusable if every attitude is held for ever.")
    columns = (
        Column("tank"),
        *(Column(name, "volume") for name in ("gross", "fillable", "unusable", "usable")),
        TOGETHER,
    )
    return where_joined(Table("capacity", "Capacity of all tanks", columns, tuple(rows), tuple(notes), shown))


def _sum(cells: Sequence[Cell]) -> float | None:
    numbers = [cell for cell in cells if isinstance(cell, float)]
    return sum(numbers) if len(numbers) == len(cells) else None


def _less(fillable_m3: float | None, unusable_m3: float | None) -> float | None:
    return None if fillable_m3 is None or unusable_m3 is None else max(0.0, fillable_m3 - unusable_m3)


def worst_together(study: Study) -> tuple[Attitude, float] | None:
    """The flight attitude at which all tanks keep most together, and how much; None where one is not known.

    A tank whose fuel no line can bring to an engine keeps all of it.
    """
    known = [tank.capacity.unusable for tank in study.tanks]
    if not known or any(one is None for one in known) or study.exchange.unknown:
        return None
    lost_m3 = [t.capacity.filled.volume_m3 if t.capacity.cut_off and t.capacity.filled else 0.0 for t in study.tanks]
    columns = zip(*(one.at for one in known if one), strict=True)
    sums = [
        (
            at[0].attitude,
            sum(max(one.unusable_m3, lost) for one, lost in zip(at, lost_m3, strict=True))
            + more_m3(study.exchange, at[0].attitude),
        )
        for at in columns
        if at[0].attitude.phase == "flight"
    ]
    return max(sums, key=lambda one: one[1])


def findings(given: Sequence[Finding], shown: Shown) -> Table:
    """Findings as a table, for CSV and JSON, worst first."""
    columns = (
        *(Column(name) for name in ("outcome", "rule", "where", "evidence", "mend", "source", "reach", "stake")),
        Column("minutes not there", "time", up=True),
        Column("quantity at stake", "volume"),
        Column("rests on"),
    )
    rows = tuple(
        (
            f.outcome.word,
            f.rule.name,
            f.where,
            shown.words(f.evidence),
            shown.words(f.mend),
            "; ".join(str(source) for source in f.rule.sources),
            f.reach.word,
            f.rule.stake.words,
            f.cost.short_s or None,
            f.cost.volume_m3 or None,
            ", ".join(f.rests_on),
        )
        for f in given
    )
    return Table("findings", "Findings, worst first", columns, rows, (), shown)


def tests_to_make(study: Study, shown: Shown) -> Table:
    """What the finished aircraft must still show by test: the feed's flow, each tank's pressure, what was computed."""
    design = study.layout.design
    factor = {"gravity": "150 %", "pump": "125 %"}[design.aircraft.feed]
    flow = shown.flow_text(study.flow_to_show_m3_s) if study.flow_to_show_m3_s else "not computed: needs flows.takeoff"
    steep = (
        f"{degrees(design.aircraft.climb_angle_rad):.3g}° + 5°"
        if design.aircraft.climb_angle_rad
        else "climb angle + 5°"
    )
    rows: list[tuple[Cell, ...]] = [
        (
            "flow at the engine's inlet, return line flowing",
            flow,
            f"{factor} of take-off flow and the return: 14 CFR 23.955",
        ),
        ("attitude of that test, least fuel in the tank", f"nose up {steep}", "AC 90-89A, chapter 1 section 11"),
        ("what remains when the flow stops", "compare with unusable", "AC 90-89A: it is the unusable fuel"),
    ]
    pressed: dict[tuple[str, str], list[str]] = {}
    for tank in study.tanks:
        if tank.proof:
            both = {
                "kPa": f"{tank.proof.pressure_pa / 1e3:.1f} kPa",
                "psi": f"{from_si(tank.proof.pressure_pa, 'psi', 'pressure'):.2f} psi",
            }
            first = both.pop(shown.unit("pressure"))
            pressure = f"{first} ({', '.join(both.values())})"
            asked_by = f"{tank.proof.asked_by}: 14 CFR 23.965(a)(1)"
            if design.aircraft.limit_load_factor is None:
                asked_by += "; the flight's ultimate loads are not counted: needs aircraft.limit_load_factor"
            pressed.setdefault((pressure, asked_by), []).append(tank.name)
    for told, tanks in pressed.items():
        rows.append((f"pressure test of {'tank' if len(tanks) == 1 else 'tanks'} {', '.join(tanks)}", *told))
    notes = (
        "Paragraphs of 14 CFR 23 as before amendment 23-64; for an amateur-built aircraft they are guidance. Of the loads in flight"
        " only the greatest downward one counts; tanks that the structure supports have rules of their own (23.965(a)(2), (3)).",
    )
    columns = (Column("test"), Column("to show"), Column("asked for by"))
    return Table("tests", "Tests to make on the finished aircraft", columns, tuple(rows), notes, shown)
