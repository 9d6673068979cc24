"""Tables of a gauge: its calibration, what it shows wrong at each attitude, and what to expect while the tank is filled."""

from __future__ import annotations

from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.gauge import Calibration
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.table import Cell, Column, Table
from fuelsys.report.tables.notes import told, told_of
from fuelsys.report.tables.shared import ATTITUDE, attitude_cells, slug

LEAST_BLIND_M3 = 1e-6  # less than a millilitre is not told of
_COMPUTED = (
    "Computed at steady attitudes, drained from full: the gauge's own electrics, temperature, the fuel's kind and slosh are not in"
    " it. Pour measured steps on the finished aircraft and correct it."
)


def gauge(tank: FittedTank, found: Calibration, shown: Shown) -> list[Table]:
    """All tables of one gauge, in the order of work."""
    return [_points(tank, found, shown), _pours(tank, found, shown), _errors(found, shown)]


def name(found: Calibration) -> str:
    """A gauge with its tank, for titles."""
    return f'gauge "{found.gauge.name}", tank {found.gauge.tank}'


def _key(found: Calibration, what: str) -> str:
    return f"{found.gauge.tank}-gauge-{slug(found.gauge.name)}-{what}"


def _signal(found: Calibration) -> Column:
    return Column("step", "number") if found.gauge.steps else Column("signal", "share")


def _cell(found: Calibration, signal: float | None) -> float | None:
    """A signal as it is shown: a share, or the number of switches."""
    return None if signal is None else float(round(signal * found.gauge.steps)) if found.gauge.steps else signal


def _points(tank: FittedTank, found: Calibration, shown: Shown) -> Table:
    columns = (
        _signal(found),
        Column("set to, usable", "volume"),
        Column("poured in all", "volume"),
        Column("pour", "volume"),
    )
    rows: list[tuple[Cell, ...]] = []
    before: float | None = 0.0
    for point in found.points:
        more = None if None in (point.poured_m3, before) else (point.poured_m3 or 0.0) - (before or 0.0)
        rows.append((_cell(found, point.signal), point.usable_m3, point.poured_m3, more))
        before = point.poured_m3
    title = f"Calibration of {name(found)}: {len(found.points)} points"
    notes = (
        *told_of(tank, shown),
        *_warnings(found, shown),
        *_basis(found, shown),
        *_pouring(found, shown),
        _COMPUTED,
    )
    return Table(_key(found, "points"), title, columns, tuple(rows), notes, shown)


def _warnings(found: Calibration, shown: Shown) -> list[str]:
    told: list[str] = []
    if found.gauge.barriers:
        first = found.gauge.barriers[0]
        where = ", ".join(shown.figure(float(c), "length") for c in first.at_m)
        told.append(
            Doubt(
                f"it passes through a wall, a rib or a body at ({where}) {shown.written('length')} of the mesh: it senses"
                " nothing there."
            )
        )
    elif found.gauge.skipped > 0.0:
        share = shown.text(found.gauge.skipped, "share")
        told.append(Doubt(f"{share} of its way lies outside the cavity, in a wall, a rib or a body."))
    if found.blind_below_m3 > LEAST_BLIND_M3:
        told.append(
            Doubt(
                f"at the normal flight attitude it stands still while the last {shown.text(found.blind_below_m3, 'volume')}"
                " of usable fuel run out: it shows 0 meanwhile."
            )
        )
    if found.blind_above_m3 > LEAST_BLIND_M3:
        told.append(
            f"It stands still at its top for the first {shown.text(found.blind_above_m3, 'volume')} of a full tank."
        )
    return told


def _basis(found: Calibration, shown: Shown) -> list[str]:
    at = found.gauge.normal.attitude.text
    zero = (
        f"It shows usable fuel: 0 with the unusable fuel of {shown.text(found.gauge.unusable_m3, 'volume')} (worst in flight) in"
        f" the tank in level flight, which is {at} here, as 14 CFR 23.1337(b)(1) asked before amendment 23-64."
    )
    reached, asked = (shown.text(v, "volume") for v in (found.reached_m3, found.allowed_m3))
    few = "The fewest points, chosen on the curve " + (
        "at its steps" if found.gauge.steps else "at quarters of a per cent"
    )
    told = [zero, f"{few}, between which straight lines stay within {reached} there; {asked} were asked for."]
    if found.gauge.steps:
        told.append(
            f"A step stands for the least that may be left while it is shown: up to {shown.text(found.step_m3, 'volume')} more"
            " are in the tank. The float's own height and lag are not in it."
        )
    return told


def _pouring(found: Calibration, shown: Shown) -> list[str]:
    told = [f"Poured: into the empty tank, standing at {found.ground.text}."]
    if found.apart_below_m3 > LEAST_BLIND_M3:
        told.append(
            f"Below {shown.text(found.apart_below_m3, 'volume')} the tank falls into pools there, and what is poured may stand in"
            " any of them: not computed (–). Level the aircraft, or pour until they are one."
        )
    if found.trapped_air_m3 > LEAST_BLIND_M3:
        told.append(
            f"Up to {shown.text(found.trapped_air_m3, 'volume')} of air stay trapped in filling: the surface then stands higher"
            " than computed."
        )
    return told


def _pours(tank: FittedTank, found: Calibration, shown: Shown) -> Table:
    columns = (Column("poured in all", "volume"), _signal(found), Column("shows, usable", "volume"))
    rows = tuple((pour.quantity_m3, _cell(found, pour.signal), pour.shown_m3) for pour in found.pours)
    title = f"Signal to expect while pouring, {name(found)}, at {found.ground.text}"
    notes = (*told(tank.cavity, shown), *_pouring(found, shown))
    return Table(_key(found, "pouring"), title, columns, rows, notes, shown)


def _errors(found: Calibration, shown: Shown) -> Table:
    columns = (
        *ATTITUDE,
        Column("shows too much by up to", "volume"),
        Column("with in the tank", "volume", rank=4),
        Column("shows too little by up to", "volume"),
        Column("then with in the tank", "volume", rank=4),
        Column("blind at the bottom", "volume", rank=1),
        Column("blind at the top", "volume", rank=1),
        Column("remark"),
    )
    rows = []
    for error, at in zip(found.errors, found.gauge.at, strict=True):
        (much_at, much), (little_at, little) = error.most, error.least
        top_m3 = max(0.0, found.gauge.filled_m3 - max(at.least.seen_to, at.left_m3))
        told = [*(["normal"] if error.attitude.normal else []), *([] if at.least.sees else ["does not move"])]
        rows.append(
            (
                *attitude_cells(error.attitude),
                *((much, much_at) if much > LEAST_BLIND_M3 else (0.0, None)),
                *((-little, little_at) if little < -LEAST_BLIND_M3 else (0.0, None)),
                at.blind_below_m3,
                top_m3,
                ", ".join(told),
            )
        )
    notes = (
        "What the gauge, so calibrated, shows against the usable fuel in the tank: what is in it less the unusable fuel, and never"
        " less than 0. From full down to what stays behind at that attitude.",
        "Blind: what runs out, or may be missing from full, while its signal does not change.",
    )
    title = f"Errors by attitude, {name(found)}"
    return Table(_key(found, "errors"), title, columns, tuple(rows), notes, shown)
