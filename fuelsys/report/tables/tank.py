"""The tables of each answer: capacity, levels, unusable fuel, switches, placement, dipstick, findings."""

from __future__ import annotations

from collections.abc import Sequence

from fuelsys.arrays import Floats
from fuelsys.model.built.cavity import Cavity, Taken
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.levels import LevelTable
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.found.switches import Placement, SwitchStudy, TripAt, left_text
from fuelsys.model.found.unusable import Unusable
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.words import Doubt, Quantity, as_read
from fuelsys.report.shown import Cell, Column, Shown, Table
from fuelsys.report.tables import stick as stick_tables
from fuelsys.report.tables.notes import (
    NONE_LEFT,
    TO_WALL,
    covered,
    for_a_time,
    forever,
    held_by_line,
    narrow,
    narrow_gaps,
    open_gaps,
    told,
    worst_flow,
)
from fuelsys.report.tables.phases import phases

STEADY = "An upper bound at a steady attitude: fuel that is cut off may come back as the aircraft moves."
NO_OUTLET = Doubt("not computed: needs an outlet, from which what stays behind is counted.")
MINUTES = (
    "Minutes of this tank alone, at the flow stated and at steady attitudes of the envelope. A greater flow, fuel that returns"
    " to another tank or an attitude beyond the envelope leave fewer; fuel that comes back from pockets leaves more."
)
_CENTRE = tuple(Column(f"CG {axis}", "length", rank=3) for axis in "xyz")
_LEAST_HIDDEN = 1e-6  # of gross; less is what rounding makes of flat sides
LEAST_LISTED_M3 = 1e-6  # pockets under a millilitre count in the sums and are not listed


def _centre(layout: Layout, centre_m: Floats | None) -> tuple[Cell, ...]:
    return (None, None, None) if centre_m is None else tuple(float(c) for c in layout.aircraft_m(centre_m))


def capacity(study: Study, tank: TankStudy, shown: Shown) -> Table:
    """Gross, expansion space, fillable, unusable and usable, with mass and centre of gravity."""
    layout, held = study.layout, tank.capacity
    density = layout.design.fuel.density_kg_m3

    def row(
        what: str, volume_m3: float | None, centre_m: Floats | None, where: str, fuel: bool = True
    ) -> tuple[Cell, ...]:
        mass = volume_m3 * density if volume_m3 is not None and fuel else None
        share = volume_m3 / held.gross_m3 if volume_m3 is not None else None
        return (what, volume_m3, share, mass, *_centre(layout, centre_m), where)

    ground = layout.design.normal("ground").heading
    cavity = tank.tank.cavity
    rows = [row("gross", held.gross_m3, held.gross_centre_m, "any attitude")]
    if cavity.taken:
        less = [
            row(taken_words(taken, shown), -taken.volume_m3, None, "taken off", fuel=False) for taken in cavity.taken
        ]
        rows = [row("mesh as exported", cavity.mesh_m3, None, "any attitude", fuel=False), *less, *rows]
    if held.filled:
        full = held.filled
        rows += [
            row("expansion space", held.expansion_m3, None, ground, fuel=False),
            row("of it trapped air", full.trapped_air_m3, None, ground, fuel=False),
            row(f"fillable, to the {full.limited_by}", full.volume_m3, full.centre_m, ground),
        ]
    else:
        rows.append(row("fillable", None, None, "not computed: needs a filler or a vent"))
    if held.unusable:
        worst = held.unusable.worst
        rows.append(row(_unusable_called(tank), held.unusable.volume_m3, worst.centre_m, worst.attitude.heading))
    else:
        rows.append(row("unusable", None, None, "not computed: needs an outlet"))
    rows.append(row("usable", held.usable_m3, held.usable_centre_m, ""))
    columns = (
        Column("what"),
        Column("volume", "volume"),
        Column("of gross", "share", rank=1),
        Column("mass", "mass", rank=2),
        *_CENTRE,
        Column("holds at"),
    )
    axes = f"Centres of gravity (CG) in the aircraft's axes ({layout.design.aircraft.axes}) from {layout.design.aircraft.datum}."
    stands = f"Fillable at {layout.design.normal('ground').text}"
    stands += f"; unusable at the worst flight attitude, {held.unusable.worst.attitude.text}." if held.unusable else "."
    over = held_by_line(held.unusable, shown) if held.unusable else ()
    over += for_a_time(tank, shown)
    notes = (stands, axes, facets_note(cavity, shown), *over, *narrow_gaps(tank, shown), *cavity_notes(cavity, shown))
    return Table(f"{tank.name}-capacity", f"Capacity of tank {tank.name}", columns, tuple(rows), notes, shown)


