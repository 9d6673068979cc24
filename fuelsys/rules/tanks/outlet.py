"""Rules on outlets and their strainers."""

from __future__ import annotations

from collections.abc import Iterator
from math import pi

from fuelsys.model.built.ends import PortEnd
from fuelsys.model.built.layout import Cover
from fuelsys.model.found.findings import COMMON_PRACTICE, Reach, Source, Stake, Verdict
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.found.unusable import Unusable
from fuelsys.model.stated.fittings import Outlet
from fuelsys.rules.words import (
    NO_FITTINGS,
    area,
    area_up,
    at_least,
    before_64,
    caution,
    failed,
    flow,
    litres,
    millimetres,
    needs,
    not_asked,
    passed,
    rule,
)

INCH_M = 0.0254
LEAST_MESH_PER_M, MOST_MESH_PER_M = 8.0 / INCH_M, 16.0 / INCH_M  # 14 CFR 23.977
LEAST_AREA_RATIO = 5.0  # clear area of the strainer over that of the outlet's line: 14 CFR 23.977
_STRAINER = before_64("23.977", "read in the sister rules 25.977, 27.977 and 29.977")


def _outlets(study: Study) -> Iterator[tuple[str, TankStudy, Outlet]]:
    """Every outlet with its tank and what it is called in findings."""
    for tank in study.tanks:
        for outlet in tank.tank.design.outlet:
            yield f"{tank.name}.{outlet.name}", tank, outlet


@rule(
    subject="outlet",
    reach=Reach.INSIDE,
    stake=Stake.ENGINE,
    checks="Each tank has an outlet.",
    why="Without one no fuel leaves the tank, and nothing about unusable fuel or reserve minutes can be computed.",
    mend="Add the outlet: [[tank.outlet]] with its position and bore.",
    sources=(COMMON_PRACTICE,),
)
def outlet_missing(study: Study) -> Iterator[Verdict]:
    """A tank with no outlet at all."""
    for tank in study.tanks:
        names = ", ".join(outlet.name for outlet in tank.tank.design.outlet)
        if names:
            yield passed(tank.name, f"fuel leaves through {names}")
        elif not tank.tank.design.ports:
            yield needs(tank.name, NO_FITTINGS)
        else:
            yield failed(tank.name, f"no outlet is shown in a tank of {litres(tank.capacity.gross_m3)}")


@rule(
    subject="strainer",
    reach=Reach.INSIDE,
    stake=Stake.ENGINE,
    checks="Each outlet has a strainer (one at a booster pump's inlet in the tank counts as the outlet's).",
    why="Sealant, a rag or a dead insect that reaches the outlet stops the feed.",
    mend="Fit a finger strainer to the outlet and state its mesh, clear area and diameter.",
    sources=(_STRAINER,),
)
def strainer_missing(study: Study) -> Iterator[Verdict]:
    """An outlet without a strainer."""
    for where, _, outlet in _outlets(study):
        if outlet.strainer:
            yield passed(where, "a strainer is shown")
        else:
            yield failed(where, "no strainer is shown at it")


@rule(
    subject="strainer",
    reach=Reach.INSIDE,
    stake=Stake.WEAR,
    checks="The strainer of an outlet that feeds a piston engine has 8 to 16 meshes to the inch.",
    why="A coarser one passes what blocks a jet or a valve; a finer one blocks itself, with ice or lint.",
    mend="Fit a strainer of 8 to 16 meshes to the inch (3.1 to 6.3 to the centimetre).",
    sources=(_STRAINER,),
)
def strainer_mesh_out_of_range(study: Study) -> Iterator[Verdict]:
    """Meshes to the inch against 8 and 16."""
    for where, _, outlet in _outlets(study):
        if study.layout.design.aircraft.engine != "piston":
            yield not_asked(where, "8 to 16 meshes to the inch are asked for piston engines")
        elif outlet.strainer is None or outlet.strainer.mesh_per_m is None:
            yield needs(where, "the strainer's mesh")
        else:
            mesh = outlet.strainer.mesh_per_m
            evidence = f"{mesh * INCH_M:.3g} meshes to the inch"
            fits = LEAST_MESH_PER_M * (1 - 1e-9) <= mesh <= MOST_MESH_PER_M * (1 + 1e-9)
            yield passed(where, evidence) if fits else failed(where, evidence)


