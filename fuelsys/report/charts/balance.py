"""How the fuel's centre of gravity moves as it is burnt, each tank alone and all together, and what it does to the wings' balance."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.balance import Balanced, Loaded, Path, TankBalance
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Figure, MaxNLocator
from fuelsys.report.drawing.ink import Chart
from fuelsys.report.shown import Shown
from fuelsys.report.tables.balance import extremes

_LEFT, _WIDE = 15.0, 104.0
_HIGH, _ASIDE_HIGH, _GAP_MM = 70.0, 46.0, 22.0
_NAMES_MM = _LEFT + _WIDE + 5.0
_STYLES: tuple[tuple[str, str | tuple[float, tuple[float, ...]]], ...] = (
    (ink.FUEL_LINE, "-"), (ink.TRAPPED, (0.0, (5.0, 1.5))), (ink.GREY, (0.0, (1.5, 1.2))),
    (ink.TRAPPED_LINE, (0.0, (7.0, 1.5, 1.5, 1.5))), (ink.FUEL_LINE, (0.0, (2.5, 1.2))),
)  # fmt: skip


def balance(
    layout: Layout, tanks: Sequence[TankBalance], path: Path | None, shown: Shown, loads: Sequence[Loaded] = ()
) -> Figure:
    """Mass against the fuel's centre along the aircraft; below, where all tanks are, against its moment to a side.

    Below that the aircraft with each load, between its limits, where the design states loads.
    """
    notes = _notes(layout, tanks, path, shown)
    foot = 5.0 + ink.LINE_MM * sum(len(ink.wrapped(note, ink.WIDTH_MM - _LEFT, ink.SMALL_PT)) for note in notes)
    aside = 0.0 if path is None else _ASIDE_HIGH + _GAP_MM
    below = _ASIDE_HIGH + _GAP_MM if loads else 0.0
    height = foot + 12.0 + below + aside + _HIGH + 12.0
    figure, paper = ink.sheet(ink.WIDTH_MM, height)
    paper.set_zorder(2)
    ink.write(paper, 0.0, height - 5.0, "The fuel's centre of gravity as it is burnt", size=ink.HEAD_PT, weight="bold")
    main = Chart.on(figure, paper, (_LEFT, foot + 12.0 + below + aside, _WIDE, _HIGH))
    _along(main, layout, tanks, path, shown)
    if path is not None:
        _sideways(Chart.on(figure, paper, (_LEFT, foot + 12.0 + below, _WIDE, _ASIDE_HIGH)), layout, path, shown)
    if loads:
        _limits(Chart.on(figure, paper, (_LEFT, foot + 12.0, _WIDE, _ASIDE_HIGH)), loads, shown)
    ink.footing(paper, _LEFT, 4.0, notes, ink.WIDTH_MM - _LEFT)
    return figure


def _notes(layout: Layout, tanks: Sequence[TankBalance], path: Path | None, shown: Shown) -> list[str]:
    at = ink.minus(tanks[0].attitude.text)
    notes = [f"Each tank alone: from full to empty at {at}. x from {layout.design.aircraft.datum}."]
    if path is not None:
        notes += [
            "All together: in the order in which a flight empties them, a dot for each row of the table.",
            *(ink.minus(said) for said in extremes(layout, path, shown)),
        ]
    return [
        *notes,
        "The fuel's own centre: add the aircraft, crew and load, and hold it against the limits of the aircraft.",
    ]


def _points(layout: Layout, rows: Sequence[Balanced], axis: int) -> tuple[Floats, Floats]:
    """Masses and centres along a body axis (k,), of the rows in which there is fuel."""
    some = [(float(row.held_m3.sum()), float(row.centre_m[axis])) for row in rows if row.centre_m is not None]
    volumes, centres = np.array(some).reshape(-1, 2).T
    return volumes * layout.design.fuel.density_kg_m3, centres


def _draw(
    chart: Chart, points: tuple[Floats, Floats], shown: Shown, *, color: str, dash: str | tuple[float, tuple[float, ...]],
    pt: float, kind: str = "length",
) -> None:  # fmt: skip
    """A line through masses and what goes with them, or a dot at each, where it has no width."""
    ys, xs = ([shown.value(float(v), of) for v in values] for values, of in zip(points, ("mass", kind), strict=True))
    dot = None if pt else "o"
    chart.axes.plot(xs, ys, color=color, linestyle=dash, linewidth=pt, marker=dot, markersize=2.8)


def _along(chart: Chart, layout: Layout, tanks: Sequence[TankBalance], path: Path | None, shown: Shown) -> None:
    """The centre's way fore and aft, with the names of its lines beside it."""
    lines = [(f"tank {one.tank}", one.rows, *_STYLES[k % len(_STYLES)], 1.0) for k, one in enumerate(tanks)]
    if path is not None:
        lines.append(("all together", path.course, ink.INK, "-", 1.4))
        _draw(chart, _points(layout, path.rows, 0), shown, color=ink.INK, dash="none", pt=0.0)
    for _, rows, color, dash, pt in lines:
        _draw(chart, _points(layout, rows, 0), shown, color=color, dash=dash, pt=pt)
    _named(chart, [(name, color, dash, pt) for name, _, color, dash, pt in lines])
    chart.axes.margins(0.06)
    chart.axes.set_ylim(bottom=0.0)
    chart.axes.xaxis.set_major_locator(MaxNLocator(7))
    chart.axes.grid(color=ink.FAINT, linewidth=0.3)
    chart.name_axes(shown.named("centre, aft of the datum", "length"), shown.named("fuel", "mass"))


