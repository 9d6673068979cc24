"""The sheet of a fill test, to fill in while pouring, and how to do it."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import dataclass
from math import degrees, tan

from fuelsys.load.designs.fillsheet import ALSO, COLUMNS, DRY, NONE_LIT, SIGNALS
from fuelsys.model.found.filltest import FillPlan, Step
from fuelsys.model.words import Quantity, Words
from fuelsys.report.shown import Shown
from fuelsys.report.table import Column, Table

_SPARE = 10  # lines more than the plan has steps: small pours near a lamp
# Common practice, no source; the first is what most people are hurt by.
_CARE = (
    "Fuel vapour burns and can be set off by a spark nobody sees. Outdoors, no flame, engine, radio or telephone near, electric power"
    " off, an extinguisher at hand. Join can, funnel, scale and aircraft by bonding leads, and these to ground, before the first drop"
    " until after the last; metal cans and funnels.",
    "Keep it off skin and ground, and let it stand covered. Local rules and licensed inspection decide who may do this, where, and"
    " what the test is worth; nothing here is an approval.",
)


@dataclass(frozen=True)
class Line:
    """A line of the sheet: its number, the step of the plan that it is for (None: one to spare), and what is to be seen there."""

    number: int
    step: Step | None
    words: Words = ()


def lines(plan: FillPlan) -> list[Line]:
    """The lines of the sheet: each step, one more behind those at which a lamp goes out, some to spare."""
    found: list[Line] = []
    for step in plan.steps:
        found.append(Line(len(found), step, step.words))
        for lamp in step.lamps:
            found.append(Line(len(found), None, (f'lamp "{lamp}" just out: pour little at a time until it is',)))
    return found + [Line(len(found) + k, None) for k in range(_SPARE)]


def columns(plan: FillPlan, shown: Shown) -> dict[str, str]:
    """The sheet's columns in their order, with their units."""
    units = {
        "poured": shown.volume,
        "drained": shown.volume,
        "temperature": "degC",
        "in tank": "degC",
        **dict.fromkeys(("stick", *ALSO), shown.length),
    }
    left_out = (*ALSO[plan.places :], *SIGNALS[len(plan.gauges) :], *([] if plan.others else ["attitude"]))
    return {name: units.get(name, "") for name in COLUMNS if name not in left_out}


def sheet(plan: FillPlan, shown: Shown) -> str:
    """The sheet as CSV: a heading with units, and a numbered line for each step, each lamp, and some to spare."""
    named = columns(plan, shown)
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow([f"{name} [{unit}]" if unit else name for name, unit in named.items()])
    for line in lines(plan):
        remark = plan.made_for.words if plan.made_for and line.number == 0 else ""  # the last column
        writer.writerow([line.number, *[""] * (len(named) - 2), remark])
    return stream.getvalue()


def how_to(plan: FillPlan, shown: Shown) -> Table:
    """The plan with how to go about it."""
    with_stick = plan.length_m is not None
    columns = [Column("step"), Column("total", "volume")]
    columns += [Column(f"stick from its {plan.zero}", "length")] if with_stick else []
    columns += [*(Column(name, "length") for name in ALSO[: plan.places]), Column("remark")]
    blank = (None,) * (len(columns) - 2)
    rows = tuple(
        (str(line.number), *(_planned(line.step, with_stick) if line.step else blank), shown.words(line.words))
        for line in lines(plan)
        if line.step or line.words
    )
    return Table(f"{plan.tank}-filltest-plan", title(plan), tuple(columns), rows, tuple(notes(plan, shown)), shown)


def title(plan: FillPlan) -> str:
    """What the test is called."""
    return f"Fill test of tank {plan.tank}, {plan.attitude.text}"


def _planned(step: Step, with_stick: bool) -> tuple[float | None, ...]:
    return step.total_m3, *((step.read_m, *step.also_m) if with_stick else ())


