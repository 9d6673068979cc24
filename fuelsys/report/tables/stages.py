"""The table of stages placed together: where each mark stands, what it leaves, how wide its band is, and what limits it."""

from __future__ import annotations

from itertools import pairwise
from math import degrees

from fuelsys import units
from fuelsys.errors import QuestionError
from fuelsys.model.found.place import Built
from fuelsys.model.found.stages import Stage, StagesAsked, StagesFound
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.table import Cell, Column, Table
from fuelsys.report.tables.notes import narrow, worst_flow
from fuelsys.report.tables.shared import MINUTES, STEADY
from fuelsys.rules.severity import nearly_s

Entry = dict[str, str | list[str] | dict[str, str]]
_COLUMNS = (
    Column("stage"),
    Column("x", "length"),
    Column("y", "length"),
    Column("mark z", "length"),
    Column("stem", "length"),
    Column("to wall", "length"),
    Column("guaranteed", "time"),
    Column("earliest", "time", up=True),
    Column("band", "time", up=True),
    Column("band volume", "volume"),
    Column("of it by tolerance", "volume"),
    Column("latest at"),
    Column("earliest at"),
    Column("least at combinations", "time"),
)


def stages(found: StagesFound, unit_axes: str, shown: Shown) -> Table:
    """A row for each stage, the longest target first."""
    notes = [
        *found.stages[0].search.outflow.doubts,
        *_doubts(found, shown),
        f"In the mesh's axes ({unit_axes}). Stem: from the mark straight up to the roof. {_allowed(found, shown)}",
        "Guaranteed: at the latest trip of all stated flight attitudes, all other pools drained; earliest with none of them"
        " begun to fall. Band: between the two.",
        "At combinations: the least over the pitches and rolls of the stated flight attitudes taken together, above what is"
        " unusable at the worst of them; `fuelsys check` judges targets by the stated ones, and cautions where these leave less.",
        worst_flow(found.stages[0].search.outflow, shown),
        *(note for stage in found.stages[: 1 if found.asked.plate else None] for note in _limits(stage, found.asked)),
        *([] if found.plate_s is None else [_plate(found.plate_s)]),
        STEADY,
        MINUTES,
    ]
    title = f"Stages of the low-level warning in tank {found.tank}, {_placed(found)}"
    rows = tuple(_row(stage) for stage in found.stages)
    return Table(f"{found.tank}-stages", title, _COLUMNS, rows, tuple(notes), shown)


def _plate(widest_s: float) -> str:
    """What one line would do better."""
    apart = "apart they must also keep their order as the surface leans from one to the other"
    return f"On one line (--plate) the widest band would be {units.minutes(widest_s, up=True)} min: {apart}."


def name_of(stage: Stage) -> str:
    """What a stage is called: its target."""
    return f"{stage.search.target_s / 60.0:g} min"


def entries(found: StagesFound, shown: Shown) -> list[Entry]:
    """The stages as a design file has switches, in the unit that is shown; QuestionError where one has no place."""
    without = [name_of(stage) for stage in found.stages if stage.place is None]
    if without:
        raise QuestionError(
            f"{', '.join(without)} has no place, so nothing was written",
            mend="Ask for fewer stages or less room, or a finer --search.",
            field=f"tank {found.tank}",
        )
    measured = [name_of(stage) for stage in found.stages if stage.search.built.switch.measured_trip_m3 is not None]
    if measured:
        raise QuestionError(
            f"measured_trip of {', '.join(measured)} was measured at its old place, so nothing was written",
            mend="Take it out, and measure again.",
            field=f"tank {found.tank}",
        )
    return [_entry(found.asked, stage, shown) for stage in found.stages]


def _entry(asked: StagesAsked, stage: Stage, shown: Shown) -> Entry:
    def written(length_m: float) -> str:
        return f"{units.from_si(length_m, shown.length, 'length') + 0.0:.10g} {shown.length}"

    place = stage.place
    mark = [written(at_m) for at_m in (place.x_m, place.y_m, place.z_m or 0.0)] if place else []
    fields: Entry = {"name": name_of(stage), "mark": mark}
    stated = {"differential": asked.differential_m, "tolerance": asked.tolerance_m, "clearance": asked.clearance_m}
    fields |= {field: written(length_m) for field, length_m in stated.items() if length_m}
    if asked.float_body:
        one = asked.float_body
        sizes = {"diameter": one.diameter_m, "height": one.height_m}
        lengths = {field: written(length_m) for field, length_m in sizes.items() if length_m is not None}
        volume = {} if one.volume_m3 is None else {"volume": f"{one.volume_m3 * 1e6:.10g} mL"}
        fields["float"] = {"mass": f"{one.mass_kg * 1e3:.10g} g", **lengths, **volume}
    if asked.set_in_kg_m3:
        fields["set_in"] = f"{asked.set_in_kg_m3:.10g} kg/m3"
    if asked.max_tilt_rad:
        fields["max_tilt"] = f"{degrees(asked.max_tilt_rad):.10g} deg"
    if asked.delay_s:
        fields["delay"] = f"{asked.delay_s:.10g} s"
    return {**fields, "target": name_of(stage), "through": "top"}


