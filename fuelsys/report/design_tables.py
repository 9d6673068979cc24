"""Tables of a whole design: what all tanks hold, the findings, the tests that the finished aircraft must still pass."""

from __future__ import annotations

from collections.abc import Sequence
from math import degrees

from fuelsys.model.attitude import Attitude
from fuelsys.model.findings import Finding
from fuelsys.model.study import Study
from fuelsys.report.shown import Cell, Column, Shown, Table
from fuelsys.units import from_si


def totals(study: Study, shown: Shown) -> Table:
    """All tanks and their sum."""
    rows: list[tuple[Cell, ...]] = []
    sums: list[float | None] = [0.0, 0.0, 0.0, 0.0]
    for tank in study.tanks:
        held = tank.capacity
        fillable_m3 = held.filled.volume_m3 if held.filled else None
        unusable_m3 = held.unusable.volume_m3 if held.unusable else None
        volumes = (held.gross_m3, fillable_m3, unusable_m3, held.usable_m3)
        sums = [None if s is None or v is None else s + v for s, v in zip(sums, volumes, strict=True)]
        rows.append((tank.name, *volumes))
    rows.append(("all tanks", *sums))
    columns = (Column("tank"), *(Column(name, "volume") for name in ("gross", "fillable", "unusable", "usable")))
    ground: Attitude = study.layout.design.normal("ground")
    notes = (f"Fillable at {ground.text}; unusable at the worst flight attitude of the envelope.",)
    return Table("capacity", "Capacity of all tanks", columns, tuple(rows), notes, shown)


def findings(given: Sequence[Finding], shown: Shown) -> Table:
    """Findings as a table, for CSV and JSON, worst first."""
    columns = (
        *(Column(name) for name in ("outcome", "rule", "where", "evidence", "mend", "source", "reach", "stake")),
        Column("minutes not there", "time"),
        Column("quantity at stake", "volume"),
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
    for tank in study.tanks:
        if tank.proof:
            pressure = (
                f"{tank.proof.pressure_pa / 1e3:.1f} kPa ({from_si(tank.proof.pressure_pa, 'psi', 'pressure'):.2f} psi)"
            )
            asked_by = f"{tank.proof.asked_by}: 14 CFR 23.965(a)(1)"
            if design.aircraft.limit_load_factor is None:
                asked_by += "; the flight's ultimate loads are not counted: needs aircraft.limit_load_factor"
            rows.append((f"pressure test of tank {tank.name}", pressure, asked_by))
    notes = (
        "Paragraphs of 14 CFR 23 as before amendment 23-64; for an amateur-built aircraft they are guidance. Of the loads in flight"
        " only the greatest downward one counts; tanks that the structure supports have rules of their own (23.965(a)(2), (3)).",
    )
    columns = (Column("test"), Column("to show"), Column("asked for by"))
    return Table("tests", "Tests to make on the finished aircraft", columns, tuple(rows), notes, shown)
