"""All drawings of a study, by the tank that they show and by title; as figures, and as SVG for a page or a file."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import NamedTuple

from fuelsys.arrays import Floats
from fuelsys.model.found.findings import Finding
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.report.charts import arrangement, dipstick, fly, levels, switches
from fuelsys.report.charts import map as map_chart
from fuelsys.report.charts import plumbing as plumbing_views
from fuelsys.report.charts import unusable as unusable_chart
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Figure
from fuelsys.report.drawing.pins import Pin, pins
from fuelsys.report.drawing.shades import Shades
from fuelsys.report.shown import Shown

FLIGHT = "Flight with nothing wrong"
_QUIET = 0.05  # of what a tank holds; chosen here, no source


class UnusableMap(NamedTuple):
    """Unusable fuel (p, r) of a tank over pitches (p,) and rolls (r,), from fuelsys/analysis/sweeping/map.py."""

    pitches_rad: Floats
    rolls_rad: Floats
    unusable_m3: Floats


def figures(
    study: Study, maps: Mapping[str, UnusableMap], shown: Shown, findings: Sequence[Finding] = ()
) -> dict[str, dict[str, Figure]]:
    """Every drawing by tank ("" for the whole aircraft) and title; a tank that is not in maps gets no map.

    Numbers of open findings, in the order in which they come, stand at their places.
    """
    pinned = pins(study.layout, findings)
    litres = scale(study.tanks, maps, shown)
    of_tanks = {tank.name: of_tank(study, tank, maps.get(tank.name), shown, litres, pinned) for tank in study.tanks}
    usual = study.failures.usual if study.failures else None
    flown = {FLIGHT: fly.timeline(usual, shown)} if usual else {}
    return {**of_tanks, "": {**plumbing_views.plumbing(study.layout, shown, pinned), **flown}}


def scale(tanks: Sequence[TankStudy], maps: Mapping[str, UnusableMap], shown: Shown) -> Shades:
    """One scale of shades for what stays in any of some tanks, so that the loudest stands for the largest loss of all."""
    held = [float(volume_m3) for one in maps.values() for volume_m3 in (one.unusable_m3.min(), one.unusable_m3.max())]
    held += [at.sustained_m3 for tank in tanks if tank.capacity.unusable for at in tank.capacity.unusable.at]
    return Shades.of(shown.value(min(held, default=0.0), "volume"), shown.value(max(held, default=0.0), "volume"))


def quiet(study: Study, maps: Mapping[str, UnusableMap], shown: Shown) -> dict[str, float]:
    """Tanks in which so little stays anywhere on their maps and at each attitude that all of it has one shade; with the most, in m³."""
    first = scale(study.tanks, maps, shown).steps[1] / shown.value(1.0, "volume")
    found = {}
    for tank in study.tanks:
        if tank.name in maps and tank.capacity.unusable:
            held = [at.sustained_m3 for at in tank.capacity.unusable.at]
            most_m3 = max(float(maps[tank.name].unusable_m3.max()), *held)
            if most_m3 < min(first, _QUIET * tank.capacity.gross_m3):
                found[tank.name] = most_m3
    return found


def of_tank(
    study: Study,
    tank: TankStudy,
    unusable: UnusableMap | None,
    shown: Shown,
    litres: Shades | None = None,
    pinned: Sequence[Pin] = (),
) -> dict[str, Figure]:
    """The drawings of one tank, in the order in which they are read; those that need what is not stated are left out.

    litres is the scale of shades that all tanks share; the tank's own without it.
    """
    litres = litres or scale([tank], {} if unusable is None else {tank.name: unusable}, shown)
    normal = study.layout.design.normal("flight")
    found = {"Arrangement": arrangement.arrangement(tank.tank, normal, shown, litres, pinned)}
    minutes = switches.switch_chart(tank)
    if minutes is not None:
        found["Minutes left when each switch trips"] = minutes
    if unusable is not None:
        found["Unusable fuel over pitch and roll"] = map_chart.unusable_map(tank, *unusable, shown, litres)
    found["Volume against level"] = levels.volume_curves(study, tank, shown)
    found |= _numbered("Fuel that stays at each attitude", unusable_chart.attitudes(tank, shown, litres))
    if tank.faces:
        found |= _numbered("Dipstick, full size", dipstick.dipstick(tank.tank, tank.faces, shown))
    return found


def _numbered(title: str, sheets: Sequence[Figure]) -> dict[str, Figure]:
    """Several sheets under one title."""
    if len(sheets) == 1:
        return {title: sheets[0]}
    return {f"{title}, sheet {number} of {len(sheets)}": sheet for number, sheet in enumerate(sheets, 1)}


def as_svg(drawn: Mapping[str, Mapping[str, Figure]]) -> dict[str, dict[str, str]]:
    """The same drawings as SVG text."""
    return {name: {title: ink.svg_text(figure) for title, figure in group.items()} for name, group in drawn.items()}
