"""Mass and centre of gravity of fuel against its quantity, for the weight-and-balance sheet."""

from __future__ import annotations

from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.balance import Balanced, Loaded, Path, TankBalance, Weighed
from fuelsys.model.words import Quantity
from fuelsys.report.shown import Shown
from fuelsys.report.table import Cell, Column, Table
from fuelsys.report.tables.notes import told_of

_CENTRE = (
    Column("CG x", "length"), Column("CG y", "length"), Column("CG z", "length", rank=3),
    Column("moment x", "moment", rank=1), Column("moment y", "moment", rank=2),
)  # fmt: skip
_LEVEL = (
    "One level in each tank: fuel that stays in a pocket as the rest runs out stands elsewhere, and the rows near empty are off by"
    " that; unusable fuel is in the quantities."
)


def tank(layout: Layout, fitted: FittedTank, given: TankBalance, shown: Shown) -> Table:
    """One tank from full to empty."""
    columns = (Column("quantity", "volume"), Column("mass", "mass"), *_CENTRE)
    rows = tuple((float(row.held_m3[0]), *_cells(layout, row)) for row in given.rows)
    notes = (*told_of(fitted, shown), f"At {given.attitude.text}.", _axes(layout), _LEVEL)
    return Table(
        f"{given.tank}-balance", f"Fuel's mass and centre of gravity, tank {given.tank}", columns, rows, notes, shown
    )


def path(layout: Layout, given: Path, shown: Shown) -> Table:
    """All tanks as a flight empties them."""
    columns = (
        Column("quantity", "volume"), Column("mass", "mass"), *_CENTRE,
        *(Column(f"in {name}", "volume") for name in given.tanks),
    )  # fmt: skip
    rows = tuple(
        (float(row.held_m3.sum()), *_cells(layout, row), *(float(v) for v in row.held_m3)) for row in given.rows
    )
    parts = "; ".join(dict.fromkeys(f"{part.name} at {part.attitude.text}" for part in given.flown.parts))
    end = f"until the engine stops: {given.flown.stopped}" if given.flown.stopped else "until the flight ends"
    notes = (
        f"In the order in which the tanks feed as `fuelsys fly` computes it ({parts}), {end}.",
        *_furthest(layout, given, shown),
        _axes(layout),
        _LEVEL,
    )
    return Table("balance", "Path of the fuel's centre of gravity as it is burnt", columns, rows, notes, shown)


def _furthest(layout: Layout, given: Path, shown: Shown) -> list[str]:
    """Where the fuel's centre lies furthest forward, aft and to a side, and how that is used."""
    said = extremes(layout, given, shown)
    return (
        [*said, "The fuel's own CG: add the aircraft, crew and load, and look at each row, not at the ends alone."]
        if said
        else []
    )


def limits(given: Weighed, shown: Shown) -> Table:
    """The aircraft with each load, against its limits."""
    columns = (
        Column("load"),
        Column("furthest forward", "length", rank=1),
        Column("inside the forward limit", "length"),
        Column("with", "volume", name="fuel furthest forward"),
        Column("furthest aft", "length", rank=1),
        Column("inside the aft limit", "length"),
        Column("with", "volume", name="fuel furthest aft"),
        Column("heaviest", "mass", rank=1),
        Column("below the most", "mass"),
        Column("verdict"),
    )
    rows = tuple(
        (
            one.load.name,
            *(
                cell
                for margin, at in (one.forward, one.aft)
                for cell in (float(one.centre_m[at]), margin, float(one.held_m3[at]))
            ),
            one.most_kg,
            None if one.over_kg is None else -one.over_kg,
            verdict(one, given.needs),
        )
        for one in given.loads
    )
    notes = (
        "The aircraft as each [[load]] states it, with its fuel at its densest, at each moment of the stated flight and of one from full"
        " tanks, and without any."
        " Centres aft of the datum; inside: below zero it lies outside.",
        "As the tanks are emptied in these flights: fly others, with other fuel loaded, before you rely on it.",
    )
    return Table("balance-limits", "The aircraft's centre of gravity against its limits", columns, rows, notes, shown)


def verdict(one: Loaded, unknown: str) -> str:
    """Whether it is inside, and what is not known, of the load or of its fuel."""
    if one.outside:
        return "outside"
    wanted = ", ".join(filter(None, (one.needs, unknown)))
    return f"not known: needs {wanted}" if wanted else "inside"


def extremes(layout: Layout, given: Path, shown: Shown) -> list[str]:
    """Where the fuel's centre lies furthest forward and aft, and where it pulls most to a side, with how much there is then."""
    said = []
    for way, one in (("forward", given.forward), ("aft", given.aft)):
        if one is not None and one.centre_m is not None:
            at = Quantity("length", tuple(float(c) for c in layout.aircraft_m(one.centre_m)))
            held = Quantity("volume", (float(one.held_m3.sum()),))
            said.append(shown.words((f"Furthest {way} at ", at, " with ", held, " in all.")))
    if given.sideways is not None and given.sideways.centre_m is not None:
        held_m3, y_m = float(given.sideways.held_m3.sum()), float(given.sideways.centre_m[1])
        moment = shown.text(abs(held_m3 * layout.design.fuel.density_kg_m3 * y_m), "moment")
        side = "right" if y_m > 0.0 else "left"
        said.append(
            f"It pulls most to a side with {moment} to the {side}, {shown.text(held_m3, 'volume')} in all; the middle plane is"
            " taken to pass through the datum."
        )
    return said


def _axes(layout: Layout) -> str:
    aircraft, density = layout.design.aircraft, layout.design.fuel.density_kg_m3
    return f"CG in the aircraft's axes ({aircraft.axes}) from {aircraft.datum}; mass at {density / 1e3:.3f} kg/L, the density stated."


def _cells(layout: Layout, row: Balanced) -> tuple[Cell, ...]:
    mass = float(row.held_m3.sum()) * layout.design.fuel.density_kg_m3
    centre = (None, None, None) if row.centre_m is None else tuple(float(c) for c in layout.aircraft_m(row.centre_m))
    moments = (0.0, 0.0) if row.centre_m is None else tuple(mass * (c or 0.0) for c in centre[:2])
    return (mass, *centre, *moments)
