"""The rule on what was measured on the finished aircraft: unusable fuel, trips, the flow to the engine, against what is computed."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.model.built.measured import Corrected, Tripped
from fuelsys.model.found.findings import Cost, Reach, Source, Stake, Verdict
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.stated.components import Engine
from fuelsys.model.stated.fittings import Switch
from fuelsys.rules.shared import components
from fuelsys.rules.words import before_64, caution, failed, flow, litres, needs, not_asked, passed, rule

# How far unusable fuel and flow may be from what is computed: a share, and of unusable fuel at least so much.
_UNUSABLE_SHARE, _UNUSABLE_M3, _FLOW_SHARE = 0.05, 2e-4, 0.2
_BANDS = Source("the bands: common practice, no source")


@rule(
    subject="what was measured",
    reach=Reach.OUTSIDE,
    stake=Stake.MINUTES,
    checks="What was measured (measured_unusable, measured_trip, measured_flow, a fill test) agrees with what is computed: unusable fuel"
    " within 5 % and 0.2 L, a trip within the mark's tolerance and 2 % of the quantity, the flow no less than 80 % of it and than what a"
    " test must show; by its fill test a tank is not larger than drawn.",
    why="Where the two disagree the tank or the lines are not as drawn, or something was misread; minutes rest on both. The worse"
    " of the two counts in all figures.",
    mend="Measure again; then see what is not as drawn (outlet, mark, attitude, a line's bore) and put it right.",
    sources=(before_64("23.959(a), 23.955"), _BANDS),
)
def measured_contradicts_computed(study: Study) -> Iterator[Verdict]:
    """Each figure that was measured, against the study."""
    said = False
    for tank in study.tanks:
        if tank.tank.corrected is not None:
            said = True
            yield _filled(tank.name, tank.tank.corrected)
        if tank.tank.design.measured_unusable_m3 is not None:
            said = True
            yield _unusable(tank, tank.tank.design.measured_unusable_m3)
        for switch in tank.tank.design.switch:
            if switch.measured_trip_m3 is not None:
                said = True
                yield _trip(f"{tank.name}.{switch.name}", switch, tank.tank.tripped.get(switch.name))
    for engine in components(study, Engine):
        if engine.measured_flow_m3_s is not None:
            said = True
            yield _flow(study, engine, engine.measured_flow_m3_s)
    if not said:
        yield not_asked("design", "nothing measured is stated")


def _filled(tank: str, found: Corrected) -> Verdict:
    """A tank is seldom larger than its mesh: what a can too many in the sheet makes of it is the unsafe side."""
    more, within = (found.share - 1.0) * 100.0, found.within * 100.0
    evidence = f"{more:+.1f} % against what was drawn, within {within:.1f} %, by the fill test of {found.date}"
    if found.share - found.within > 1.0:
        return caution(
            tank,
            f"to be looked at: {evidence}; what was poured while the stick was dry no reading checks",
            "Count the cans, look at the unit that they are noted in, and fill it again; see what of it is not in the mesh.",
        )
    if found.fewer_m3:
        return caution(
            tank,
            f"to be looked at: {evidence}; a can of {litres(found.fewer_m3)} that was noted before its stick showed any, and not poured,"
            " explains the readings as well, and counts as not poured",
            "Read the stick at three places ([[tank.dipstick.also]]), or drain it into measured cans and note that in the sheet.",
        )
    return passed(tank, f"accepted: {evidence}")


def _unusable(tank: TankStudy, measured_m3: float) -> Verdict:
    left = tank.capacity.unusable
    if left is None:
        return needs(
            tank.name, f"an outlet, to compute what the {litres(measured_m3)} that were measured are held against"
        )
    computed_m3 = left.worst.unusable_m3
    band_m3 = max(_UNUSABLE_SHARE * computed_m3, _UNUSABLE_M3)
    low_m3, high_m3 = max(0.0, computed_m3 - band_m3), computed_m3 + band_m3
    evidence = (
        f"{litres(measured_m3)} unusable by the drain test, {litres(computed_m3)} computed at {left.worst.attitude.text}, accepted"
        f" from {litres(low_m3)} to {litres(high_m3)}"
    )
    if measured_m3 > high_m3:
        more = Cost(volume_m3=measured_m3 - computed_m3)
        return failed(tank.name, f"contradicted: {evidence}; the measured one counts", cost=more)
    if measured_m3 < low_m3:
        return caution(
            tank.name, f"to be looked at: {evidence}; the computed one counts", "Was it drained at that attitude?"
        )
    return passed(tank.name, f"accepted: {evidence}")


def _trip(where: str, switch: Switch, found: Tripped | None) -> Verdict:
    assert switch.measured_trip_m3 is not None
    if found is None:
        measured = litres(switch.measured_trip_m3)
        what = "an outlet, and a mark that the surface passes at the normal ground attitude, to hold the measured"
        return needs(where, f"{what} {measured} against")
    span = f"accepted from {litres(found.least_m3)} to {litres(found.most_m3)}"
    evidence = f"it trips with {litres(found.measured_m3)} as measured, {litres(found.computed_m3)} computed, {span}"
    if found.measured_m3 < found.least_m3:
        less = Cost(volume_m3=found.computed_m3 - found.measured_m3)
        return failed(where, f"contradicted: {evidence}; minutes count the measured one", cost=less)
    if found.measured_m3 > found.most_m3:
        return caution(where, f"to be looked at: {evidence}; minutes count the computed one", "Measure once more.")
    return passed(where, f"accepted: {evidence}")


def _flow(study: Study, engine: Engine, measured_m3_s: float) -> Verdict:
    fed = [one for one in study.flows.to if str(one.end) == engine.name and one.kind in ("gravity", "pumped")]
    if not fed:
        return needs(engine.name, f"feed lines whose flow can be computed, for the measured {flow(measured_m3_s)}")
    worst = min(fed, key=lambda one: one.worst.flow_m3_s)
    needed_m3_s, near_m3_s = max(one.needed_m3_s for one in fed), (1.0 - _FLOW_SHARE) * worst.worst.flow_m3_s
    evidence = (
        f"{flow(measured_m3_s)} by the flow test, {flow(worst.worst.flow_m3_s)} computed at the worst, {flow(needed_m3_s)} to be"
        f" shown, accepted from {flow(max(needed_m3_s, near_m3_s))} on"
    )
    if measured_m3_s < needed_m3_s:
        return failed(engine.name, f"contradicted: {evidence}")
    if measured_m3_s < near_m3_s:
        return caution(
            engine.name, f"to be looked at: {evidence}", "See what takes the pressure: a strainer, a bend, a valve."
        )
    return passed(engine.name, f"accepted: {evidence}")