def _named(chart: Chart, lines: Sequence[tuple[str, str, str | tuple[float, tuple[float, ...]], float]]) -> None:
    """The names of a chart's lines beside it."""
    y_mm = chart.box_mm[1] + chart.box_mm[3] - 2.0
    for name, color, dash, pt in lines:
        sign = np.array([[_NAMES_MM, y_mm], [_NAMES_MM + 8.0, y_mm]])
        chart.paper.plot(sign[:, 0], sign[:, 1], color=color, linewidth=pt, linestyle=dash, clip_on=False)
        for line in ink.wrapped(name, ink.WIDTH_MM - _NAMES_MM - 10.0, ink.SMALL_PT):
            ink.write(chart.paper, _NAMES_MM + 9.5, y_mm - 1.0, line, size=ink.SMALL_PT)
            y_mm -= ink.LINE_MM
        y_mm -= 1.2


def _limits(chart: Chart, loads: Sequence[Loaded], shown: Shown) -> None:
    """The aircraft's mass against its centre as fuel is burnt, with each load, between what limits it."""
    lines = [(f"{one.load.name}; thick: its limits", *_STYLES[k % len(_STYLES)], 1.2) for k, one in enumerate(loads)]
    masses = np.concatenate([one.mass_kg for one in loads])
    low, high = (shown.value(float(v), "mass") for v in (0.97 * masses.min(), 1.03 * masses.max()))
    for one, (_, color, dash, pt) in zip(loads, lines, strict=True):
        _draw(chart, (one.mass_kg, one.centre_m), shown, color=color, dash=dash, pt=pt)
        for limit_m in (one.load.forward_limit_m, one.load.aft_limit_m):
            if limit_m is not None:
                chart.axes.axvline(shown.value(limit_m, "length"), color=color, linewidth=2.0, linestyle=dash)
        if one.load.most_mass_kg is not None:
            high = max(high, 1.01 * shown.value(one.load.most_mass_kg, "mass"))
            chart.axes.axhline(shown.value(one.load.most_mass_kg, "mass"), color=color, linewidth=2.0, linestyle=dash)
    _named(chart, lines)
    chart.axes.margins(x=0.08)
    chart.axes.set_ylim(low, high)
    chart.axes.xaxis.set_major_locator(MaxNLocator(7))
    chart.axes.grid(color=ink.FAINT, linewidth=0.3)
    chart.name_axes(
        shown.named("the aircraft's centre, aft of the datum", "length"), shown.named("the aircraft", "mass")
    )


def _sideways(chart: Chart, layout: Layout, path: Path, shown: Shown) -> None:
    """The moment that the fuel of all tanks has about the middle plane, against its mass."""
    masses, centres = _points(layout, path.course, 1)
    _draw(chart, (masses, masses * centres), shown, color=ink.INK, dash="-", pt=1.4, kind="moment")
    reach = 1.15 * max(float(np.abs(masses * centres).max(initial=0.0)), 1e-3)
    reach, most = shown.value(reach, "moment"), shown.value(1.06 * float(masses.max(initial=1.0)), "mass")
    masses, centres = _points(layout, path.rows, 1)
    _draw(chart, (masses, masses * centres), shown, color=ink.INK, dash="none", pt=0.0, kind="moment")
    chart.axes.set(xlim=(-reach, reach), ylim=(0.0, most))
    chart.axes.axvline(0.0, color=ink.GREY, linewidth=0.6)
    chart.axes.xaxis.set_major_locator(MaxNLocator(7))
    chart.axes.grid(color=ink.FAINT, linewidth=0.3)
    chart.name_axes(
        shown.named("moment to the left (−) or right (+), all together", "moment"), shown.named("fuel", "mass")
    )
