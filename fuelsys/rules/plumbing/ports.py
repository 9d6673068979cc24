"""Rules on a tank's ports as they are stated: that lines join them, that they are as wide as these, that they stand right."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fuelsys.model.built.ends import PlacedLine, PortEnd
from fuelsys.model.found.findings import COMMON_PRACTICE, Reach, Stake, Verdict
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.stated.components import CheckValve
from fuelsys.model.stated.design import LineKind
from fuelsys.model.stated.fittings import Inlet, Outlet, Port
from fuelsys.rules.shared import against
from fuelsys.rules.words import (
    NO_FITTINGS,
    at_least,
    caution,
    failed,
    litres,
    millimetres,
    needs,
    not_asked,
    passed,
    place,
    rule,
)

DRAWING: tuple[LineKind, ...] = ("feed", "interconnect")  # lines by which fuel leaves an outlet


@rule(
    subject="port",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="A line joins every outlet, vent, return and inlet of a tank; by an outlet fuel leaves through a feed or an"
    " interconnect line, by an inlet it comes in: feed lines run from `from` to `to`, as a check valve on them lets fuel pass."
    " Fillers and drains need none.",
    why="An outlet counts as drawing fuel, joined or not: one that draws none makes unusable fuel too small and minutes too"
    " many. Any other open port lets fuel or vapour into the aircraft.",
    mend="List the line that joins it, or take the port out of the design file if it is plugged.",
    sources=(COMMON_PRACTICE,),
)
def port_not_connected(study: Study) -> Iterator[Verdict]:
    """Ports against the ends of the lines; a fail for outlets, which the figures count on, else a caution."""
    for tank in study.tanks:
        design = tank.tank.design
        joinable: tuple[Port, ...] = (*design.outlet, *design.vent, *design.return_to, *design.inlet)
        if not design.ports:
            yield needs(tank.name, NO_FITTINGS)
        elif not joinable:
            yield not_asked(tank.name, "it has only a filler or drains, which no line joins")
        for port in joinable:
            yield _joined(study, tank, port)


def _joined(study: Study, tank: TankStudy, port: Port) -> Verdict:
    end = PortEnd(tank.name, port.name)
    where = str(end)
    if not study.layout.lines:
        return needs(where, "the lines: the design lists none")
    lines = study.layout.network.lines_at(end)
    turned = [line for line in lines if end in against(study, line)]
    right = [
        line.name for line in lines if line not in turned and (not isinstance(port, Outlet) or line.kind in DRAWING)
    ]
    if turned and (isinstance(port, Inlet) or not right):
        return _turned(study, where, turned)
    if right:
        return passed(where, f"joined by {', '.join(right)}")
    at = place(tank.tank, tank.tank.body_m(port.position_m))
    if not isinstance(port, Outlet):
        return caution(where, f"no line joins it, at {at}")
    wrong = " and ".join(f"{line.name}, which is of kind {line.kind}" for line in lines)
    evidence = f"it is joined only by {wrong}" if wrong else f"no line joins it, at {at}"
    if tank.capacity.unusable is not None:
        evidence += (
            f"; the {litres(tank.capacity.unusable.volume_m3)} unusable of {tank.name} count on its drawing fuel"
        )
    return failed(where, evidence, "List the feed line from it, or take the outlet out of the design file.")


def _turned(study: Study, where: str, lines: Sequence[PlacedLine]) -> Verdict:
    evidence = "; ".join(_runs(study, line) for line in lines)
    mend = "Change from and to in the design where it is drawn the wrong way round; if a valve is fitted so, turn it."
    return failed(where, evidence, mend)


def _runs(study: Study, line: PlacedLine) -> str:
    parts = [study.layout.network.component(end) for end in (line.start, line.end)]
    valves = [part.name for part in parts if isinstance(part, CheckValve)]
    shut = f", and {' and '.join(valves)} lets fuel pass that way only" if valves else ""
    to = "a tank" if line.kind == "return" else "an engine"
    return f"{line.name} runs from {line.start} to {line.end}{shut}: no fuel comes by it to {to}"


@rule(
    subject="outlet",
    reach=Reach.INSIDE,
    stake=Stake.WEAR,
    checks="Each outlet is as wide inside as the widest feed or interconnect line that joins it.",
    why="What is narrower than its line throttles the flow just where the head of fuel is least, and the line's bore, which the"
    " flow was reckoned with, is not there.",
    mend="Fit a wider outlet.",
    sources=(COMMON_PRACTICE,),
)
def outlet_narrower_than_line(study: Study) -> Iterator[Verdict]:
    """Bore of the outlet against that of its lines."""
    for tank in study.tanks:
        for outlet in tank.tank.design.outlet:
            end = PortEnd(tank.name, outlet.name)
            where = str(end)
            lines = [line for kind in DRAWING for line in study.layout.network.lines_at(end, kind)]
            if not lines:
                yield needs(where, "a feed line from it: none is listed")
                continue
            if outlet.bore_m is None:
                yield needs(where, "the outlet's bore")
                continue
            widest = max(lines, key=lambda line: line.bore_m)
            evidence = (
                f"the outlet is {millimetres(outlet.bore_m)} wide inside, {widest.name} {millimetres(widest.bore_m)}"
            )
            if outlet.bore_m >= widest.bore_m * (1 - 1e-9):
                yield passed(where, evidence)
            else:
                yield caution(where, evidence, f"Fit an outlet of at least {at_least(widest.bore_m)} inside.")


@rule(
    subject="outlet",
    reach=Reach.PAPER,
    stake=Stake.ENGINE,
    checks="At the normal ground attitude each outlet stands below every vent and the filler of its tank.",
    why="Where it does not, most often the axes, a sign or two places in the design file are wrong, and with them every figure"
    " of the tank.",
    mend="Look at the tank's axes and at the signs of these places.",
    sources=(COMMON_PRACTICE,),
)
def outlet_above_vent(study: Study) -> Iterator[Verdict]:
    """Levels along up: a fail where an outlet stands above all of them, a caution where above some."""
    attitude = study.layout.design.normal("ground")
    for tank in study.tanks:
        design = tank.tank.design
        tops: list[Port] = [*design.vent, *([design.filler] if design.filler else [])]
        for outlet in design.outlet:
            where = f"{tank.name}.{outlet.name}"
            if not tops:
                yield needs(where, "a vent or a filler of the tank")
                continue
            level_m = tank.tank.level_m(outlet.name, attitude.up)
            above_m = {port.name: level_m - tank.tank.level_m(port.name, attitude.up) for port in tops}
            name = max(above_m, key=above_m.__getitem__)
            over = [port for port in above_m if above_m[port] >= 0.0]
            stands = f"at {attitude.text} it stands {millimetres(abs(above_m[name]))}"
            if not over:
                lowest = f", the lowest of {', '.join(above_m)}" if len(above_m) > 1 else ""
                yield passed(where, f"{stands} below {name}{lowest}")
                continue
            others = ", ".join(port for port in over if port != name)
            evidence = f"{stands} above {name}" + (f", and above {others}" if others else "")
            mend = (
                f'See whether axes = "{design.axes}" and the signs of the places of {outlet.name} and {name} are right; if'
                f" they are, move the outlet down by more than {at_least(above_m[name])}."
            )
            yield failed(where, evidence, mend) if len(over) == len(above_m) else caution(where, evidence, mend)