def _unusable_called(tank: TankStudy) -> str:
    """Unusable fuel, with the word for it where a test decides the figure and not the drawing."""
    left, measured_m3 = tank.capacity.unusable, tank.tank.design.measured_unusable_m3
    return "unusable, measured" if left and measured_m3 == left.volume_m3 > left.worst.unusable_m3 else "unusable"


def taken_words(taken: Taken, shown: Shown) -> str:
    """What is taken off a mesh, a layer with its thickness."""
    return f"{taken.what}, {shown.short(taken.thickness_m, 'length')}" if taken.thickness_m else taken.what


def cavity_notes(cavity: Cavity, shown: Shown) -> list[str]:
    """What is to be known of a cavity: of its mesh, and of the layers that were taken off it."""
    layers = [
        f"{taken_words(taken, shown)}: within {shown.words((Quantity('volume', (taken.doubt_m3,), up=True),))} of a layer"
        " that is even everywhere; runs and fillets are not in it"
        for taken in cavity.taken
        if taken.thickness_m
    ]
    return [*map(shown.words, cavity.measured), *(shown.words(note) for note in cavity.notes), *layers]


def facets_note(cavity: Cavity, shown: Shown) -> str:
    """What the facets may hide, in words."""
    if max(cavity.facets_m3) < _LEAST_HIDDEN * cavity.gross_m3:
        return (
            f"{len(cavity.faces)} facets: none of their edges looks like part of a smooth curve, so they hide nothing."
        )
    kinds = zip(cavity.facets_m3, ("more where the cavity bulges", "less where it is dented"), strict=True)
    told = [(shown.text(volume_m3, "volume"), kind) for volume_m3, kind in kinds if volume_m3 > 1e-15]
    ends = " and ".join(f"{'' if text.startswith('under') else 'about '}{text} {kind}" for text, kind in told)
    return f"{len(cavity.faces)} facets: if their edges under 30° stand for smooth curves, the true volume is {ends}."


def gross(cavity: Cavity, file: str, shown: Shown, *, litres_asked: bool) -> Table:
    """Capacity of a bare mesh: volume, inside area, extents, in the mesh's own axes; how to see gallons beside inches."""
    mixed = not litres_asked and (shown.volume, shown.unit("mass")) == ("L", "lb")
    in_gallons = ('Say --volume "US gal" to see gallons.',) if mixed else ()
    low, high = cavity.bounds_m
    rows: tuple[tuple[Cell, ...], ...] = ((cavity.gross_m3, cavity.wetted_area_m2, *(float(c) for c in high - low)),)
    columns = (
        Column("gross", "volume"),
        Column("inside area", "area"),
        Column("extent x", "length", rank=1),
        Column("extent y", "length", rank=1),
        Column("extent z", "length", rank=1),
    )
    return Table(
        "capacity",
        f"Capacity of {file}",
        columns,
        rows,
        (facets_note(cavity, shown), *cavity_notes(cavity, shown), *in_gallons),
        shown,
    )


def levels(cavity: Cavity, table: LevelTable, shown: Shown) -> Table:
    """Volume against level at one attitude."""
    rows = tuple((row.level_m, row.volume_m3, row.area_m2) for row in table.rows)
    name = cavity.name
    notes = [
        *told(cavity, shown),
        "Levels count along apparent gravity from the tank's lowest point at this attitude; the surface is one.",
    ]
    if table.common_from_m > 1e-6:
        notes.append(
            f"Below {shown.text(table.common_from_m, 'length')} the tank falls into pools: they stand at one level only if each was filled."
        )
    columns = (Column("level", "length"), Column("volume", "volume"), Column("surface", "area"))
    title = f"Volume against level, tank {name}, {table.attitude.text}"
    key = f"{name}-levels-{slug(table.attitude.name)}"
    return Table(key, title, columns, rows, tuple(notes), shown, paper=False)


def slug(text: str) -> str:
    """A name as part of a file's name.

    >>> slug("slip, right wing low")
    'slip-right-wing-low'
    """
    return "-".join("".join(c if c.isalnum() else " " for c in text.lower()).split())


ATTITUDE = (
    Column("attitude"),
    Column("phase", rank=2),
    Column("pitch", "angle", rank=4),
    Column("roll", "angle", rank=4),
)


def attitude_cells(attitude: Attitude) -> tuple[Cell, ...]:
    """An attitude in ATTITUDE's columns."""
    return (attitude.heading, attitude.phase, attitude.pitch_rad, attitude.roll_rad)