def _placed(found: StagesFound) -> str:
    return "all on one line" if found.asked.plate else "each at its own place"


def _row(stage: Stage) -> tuple[Cell, ...]:
    place, search = stage.place, stage.search
    if place is None or place.least_m3 is None or place.most_m3 is None:
        return (name_of(stage), *(None,) * (len(_COLUMNS) - 1))
    combined: Cell = "never trips" if stage.combined_s is None else stage.combined_s
    return (
        name_of(stage),
        *(place.x_m, place.y_m, place.z_m, stage.stem_m, place.clearance_m),
        *(search.left_s(place.least_m3), search.left_s(place.most_m3), search.between_s(place)),
        *(place.between_m3, place.between_m3 - stage.plain_m3),
        *(one.heading if one else None for one in (place.latest, place.earliest)),
        combined,
    )


def counted(built: Built, shown: Shown) -> list[str]:
    """What the minutes of a switch include, in words."""
    rides = built.rides
    found = [f"±{shown.short(built.tolerance_m, 'length')} of its mark"] if built.tolerance_m else []
    if rides.per_density:
        way = "above" if rides.raised_m >= 0.0 else "below"
        raised, low = (shown.text(abs(v), "length") for v in (rides.raised_m, rides.lower_m))
        found.append(
            f"its float, by which the surface stands {raised} {way} the mark at the trip, {low} lower in the densest fuel"
        )
    found += [f"its lamp's {built.delay_s:g} s"] if built.delay_s else []
    return found


def _allowed(found: StagesFound, shown: Shown) -> str:
    """What was asked of the switches, in words, of each that differs."""
    words = dict.fromkeys(_of_switch(stage, found.asked, shown) for stage in found.stages)
    if len(words) == 1:
        return f"Each switch: {next(iter(words))}."
    return " ".join(f"{name_of(stage)}: {_of_switch(stage, found.asked, shown)}." for stage in found.stages)


def _of_switch(stage: Stage, asked: StagesAsked, shown: Shown) -> str:
    built, switch = stage.search.built, stage.search.built.switch
    counts = counted(built, shown)
    tilt = f"works to {degrees(switch.max_tilt_rad):.3g}° of tilt" if switch.max_tilt_rad else ""
    said = {
        "its float rises by {} to reset": switch.differential_m,
        "has {} of room all round": switch.clearance_m or 0.0,
        "stands on a stem of {}": asked.stem_m,
    }
    words = [f"minutes include {', '.join(counts)}" if counts else "its mark stands at its very place", tilt]
    words += [text.format(shown.short(value, "length")) for text, value in said.items() if value]
    return ", ".join(word for word in words if word)


def _doubts(found: StagesFound, shown: Shown) -> list[str]:
    """What a builder must know before drilling."""
    told = list[str]()
    for stage in found.stages:
        if stage.place is None:
            told.append(Doubt(f"no place for {name_of(stage)} among those searched; see what stood in the way below."))
        elif stage.combined_s is None:
            told.append(Doubt(f"{name_of(stage)} never trips at {_text(stage)}: a lamp that stays dark there."))
        elif stage.search.target_s - stage.combined_s > nearly_s(stage.search.target_s):
            left = (
                f"leaves {units.minutes(stage.combined_s)} min" if stage.combined_s >= 0.0 else "leaves nothing usable"
            )
            above = "above what is unusable at the worst combination; state that, if it is flown"
            told.append(Doubt(f"{name_of(stage)} {left} at {_text(stage)}, {above}."))
    switches = [stage.search.built.switch for stage in found.stages]
    if not all(switch.tolerance_m for switch in switches):
        told.append(Doubt("no tolerance was given: a mark that sits lower leaves less (--mark-tolerance)."))
    room_m = [switch.clearance_m for switch in switches]
    if None in room_m:
        told.append(Doubt("not checked: whether the floats have room; needs --clearance."))
        told += [
            note for stage in found.stages if stage.place for note in narrow(stage.place.clearance_m or 0.0, shown)
        ]
    elif found.asked.plate:
        heights = [stage.place.z_m or 0.0 for stage in found.stages if stage.place]
        near = min((a - b for a, b in pairwise(heights)), default=1.0)
        if near < 2.0 * max(one or 0.0 for one in room_m) + max(switch.differential_m for switch in switches):
            told.append(
                Doubt(
                    f"marks stand only {shown.text(near, 'length')} apart on one line: one float that passes several, or floats"
                    " side by side on the plate, each then off this place; `fuelsys tolerance --set-off` says what that costs."
                )
            )
    return told


def _text(stage: Stage) -> str:
    return stage.combined_at.text if stage.combined_at else "a combination"


def _limits(stage: Stage, asked: StagesAsked) -> list[str]:
    """What the other places fell to, the most frequent first."""
    fell = sorted(stage.passed_over.items(), key=lambda one: -one[1])
    what = "All stages" if asked.plate else name_of(stage)
    of = f"{what}: of {len(stage.search.places)} places"
    return [f"{of} " + "; ".join(f"{n} fell to: {why}" for why, n in fell) + "."] if fell else [f"{of} none fell out."]