def notes(plan: FillPlan, shown: Shown) -> list[str]:
    """How to go about it."""
    return [note for some in told(plan, shown).values() for note in some]


def told(plan: FillPlan, shown: Shown) -> dict[str, list[str]]:
    """The same under what each is about."""
    return {
        "Take care": list(_CARE),
        "How it stands": [
            f"Stand the aircraft at {plan.attitude.text}, and the tank drained dry: what is in it already would count as missing.",
            *_attitude_checks(plan, shown),
            *_attitude_notes(plan),
        ],
        "Pour, wait, read, write": [
            "Pour about as much as from one total to the next, wait until the surface is still, read the stick. A line for each"
            " pour, none left out; other amounts than these do as well.",
            f"Amounts: of each pour alone, as volume in {shown.volume} or with a unit of their own, also of mass (3.6 kg). What is"
            " drained again has a column of its own.",
            "Temperature: of the fuel poured; in tank: of the fuel in the tank, where it has warmed or cooled. Give the first for"
            " all pours or for none; masses need it.",
            *_stick_notes(plan, shown),
            *_lamp_notes(plan),
            *_gauge_notes(plan),
        ],
        "What it will tell": [
            *plan.not_told,
            *_sees(plan, shown),
            "These figures are the drawing's, to see at once when a line goes wrong. Write what you see.",
            f"Then: fuelsys filltest DESIGN --tank {plan.tank} --from SHEET",
        ],
    }


def _attitude_checks(plan: FillPlan, shown: Shown) -> list[str]:
    """How to see that the aircraft stands as it should, and what it makes if it does not."""
    one_m, word = (1.0, "1 m") if shown.length not in ("in", "ft") else (0.9144, "36 in")
    rises = []
    for angle_rad, level, way in (
        (plan.attitude.pitch_rad, "fore and aft level", ("its front end higher", "its rear end higher")),
        (plan.attitude.roll_rad, "both sides level", ("its left end higher", "its right end higher")),
    ):
        rise = abs(tan(angle_rad)) * one_m
        ends = way[0] if angle_rad > 0.0 else way[1]
        rises.append(level if rise < 5e-4 else f"{ends} by {shown.text(rise, 'length')}")
    said = [
        f"Check it before and after, with a level on the surfaces that the aircraft's manual or drawing levels by: over {word}"
        f" along the aircraft {rises[0]}, across it {rises[1]}."
    ]
    if plan.per_degree_m:
        pitch, roll = (shown.text(one, "length") for one in plan.per_degree_m)
        said.append(
            f"A degree more or less moves the readings by up to {pitch} (pitch) and {roll} (roll): write the angles that you find into the"
            " first line's remark; where they move a reading by more than you can read, state them as an attitude of the ground in the"
            " design and give its name with --at."
        )
    return said


def _stick_notes(plan: FillPlan, shown: Shown) -> list[str]:
    if plan.length_m is None:
        return ["The tank has no dipstick in the design: only its lamps can be tested."]
    length = shown.short(plan.length_m, "length")
    also = [f"Stick 2{' and 3' if plan.places > 1 else ''}: the same, at the other places."] if plan.places else []
    return [
        f'Stick: length from its {plan.zero} (the stick has {length}), in {shown.length}; "{DRY}" where it is dry.',
        *also,
        *_dry(plan, shown),
    ]


def _dry(plan: FillPlan, shown: Shown) -> list[str]:
    """That no reading checks the cans that are poured before the stick shows any; at three places one does."""
    read = [step.total_m3 for step in plan.steps if step.read_m is not None]
    blind = max(
        (step.total_m3 for step in plan.steps if step.read_m is None and read and step.total_m3 < min(read)),
        default=0.0,
    )
    if not blind > 0.0 or plan.places > 1:
        return []
    return [
        f"Until {shown.text(blind, 'volume')} are in, the stick is dry, and no reading checks the cans: tick each. One noted twice there"
        " looks like a larger, tilted tank; only the stick at three places ([[tank.dipstick.also]]) tells."
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