def unusable(tank: TankStudy, shown: Shown) -> list[Table]:
    """Unusable fuel at each attitude, and the pockets that hold it."""
    left = tank.capacity.unusable
    title = f"Unusable fuel, tank {tank.name}, drained from full"
    if left is None:
        return [Table(f"{tank.name}-unusable", title, ATTITUDE, (), (*told(tank.tank.cavity, shown), NO_OUTLET), shown)]
    rows = []
    timed = any(at.attitude.held_s is not None for at in left.at)
    pockets: list[tuple[Cell, ...]] = []
    for at in left.at:
        mark = "worst in flight" if at is left.worst else ""
        counts = (at.attitude.held_s, at.held.unusable_m3 if at.held else None) if timed else ()
        rows.append((*attitude_cells(at.attitude), at.residual_m3, at.trapped_m3, at.sustained_m3, *counts, mark))
        for pocket in at.pockets:
            if pocket.volume_m3 >= LEAST_LISTED_M3:
                pockets.append(
                    (
                        *attitude_cells(at.attitude),
                        pocket.volume_m3,
                        *(float(c) for c in tank.tank.mesh_m(pocket.lowest_m)),
                    )
                )
    columns = (
        *ATTITUDE,
        Column("residual", "volume", rank=3),
        Column("trapped", "volume", rank=3),
        Column("left in all", "volume"),
        *((Column("held for", "time", as_stated=True), Column("unusable in that time", "volume")) if timed else ()),
        Column("remark"),
    )
    tables = [
        Table(
            f"{tank.name}-unusable",
            title,
            columns,
            tuple(rows),
            (
                *told(tank.tank.cavity, shown),
                STEADY,
                *held_by_line(left, shown),
                *for_a_time(tank, shown),
                *covered(tank, shown),
                *narrow_gaps(tank, shown),
            ),
            shown,
            paper=False,
        )
    ]
    if pockets:
        where = (Column("x", "length"), Column("y", "length"), Column("z", "length"))
        title = f"Pockets that keep fuel, tank {tank.name}: their lowest points in the mesh's axes"
        columns = (*ATTITUDE, Column("trapped", "volume"), *where)
        tables.append(Table(f"{tank.name}-pockets", title, columns, tuple(pockets), (), shown, paper=False))
    return [*tables, *phases(tank, left, shown), *_with_gaps_open(tank, left, shown)]


def _with_gaps_open(tank: TankStudy, left: Unusable, shown: Shown) -> list[Table]:
    """Unusable fuel with narrow gaps closed, which counts, and open, where that makes a difference."""
    if left.opened is None or not left.gaps_matter:
        return []
    pairs = zip(left.at, left.opened.at, strict=True)
    rows = tuple((*attitude_cells(at.attitude), at.unusable_m3, opened.unusable_m3) for at, opened in pairs)
    columns = (*ATTITUDE, Column("gaps closed", "volume"), Column("gaps open", "volume"))
    return [Table(f"{tank.name}-gaps", f"Unusable fuel of tank {tank.name} by narrow gaps", columns, rows, (), shown)]


def _part(tank: TankStudy) -> str:
    """Which part of the flow is drawn from a tank, where it is not all of it."""
    share = tank.tank.design.flow_share
    return "" if share == 1.0 else f" (this tank's flow share, {round(share * 100.0, 1):g} % of all)"


def switches(tank: TankStudy, shown: Shown) -> list[Table]:
    """Each switch: quantity, usable quantity and minutes at trip and reset, attitude by attitude."""
    left = tank.capacity.unusable
    if left is None:
        notes = (*told(tank.tank.cavity, shown), NO_OUTLET)
        return [
            Table(f"{tank.name}-switch-{slug(one.name)}", _titled(one.name, tank.name), ATTITUDE, (), notes, shown)
            for one in tank.tank.design.switch
        ]
    held = (*held_by_line(left, shown), *for_a_time(tank, shown))
    warnings = (*told(tank.tank.cavity, shown), *held, *covered(tank, shown), *narrow_gaps(tank, shown))
    return [_switch(switch, _part(tank), warnings, shown) for switch in tank.switches]


def _titled(switch: str, tank: str) -> str:
    return f'Low-level switch "{switch}", tank {tank}'


def _switch(switch: SwitchStudy, part: str, warnings: Sequence[str], shown: Shown) -> Table:
    rows = tuple(_trip(switch, at) for at in switch.at)
    columns = (
        *ATTITUDE,
        Column("trip", "volume"),
        Column("trip usable", "volume", rank=3),
        Column("trip", "time"),
        Column("latest", "time"),
        Column("latest here", "time", rank=3),
        Column("least", "time"),
        Column("reset", "volume", rank=5),
        Column("reset usable", "volume", rank=6),
        Column("reset", "time", rank=6),
        Column("remark"),
    )
    tolerance = "a mark low by its tolerance" if switch.tolerance_m else "no tolerance stated"
    worst = worst_flow(switch.outflow, shown)
    notes = [
        "Quantity in the tank, usable quantity and time left when it trips and when it resets (rising past mark and differential).",
        f"Latest: {tolerance}, all other pools drained.",
        f"Minutes at {shown.flow_text(switch.flow_m3_s)}{part}, above the unusable fuel of"
        f" {shown.text(switch.unusable_m3, 'volume')} (worst in flight).",
        "Latest here: the same trip above what is unusable at that attitude itself, for as long as it is held.",
        f"Least: the latest trip in the worst state. {as_read(worst)}{_at_full(switch, shown)}",
        *((NONE_LEFT,) if any((switch.minutes(at.latest_m3) or 0.0) < 0.0 for at in switch.at) else ()),
        *open_gaps(switch),
        *forever(switch),
        MINUTES,
    ]
    if switch.target_s:
        notes.insert(0, f"Target: {switch.target_s / 60:g} min.")
    notes = [*warnings, *((worst,) if isinstance(worst, Doubt) else ()), *notes]
    title = _titled(switch.name, switch.tank)
    return Table(f"{switch.tank}-switch-{slug(switch.name)}", title, columns, rows, tuple(notes), shown, appendix=True)


