"""What a tank holds, as a table, and what is said of its cavity."""

from __future__ import annotations

from fuelsys.arrays import Floats
from fuelsys.model.built.cavity import Cavity, Taken
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.words import Doubt, Quantity
from fuelsys.report.shown import Shown
from fuelsys.report.table import Cell, Column, Table
from fuelsys.report.tables.exchange import keeps
from fuelsys.report.tables.notes import covered, for_a_time, held_by_line, narrow_gaps

_CENTRE = tuple(Column(f"CG {axis}", "length", rank=3) for axis in "xyz")
_CUT_OFF = "no line can bring it to the engine"
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
            row(
                taken_words(taken, shown),
                -taken.volume_m3,
                None,
                taken_way(taken),
                fuel=False,
            )
            for taken in cavity.taken
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
    rows.append(row("usable", held.usable_m3, held.usable_centre_m, _CUT_OFF if held.cut_off else ""))
    columns = (
        Column("what"),
        Column("volume", "volume"),
        Column("of gross", "share", rank=1),
        Column("mass", "mass", rank=2),
        *_CENTRE,
        Column("holds at"),
    )
    notes = _notes(study, tank, shown)
    return Table(f"{tank.name}-capacity", f"Capacity of tank {tank.name}", columns, tuple(rows), notes, shown)


def _notes(study: Study, tank: TankStudy, shown: Shown) -> tuple[str, ...]:
    """What stands below the table: at what the figures hold, and why one may be wrong."""
    layout, held, cavity = study.layout, tank.capacity, tank.tank.cavity
    asked = layout.design.normal("ground").sign_in_doubt
    axes = f"Centres of gravity (CG) in the aircraft's axes ({layout.design.aircraft.axes}) from {layout.design.aircraft.datum}."
    stands = f"Fillable at {layout.design.normal('ground').text}"
    stands += f"; unusable at the worst flight attitude, {held.unusable.worst.attitude.text}." if held.unusable else "."
    over = held_by_line(held.unusable, shown) if held.unusable else ()
    over += for_a_time(tank, shown)
    return (
        *([Doubt(f"{asked}.")] if asked else []),
        *tank.tank.remarks,
        *keeps(study.exchange, tank.name, shown),
        *covered(tank, shown),
        stands,
        axes,
        facets_note(cavity, shown),
        *over,
        *narrow_gaps(tank, shown),
        *cavity_notes(cavity, shown),
    )


def _unusable_called(tank: TankStudy) -> str:
    """Unusable fuel, with the word for it where a test decides the figure and not the drawing."""
    left, measured_m3 = tank.capacity.unusable, tank.tank.design.measured_unusable_m3
    return "unusable, measured" if left and measured_m3 == left.volume_m3 > left.worst.unusable_m3 else "unusable"


def taken_way(taken: Taken) -> str:
    """Whether it makes less of the mesh, or, as a test may find, more."""
    return "added" if taken.volume_m3 < 0.0 else "taken off"


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
