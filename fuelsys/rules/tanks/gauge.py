"""Rules on fuel quantity gauges."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys import units
from fuelsys.model.found.findings import COMMON_PRACTICE, Cost, Reach, Stake, Verdict
from fuelsys.model.found.gauge import GaugeStudy
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.rules.severity import NEAR_S, TRIFLE_S, TRIFLES, USABLE_RESTS_ON, reserve_m3
from fuelsys.rules.words import (
    LEAST_SHOWN_M3,
    NO_FITTINGS,
    before_64,
    caution,
    failed,
    litres,
    millimetres,
    needs,
    not_asked,
    passed,
    rule,
    spot,
)

LEAST_SKIPPED = 0.01  # of its way: an end that is drawn on the wall


@rule(
    subject="gauge",
    reach=Reach.INSIDE,
    stake=Stake.MINUTES,
    checks="Each tank has a fuel quantity gauge. Tanks whose outlets and airspaces are interconnected by lines alone count as"
    " one.",
    why="Without one the fuel in a tank is known on the ground only, and a leak or a feed from the wrong tank stays unseen in"
    " flight.",
    mend="Give the tank a gauge: [[tank.gauge]].",
    sources=(before_64("23.1305(a)(1)", "a fuel quantity indicator for each tank"), before_64("23.1337(b)(5)")),
)
def gauge_missing(study: Study) -> Iterator[Verdict]:
    """A tank without a gauge, and none in the tanks that it counts as one with: against a paragraph, so a fail."""
    for tank in study.tanks:
        stated = tank.tank.design
        if stated.gauge:
            yield passed(tank.name, f"it has {', '.join(gauge.name for gauge in stated.gauge)}")
        elif not stated.ports:
            yield needs(tank.name, NO_FITTINGS)
        elif sharing := _counts_with(study, tank.name):
            yield passed(
                tank.name, f"it counts as one tank with {', '.join(sharing)}, which has one: they share outlets and air"
            )
        else:
            yield failed(tank.name, "it has no gauge")


def _counts_with(study: Study, name: str) -> list[str]:
    """Tanks with a gauge that no valve, selector or pump parts a tank from, and whose air is its own."""
    fuel, air = study.plumbing.fuel_groups, study.plumbing.air_groups
    one = {other for group in fuel if name in group for other in group}
    one &= {other for group in air if name in group for other in group}
    return [tank.name for tank in study.layout.tanks if tank.name in one - {name} and tank.design.gauge]


@rule(
    subject="gauge",
    reach=Reach.INSIDE,
    stake=Stake.MINUTES,
    checks="A gauge sees the fuel down to the unusable fuel in level flight, so that it can read zero there and not before, and"
    " to the last usable fuel at every other flight attitude.",
    why="A gauge that stands still shows the same with minutes left and with none.",
    mend="Let it reach lower, nearer to the outlet.",
    sources=(before_64("23.1337(b)(1)", "zero in level flight with the unusable fuel left"), COMMON_PRACTICE, TRIFLES),
    rests_on=USABLE_RESTS_ON,
)
def gauge_blind(study: Study) -> Iterator[Verdict]:
    """What can still run out while a gauge stands at its lowest: fail in level flight from half a minute on, at others from
    a reserve on, else caution."""
    for tank in study.tanks:
        if tank.tank.design.gauge and tank.capacity.unusable is None:
            for gauge in tank.tank.design.gauge:
                where = f"{tank.name} gauge {gauge.name}"
                yield needs(where, "an outlet: what is usable counts above the unusable fuel")
        for found in tank.gauges:
            yield _blind(study, tank, found)


def _blind(study: Study, tank: TankStudy, gauge: GaugeStudy) -> Verdict:
    where = f"{tank.name} gauge {gauge.name}"
    normal = gauge.normal
    flow_m3_s = study.layout.design.reserve_flow_m3_s * tank.tank.design.flow_share

    def lasting(volume_m3: float) -> str:
        return f"{units.minutes(volume_m3 / flow_m3_s, up=True)} min at the tank's share of {study.layout.design.fuel.reserve_phase}"

    if not normal.least.sees:
        return failed(where, f"at {normal.attitude.text} its signal does not change as the tank drains")
    hidden_m3 = gauge.hidden_m3
    if hidden_m3 > TRIFLE_S * flow_m3_s and not gauge.sees_the_last:
        evidence = (
            f"at {normal.attitude.text} it stands still with {litres(normal.blind_to_m3)} in the tank; unusable are"
            f" {litres(gauge.unusable_m3)}: the last {litres(hidden_m3)}, {lasting(hidden_m3)}, run out unseen"
        )
        told = caution if hidden_m3 <= NEAR_S * flow_m3_s else failed
        return told(where, evidence, cost=Cost(hidden_m3 / flow_m3_s, hidden_m3))
    at = max(gauge.flight, key=lambda one: one.blind_to_m3 - max(one.stays_m3, gauge.unusable_m3))
    hidden_m3 = at.blind_to_m3 - max(at.stays_m3, gauge.unusable_m3)
    if hidden_m3 > max(LEAST_SHOWN_M3, TRIFLE_S * flow_m3_s):
        evidence = (
            f"at {at.attitude.text} it stands still with {litres(at.blind_to_m3)} in the tank; unusable are"
            f" {litres(gauge.unusable_m3)}: {litres(hidden_m3)}, {lasting(hidden_m3)}, run out unseen"
        )
        told = failed if hidden_m3 >= reserve_m3(study) else caution
        return told(where, evidence, cost=Cost(hidden_m3 / flow_m3_s, hidden_m3))
    evidence = (
        f"at {normal.attitude.text} it sees the fuel down to {litres(max(normal.blind_to_m3, normal.stays_m3))};"
        f" unusable are {litres(gauge.unusable_m3)}"
    )
    return passed(where, f"{evidence}; so at all {len(gauge.flight)} flight attitudes")


@rule(
    subject="gauge",
    reach=Reach.INSIDE,
    stake=Stake.MINUTES,
    checks="A straight gauge stands in the tank from end to end: it passes through no wall, rib or body. Of an arm the middle of its float"
    " is looked at, at places along its way.",
    why="A probe that does not go in as it is drawn stands elsewhere, or is shorter, and its signal is another; an arm that touches a rib"
    " stays there.",
    mend="Move its ends so that it stands clear of walls and ribs.",
    sources=(COMMON_PRACTICE,),
)
def gauge_meets_wall(study: Study) -> Iterator[Verdict]:
    """What a straight gauge passes through, and how much of the way of any lies outside the cavity."""
    for tank in study.tanks:
        if not tank.tank.design.gauge:
            yield not_asked(tank.name, "it has no gauge") if tank.tank.design.ports else needs(tank.name, NO_FITTINGS)
        elif tank.capacity.unusable is None:
            yield from (needs(f"{tank.name} gauge {one.name}", "an outlet") for one in tank.tank.design.gauge)
        for found in tank.gauges:
            where = f"{tank.name} gauge {found.name}"
            if found.barriers:
                first = found.barriers[0]
                evidence = f"it meets a wall, a rib or a body at {spot(first.at_m)} of its mesh, {millimetres(first.thick_m)} thick"
                yield failed(where, evidence, f"Move or slant it so that it passes clear of {spot(first.at_m)}.")
            elif found.skipped > LEAST_SKIPPED:
                yield failed(where, f"{found.skipped * 100.0:.0f} % of its way lies outside the tank's inside")
            elif found.kind == "arm":
                told = f"{found.skipped * 100.0:.1f} % of its way lies in a wall" if found.skipped else ""
                at = "at the places looked at along its way the middle of its float is in the fuel; between them, and about it, measure"
                yield caution(where, told) if told else passed(where, at)
            else:
                yield passed(where, "nothing is in its way")