def _at_full(switch: SwitchStudy, shown: Shown) -> str:
    """The least minutes in flight at maximum continuous power."""
    if switch.at_full is None or switch.worst is None or switch.worst.latest_m3 is None:
        return ""
    least_s = switch.at_full.least_s(switch.worst.latest_m3 - switch.unusable_m3)
    burnt = shown.flow_text(switch.at_full.alone_m3_s)
    return (
        ""
        if least_s is None
        else f" At maximum continuous power, {burnt} burnt: {left_text(least_s / 60.0)} in flight."
    )


def _trip(switch: SwitchStudy, at: TripAt) -> tuple[Cell, ...]:
    if at.trip_m3 is None:
        return (*attitude_cells(at.attitude), "never trips", *(None,) * 8, at.why_never)
    remarks = ["normal"] if at.attitude.normal else []
    if at is switch.worst:
        remarks.append("worst in flight")
    if round(minutes := switch.minutes(at.latest_m3) or 0.0, 1) < 0.0:
        remarks.append(left_text(minutes))
    return (
        *attitude_cells(at.attitude),
        at.trip_m3,
        at.trip_m3 - switch.unusable_m3,
        _seconds(switch.minutes(at.trip_m3)),
        _seconds(switch.minutes(at.latest_m3)),
        _seconds(switch.minutes_here(at)),
        _seconds(switch.least_minutes(at.latest_m3)),
        at.reset_m3,
        None if at.reset_m3 is None else at.reset_m3 - switch.unusable_m3,
        _seconds(switch.minutes(at.reset_m3)),
        ", ".join(remarks),
    )


def _seconds(minutes: float | None) -> float | None:
    return None if minutes is None else minutes * 60.0


def placement(placed: Placement, unit_axes: str, shown: Shown) -> list[Table]:
    """Where a mark must sit, and what it then gives at each attitude."""
    basis = "guaranteed over the flight envelope" if placed.guaranteed else "at the normal flight attitude"
    title = f"Mark for {placed.target_s / 60:g} min in tank {placed.tank}, {basis}"
    where = (
        Column("mark x", "length"),
        Column("mark y", "length"),
        Column("mark z", "length"),
        Column("fuel left", "volume"),
        Column("to wall", "length"),
    )
    steady = " and ".join(
        f"{axis} {shown.text(float(at), 'length')}" for axis, at in zip("xy", placed.steady_m[:2], strict=True)
    )
    notes = (
        *narrow(placed.clearance_m, shown),
        f"In the mesh's axes ({unit_axes}), the switch's tolerance not included: raise the mark by it.",
        f"At this quantity a mark at {steady} has no first-order attitude error (the surface's centroid).",
        worst_flow(placed.outflow, shown),
        TO_WALL,
    )
    mark = (*(float(c) for c in placed.mark_m), placed.target_m3, placed.clearance_m)
    first = Table("placement", title, where, (mark,), notes, shown)
    rows = tuple((*attitude_cells(at.attitude), at.trip_m3, at.minutes * 60.0, at.mark_height_m) for at in placed.at)
    columns = (
        *ATTITUDE,
        Column("in tank at trip", "volume"),
        Column("left at trip", "time"),
        Column("z asked for here alone", "length"),
    )
    return [first, Table("placement-proof", "The chosen mark at each attitude", columns, rows, (MINUTES,), shown)]


def of_tank(study: Study, tank: TankStudy, shown: Shown, level_tables: Sequence[LevelTable] = ()) -> list[Table]:
    """All tables of one tank, in the order in which they are read."""
    tables = [capacity(study, tank, shown), *unusable(tank, shown), *switches(tank, shown)]
    if tank.dipstick:
        tables.append(stick_tables.dipstick(tank.tank, tank.dipstick, shown))
    return tables + [levels(tank.tank.cavity, table, shown) for table in level_tables]


def mesh_axes(tank: FittedTank) -> str:
    """The mesh's axes in words, for notes."""
    return f"{tank.design.mesh}: {tank.design.axes}"
