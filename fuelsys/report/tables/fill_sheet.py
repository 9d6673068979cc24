"""The sheet of a fill test, to fill in while pouring, and how to do it."""

from __future__ import annotations

import csv
import io

from fuelsys.load.designs.fillsheet import COLUMNS, DRY, NONE_LIT
from fuelsys.model.found.filltest import FillPlan
from fuelsys.report.shown import Shown
from fuelsys.report.table import Column, Table

_SPARE = 10  # lines more than the plan has steps: small pours near a lamp


def sheet(plan: FillPlan, shown: Shown) -> str:
    """The sheet as CSV: a heading with units, and a numbered line for each step and some to spare."""
    units = {
        "poured": shown.volume,
        "drained": shown.volume,
        "temperature": "degC",
        "in tank": "degC",
        "stick": shown.length,
    }
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow([f"{name} [{units[name]}]" if name in units else name for name in COLUMNS])
    for step in range(len(plan.steps) + _SPARE):
        writer.writerow([step, *[""] * (len(COLUMNS) - 1)])
    return stream.getvalue()


def how_to(plan: FillPlan, shown: Shown) -> Table:
    """The plan with how to go about it."""
    with_stick = plan.length_m is not None
    columns = [Column("total", "volume"), *([Column(f"stick from its {plan.zero}", "length")] if with_stick else [])]
    columns.append(Column("remark"))
    rows = tuple(
        (step.total_m3, *((step.read_m,) if with_stick else ()), shown.words(step.words)) for step in plan.steps
    )
    notes = [
        f"Stand the aircraft at {plan.attitude.text}, and the tank drained dry: what is in it already would count as missing.",
        "Pour about as much as from one total to the next, wait until the surface is still, read the stick. A line for each"
        " pour, none left out; other amounts than these do as well.",
        f"Amounts: of each pour alone, as volume in {shown.volume} or with a unit of their own, also of mass (3.6 kg). What is"
        " drained again has a column of its own.",
        "Temperature: of the fuel poured; in tank: of the fuel in the tank, where it has warmed or cooled. Give the first for all"
        " pours or for none; masses need it.",
        *_stick_notes(plan, shown),
        *_lamp_notes(plan),
        *plan.not_told,
        "These figures are the drawing's, to see at once when a line goes wrong. Write what you see.",
        f"Then: fuelsys filltest DESIGN --tank {plan.tank} --from SHEET",
    ]
    title = f"Fill test of tank {plan.tank}, {plan.attitude.text}"
    return Table(f"{plan.tank}-filltest-plan", title, tuple(columns), rows, tuple(notes), shown)


def _stick_notes(plan: FillPlan, shown: Shown) -> list[str]:
    if plan.length_m is None:
        return ["The tank has no dipstick in the design: only its lamps can be tested."]
    length = shown.short(plan.length_m, "length")
    return [f'Stick: length from its {plan.zero} (the stick has {length}), in {shown.length}; "{DRY}" where it is dry.']


def _lamp_notes(plan: FillPlan) -> list[str]:
    if not plan.lamps:
        return []
    return [
        f'Lamps lit: their names with semicolons between ({"; ".join(plan.lamps)}), "{NONE_LIT}" where none is, nothing where'
        " you did not look. Pour little at a time where one should go out, and write a line just before and just after."
    ]