@rule(
    subject="strainer",
    reach=Reach.INSIDE,
    stake=Stake.WEAR,
    checks="The strainer's clear area is at least five times the bore area of the outlet or, if larger, of its feed line.",
    why="A strainer clogs by and by; with five times the area the flow outlasts the next cleaning.",
    mend="Fit a longer strainer.",
    sources=(_STRAINER,),
)
def strainer_area_small(study: Study) -> Iterator[Verdict]:
    """Clear area against five times the widest bore at the outlet."""
    for where, tank, outlet in _outlets(study):
        lines = study.layout.network.lines_at(PortEnd(tank.name, outlet.name), "feed")
        bores_m = [line.design.bore_m for line in lines] + ([outlet.bore_m] if outlet.bore_m else [])
        if outlet.strainer is None or outlet.strainer.clear_area_m2 is None:
            yield needs(where, "the strainer's clear area")
        elif not bores_m:
            yield needs(where, "the outlet's bore")
        else:
            area_m2, bore_m2 = outlet.strainer.clear_area_m2, pi / 4.0 * max(bores_m) ** 2
            evidence = (
                f"{area(area_m2)} clear, {area_m2 / bore_m2:.1f} times the {area(bore_m2)} of a bore"
                f" of {millimetres(max(bores_m))}"
            )
            mend = f"Fit a strainer with at least {area_up(LEAST_AREA_RATIO * bore_m2)} of clear area."
            fits = area_m2 >= LEAST_AREA_RATIO * bore_m2
            yield passed(where, evidence) if fits else failed(where, evidence, mend)


@rule(
    subject="strainer",
    reach=Reach.INSIDE,
    stake=Stake.WEAR,
    checks="The strainer's diameter is at least that of its outlet.",
    why="A strainer narrower than its outlet is itself the narrowest place of the line.",
    mend="Fit a wider strainer.",
    sources=(_STRAINER,),
)
def strainer_narrower_than_outlet(study: Study) -> Iterator[Verdict]:
    """Strainer diameter against outlet bore."""
    for where, _, outlet in _outlets(study):
        if outlet.strainer is None or outlet.strainer.diameter_m is None:
            yield needs(where, "the strainer's diameter")
        elif outlet.bore_m is None:
            yield needs(where, "the outlet's bore")
        else:
            evidence = f"the strainer is {millimetres(outlet.strainer.diameter_m)} wide, the outlet {millimetres(outlet.bore_m)}"
            mend = f"Fit a strainer at least {at_least(outlet.bore_m)} wide."
            fits = outlet.strainer.diameter_m >= outlet.bore_m
            yield passed(where, evidence) if fits else failed(where, evidence, mend)


@rule(
    subject="outlet",
    reach=Reach.PAPER,
    stake=Stake.MINUTES,
    checks="The design states the fuel that must stand over each outlet (cover), from a drain test or the strainer's own height.",
    why="A funnel of air reaches down to an outlet before the surface does; what is assumed without a test may be far off.",
    mend="Drain the tank, or a mock-up of it, at full flow, note how much fuel stands over the outlet when air comes, and state cover.",
    sources=(
        Source("ANSI/HI 9.8 (1998), S/D = 1 + 2.3 Fr, read at second hand"),
        Source("draw-down: Lubin and Springer, J. Fluid Mech. 29 (1967) 385, h = 0.69 (Q²/g)^(1/5)", from_memory=True),
        before_64("23.959(a)"),
    ),
)
def cover_not_stated(study: Study) -> Iterator[Verdict]:
    """What was assumed, and what it costs."""
    for tank in study.tanks:
        left = tank.capacity.unusable
        for name, cover in tank.tank.covers.items():
            where = f"{tank.name}.{name}"
            if cover.needs:
                lip = (
                    "what is assumed without it may be too little"
                    if cover.assumed
                    else "it counts as drawing fuel to its lip"
                )
                yield needs(where, f"cover, or {cover.needs}: {lip}")
            elif cover.assumed and left is not None and left.uncovered_m3 is not None:
                yield caution(
                    where,
                    f"none is stated; {millimetres(cover.height_m)} assumed for {flow(cover.flow_m3_s)}, the most it takes:"
                    f" {litres(left.volume_m3)} unusable in {tank.name}; {_dipped(cover, left)}and none {litres(left.uncovered_m3)}",
                )
            else:
                yield passed(where, f"{millimetres(cover.height_m)} are kept over it")


def _dipped(cover: Cover, left: Unusable) -> str:
    if left.dipped_m3 is None:
        return ""
    return f"a draw-down without whirl takes {millimetres(cover.dip_m)}, which leaves {litres(left.dipped_m3)}, "
