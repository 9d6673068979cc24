"""Rules on fuel quantity gauges."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.model.found.findings import COMMON_PRACTICE, Cost, Reach, Stake, Verdict
from fuelsys.model.found.gauge import GaugeStudy
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.rules.severity import NEAR_S, reserve_m3
from fuelsys.rules.words import (
    LEAST_SHOWN_M3,
    NO_FITTINGS,
    before_64,
    caution,
    failed,
    litres,
    needs,
    passed,
    rule,
)


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
    sources=(before_64("23.1337(b)(1)", "zero in level flight with the unusable fuel left"), COMMON_PRACTICE),
    rests_on=("unusable-large", "unusable-at-combined-attitudes", "cover-not-stated", "feed-in-doubt"),
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
        return f"{volume_m3 / flow_m3_s / 60.0:.1f} min at the tank's share of {study.layout.design.fuel.reserve_phase}"

    if not normal.least.sees:
        return failed(where, f"at {normal.attitude.text} its signal does not change as the tank drains")
    hidden_m3 = gauge.hidden_m3
    if not gauge.sees_the_last:
        evidence = (
            f"at {normal.attitude.text} it stands still with {litres(normal.least.seen_from)} in the tank; unusable are"
            f" {litres(gauge.unusable_m3)}: the last {litres(hidden_m3)}, {lasting(hidden_m3)}, run out unseen"
        )
        told = caution if hidden_m3 <= NEAR_S * flow_m3_s else failed
        return told(where, evidence, cost=Cost(hidden_m3 / flow_m3_s, hidden_m3))
    at = max(gauge.flight, key=lambda one: one.least.seen_from - max(one.left_m3, gauge.unusable_m3))
    hidden_m3 = at.least.seen_from - max(at.left_m3, gauge.unusable_m3)
    if hidden_m3 > LEAST_SHOWN_M3:
        evidence = (
            f"at {at.attitude.text} it stands still with {litres(at.least.seen_from)} in the tank; unusable are"
            f" {litres(gauge.unusable_m3)}: {litres(hidden_m3)}, {lasting(hidden_m3)}, run out unseen"
        )
        told = failed if hidden_m3 >= reserve_m3(study) else caution
        return told(where, evidence, cost=Cost(hidden_m3 / flow_m3_s, hidden_m3))
    evidence = (
        f"at {normal.attitude.text} it sees the fuel down to {litres(max(normal.least.seen_from, normal.left_m3))};"
        f" unusable are {litres(gauge.unusable_m3)}"
    )
    return passed(where, f"{evidence}; so at all {len(gauge.flight)} flight attitudes")
