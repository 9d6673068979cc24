"""The rule on the pressure that a return line puts on the pump or the injection that sends the fuel back."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.model.found.findings import COMMON_PRACTICE, Reach, Stake, Verdict
from fuelsys.model.found.flow import AtReturn
from fuelsys.model.found.study import Study
from fuelsys.model.stated.components import Engine
from fuelsys.rules.plumbing.breathing import LAWS
from fuelsys.rules.shared import components, end_at, loose
from fuelsys.rules.words import before_64, caution, failed, flow, needs, not_asked, passed, pressure, rule


@rule(
    subject="return",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="Where the engine sends fuel back, no more pressure stands than its return may get (most_return_pressure): what drives the"
    " return flow by the line into a full tank, at the flight attitude that makes it most, filters half blocked. Throttled, the greatest"
    " flow comes back too: more then is a caution. What a return may get stands in the engine maker's installation manual; none is"
    " assumed.",
    why="Pressure in the return adds to that of pump, regulator and injection: mixture and power change, a diaphragm or a return hose"
    " bursts, or a carburettor runs over.",
    mend="Use a wider or a shorter return line, gentler bends, or a filter with less drop.",
    sources=(before_64("23.951(a)"), LAWS, COMMON_PRACTICE),
)
def return_pressure_too_high(study: Study) -> Iterator[Verdict]:
    """The pressure of each way of a return against what the engine states; all by one way, which is the most."""
    for engine in components(study, Engine):
        own = [one for one in study.flows.returns if one.engine == end_at(engine)]
        if engine.return_flow_m3_s == 0.0 or not (engine.return_flow_m3_s or own):
            yield not_asked(engine.name, "the design states no fuel that comes back from it")
        elif study.flows.missing and not own:
            yield needs(engine.name, study.flows.missing[0].needs)
        elif not own:
            yield needs(engine.name, "a return line from it to a tank: see return-missing")
        for one in own:
            yield _at_start(engine, one)
    yield from loose(study, ["return"])


def _at_start(engine: Engine, one: AtReturn) -> Verdict:
    where, most_pa = f"{one.start} to {one.end}", engine.most_return_pressure_pa
    if one.needs or one.attitude is None:
        return needs(where, one.needs)
    evidence = (
        f"at {one.attitude.text} {flow(one.flow_m3_s)} of return ask for {_above(one.pressure_pa)} at {one.start}; throttled,"
        f" with {flow(one.throttled_m3_s)} coming back, for {_above(one.throttled_pa)}"
    )
    if most_pa is None:
        return needs(where, f"the most_return_pressure of {engine.name}; {evidence}")
    evidence += f"; it may get {pressure(most_pa)}"
    if one.pressure_pa > most_pa:
        return failed(where, evidence)
    if one.unstated:
        return needs(where, f"the drop of {', '.join(one.unstated)}; without it {evidence}")
    return (caution if one.throttled_pa > most_pa else passed)(where, evidence)


def _above(pressure_pa: float) -> str:
    """A pressure above the air's; where fuel falls to the tank by itself none is needed."""
    return pressure(pressure_pa) if pressure_pa > 0.0 else "none"
