"""The sheet of a fill test, to fill in while pouring, and how to do it."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from math import degrees

from fuelsys.load.designs.fillsheet import ALSO, COLUMNS, DRY, NONE_LIT, SIGNALS
from fuelsys.model.found.filltest import FillPlan
from fuelsys.model.words import Quantity
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
        **dict.fromkeys(("stick", *ALSO), shown.length),
    }
    left_out = (*ALSO[plan.places :], *SIGNALS[len(plan.gauges) :], *([] if plan.others else ["attitude"]))
    names = [name for name in COLUMNS if name not in left_out]
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow([f"{name} [{units[name]}]" if name in units else name for name in names])
    for step in range(len(plan.steps) + _SPARE):
        writer.writerow([step, *[""] * (len(names) - 1)])
    return stream.getvalue()


def how_to(plan: FillPlan, shown: Shown) -> Table:
    """The plan with how to go about it."""
    with_stick = plan.length_m is not None
    columns = [Column("total", "volume"), *([Column(f"stick from its {plan.zero}", "length")] if with_stick else [])]
    columns += [*(Column(name, "length") for name in ALSO[: plan.places]), Column("remark")]
    rows = tuple(
        (step.total_m3, *((step.read_m, *step.also_m) if with_stick else ()), shown.words(step.words))
        for step in plan.steps
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
        *_gauge_notes(plan),
        *_attitude_notes(plan),
        *plan.not_told,
        *_sees(plan, shown),
        "These figures are the drawing's, to see at once when a line goes wrong. Write what you see.",
        f"Then: fuelsys filltest DESIGN --tank {plan.tank} --from SHEET",
    ]
    title = f"Fill test of tank {plan.tank}, {plan.attitude.text}"
    return Table(f"{plan.tank}-filltest-plan", title, tuple(columns), rows, tuple(notes), shown)


def _stick_notes(plan: FillPlan, shown: Shown) -> list[str]:
    if plan.length_m is None:
        return ["The tank has no dipstick in the design: only its lamps can be tested."]
    length = shown.short(plan.length_m, "length")
    also = [f"Stick 2{' and 3' if plan.places > 1 else ''}: the same, at the other places."] if plan.places else []
    return [
        f'Stick: length from its {plan.zero} (the stick has {length}), in {shown.length}; "{DRY}" where it is dry.',
        *also,
    ]


def _lamp_notes(plan: FillPlan) -> list[str]:
    if not plan.lamps:
        return []
    return [
        f'Lamps lit: their names with semicolons between ({"; ".join(plan.lamps)}), "{NONE_LIT}" where none is, nothing where'
        " you did not look. Pour little at a time where one should go out, and write a line just before and just after."
    ]


def _gauge_notes(plan: FillPlan) -> list[str]:
    if not plan.gauges:
        return []
    named = ", ".join(f"{name} of {gauge}" for name, gauge in zip(SIGNALS, plan.gauges, strict=False))
    return [f"Signals: {named}: the number that it shows (ohms, volts, counts), which need not be calibrated yet."]


def _attitude_notes(plan: FillPlan) -> list[str]:
    if not plan.others or plan.length_m is None:
        return []
    named = ", ".join(f'"{name}"' for name in plan.others)
    return [
        f'Attitude: nothing as it stands at "{plan.attitude.name}"; where the stick is read with the aircraft standing otherwise,'
        f" a line of its own with nothing poured, no lamps, and that attitude's name ({named})."
    ]


def _sees(plan: FillPlan, shown: Shown) -> list[str]:
    """What these readings will tell, and what else would tell more."""
    if plan.sees is None:
        return []
    said = [
        f"What the stick tells at these totals, read within a millimetre: {_widths(plan.sees.within, shown)} (95 %)."
    ]
    if plan.sees.untold:
        said.append(f"It hardly tells {', '.join(plan.sees.untold)}: as wide as is usual before any test.")
    if plan.sees.place_m is not None:
        at = shown.words((Quantity("length", plan.sees.place_m),))
        said.append(
            f"To tell more of the tilt, put the same stick in at one more place, on the floor at {at} of the mesh or near it"
            f" ([[tank.dipstick.also]] with bottom and top): {_widths(plan.sees.better, shown)}."
        )
    return said


def _widths(within: Sequence[float], shown: Shown) -> str:
    scale, offset, pitch, roll, layer = within
    return (
        f"scale ± {scale * 100.0:.1f} %, offset ± {shown.text(offset, 'length')}, pitch ± {degrees(pitch):.1f}°, roll"
        f" ± {degrees(roll):.1f}°, layer ± {shown.text(layer, 'length')}"
    )
