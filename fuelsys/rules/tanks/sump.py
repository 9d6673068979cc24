"""Rules on sumps, their drains and the water that stays behind."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.model.found.findings import COMMON_PRACTICE, Cost, Reach, Source, Stake, Verdict
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.found.unusable import SumpAt, UnusableAt
from fuelsys.rules.words import (
    LEAST_SHOWN_M3,
    NO_FITTINGS,
    before_64,
    caution,
    failed,
    litres,
    litres_up,
    needs,
    not_asked,
    passed,
    place,
    pockets_text,
    rule,
)

LEAST_SUMP_M3, LEAST_SUMP_SHARE = 3.785411784e-3 / 16.0, 0.0025  # 14 CFR 23.971(a), before amendment 23-64
# Water that counts as hazardous: more than the sediment bowl must catch, 1 US fl oz for 20 US gal of capacity (14 CFR
# 23.971(c), before amendment 23-64). The rule on drainage gives no figure; this one is chosen here.
HAZARDOUS_SHARE = 1.0 / (128.0 * 20.0)
_DRAINAGE = before_64("23.971(b)")
_BOWL = before_64("23.971(c)", "for the quantity")
_HAZARDOUS = (
    " (1 part in 2560 of the capacity: what the sediment bowl must catch; chosen here, the rule gives no figure)"
)


@rule(
    subject="drain",
    reach=Reach.INSIDE,
    stake=Stake.ENGINE,
    checks="Each tank has a drain valve.",
    why="Water and dirt gather at the bottom of every tank, and only a drain lets them out before flight.",
    mend="Fit a drain valve at the lowest point of the tank on the ground.",
    sources=(before_64("23.971(a)"), before_64("23.999")),
)
def drain_missing(study: Study) -> Iterator[Verdict]:
    """A tank without a drain valve."""
    for tank in study.tanks:
        names = ", ".join(drain.name for drain in tank.tank.design.drain)
        if names:
            yield passed(tank.name, f"drained through {names}")
        elif not tank.tank.design.ports:
            yield needs(tank.name, NO_FITTINGS)
        else:
            yield failed(tank.name, f"no drain is shown in a tank of {litres(tank.capacity.gross_m3)}")


@rule(
    subject="sump",
    reach=Reach.INSIDE,
    stake=Stake.WEAR,
    checks="In the normal ground and flight attitudes the sump holds, below the outlets, 0.25 % of the tank's capacity or"
    " 1/16 US gal (237 mL), whichever is greater, in a pool that a drain valve draws from.",
    why="Water that is not drained gathers there instead of in the engine's feed.",
    mend="Deepen the sump or raise the outlet above its floor.",
    sources=(before_64("23.971(a)"),),
)
def sump_small(study: Study) -> Iterator[Verdict]:
    """The sump's capacity at both normal attitudes."""
    for tank in study.tanks:
        if not tank.sumps:
            yield needs(tank.name, _missing(tank))
            continue
        wanted_m3 = asked_m3(tank)
        least = min(tank.sumps, key=lambda at: at.volume_m3)
        held = " and ".join(_held(at) for at in tank.sumps)
        evidence = f"below the outlets the drain valve's own pool holds {held}; {litres(wanted_m3)} are wanted"
        lacking = litres_up(wanted_m3 - least.volume_m3)
        if least.volume_m3 >= wanted_m3:
            yield passed(tank.name, evidence)
        elif least.volume_m3 < LEAST_SHOWN_M3:
            evidence += f"; at {least.attitude.text} the drain valve stands above what the outlets leave"
            yield failed(tank.name, evidence, "Move the drain valve to the lowest point, below the outlets.")
        else:
            yield failed(tank.name, evidence, f"Deepen the sump or raise the outlet above its floor: {lacking} more.")


def _held(at: SumpAt) -> str:
    """What a drain valve's pool holds at one attitude, and all that stays below the outlets where that is more."""
    more = at.below_m3 > at.volume_m3 + LEAST_SHOWN_M3
    of = f" of the {litres(at.below_m3)} that stay there" if more else ""
    return f"{litres(at.volume_m3)}{of} at {at.attitude.text}"


def _missing(tank: TankStudy) -> str:
    missing = [
        name
        for name, there in (("an outlet", tank.tank.design.outlet), ("a drain", tank.tank.design.drain))
        if not there
    ]
    return " and ".join(missing)


def _left_words(tank: TankStudy, left: UnusableAt) -> str:
    """What a drain valve leaves, and where."""
    parts = []
    if left.trapped_m3 >= LEAST_SHOWN_M3:
        parts.append(pockets_text(tank.tank, left))
    if left.residual_m3 >= LEAST_SHOWN_M3 and left.lowest_m is not None:
        parts.append(f"{litres(left.residual_m3)} below the valve, lowest at {place(tank.tank, left.lowest_m)}")
    words = f"at {left.attitude.text} the drain leaves {' and '.join(parts) or 'nothing'}"
    return f"{words}; more than {litres(_hazardous_m3(tank))} counts as hazardous"


def _hazardous_m3(tank: TankStudy) -> float:
    return HAZARDOUS_SHARE * tank.capacity.gross_m3


def asked_m3(tank: TankStudy) -> float:
    """What a sump must hold."""
    return max(LEAST_SUMP_M3, LEAST_SUMP_SHARE * tank.capacity.gross_m3)


def _let_out(tank: TankStudy, left: UnusableAt) -> str:
    """What to do about what a drain valve leaves."""
    if left.pockets and left.trapped_m3 > left.residual_m3:
        at = place(tank.tank, left.pockets[0].lowest_m)
        return (
            f"Open a notch at the floor so that water runs to the drain from {at} where a wall holds it; where the floor itself does, fit a"
            " second drain there."
        )
    return f"Move the drain valve to {place(tank.tank, left.lowest_m)}." if left.lowest_m is not None else ""


@rule(
    subject="water",
    reach=Reach.INSIDE,
    stake=Stake.ENGINE,
    checks="At the normal ground attitude the drain valves leave no hazardous quantity of water in any part of the tank"
    + _HAZARDOUS
    + ".",
    why="Water that the drain does not reach on the ground reaches the outlet in flight.",
    mend="Move the drain valve to the lowest point, and open notches through which pockets run to it.",
    sources=(_DRAINAGE, _BOWL),
)
def water_left_behind(study: Study) -> Iterator[Verdict]:
    """What the drain valves leave at the normal ground attitude."""
    for tank in study.tanks:
        left = next((at for at in tank.drain_left if at.attitude.normal and at.attitude.phase == "ground"), None)
        if left is None:
            yield needs(tank.name, "a drain")
        elif left.unusable_m3 <= _hazardous_m3(tank):
            yield passed(tank.name, _left_words(tank, left))
        else:
            yield failed(tank.name, _left_words(tank, left), _let_out(tank, left), Cost(volume_m3=left.unusable_m3))


@rule(
    subject="water",
    reach=Reach.INSIDE,
    stake=Stake.ENGINE,
    checks="Ground that falls by 1 % in any direction, and the other ground attitudes of the envelope, leave no hazardous"
    " quantity of water either" + _HAZARDOUS + ".",
    why="Aircraft are drained where they stand, and that is seldom level.",
    mend="Move the drain valve to the middle of the sump's floor, or give the floor more fall towards it.",
    sources=(
        Source("DCA/GENERAL/19 (1951), as quoted in ATSB recommendation R19980258"),
        before_64("23.975(a)(7)", "for the slope"),
        COMMON_PRACTICE,
    ),
)
def water_left_on_slope(study: Study) -> Iterator[Verdict]:
    """What the drain valves leave on the worst of the slopes."""
    for tank in study.tanks:
        ground = [at for at in tank.drain_left if at.attitude.phase == "ground" and not at.attitude.normal]
        if tank.drain_left_on_slope is None:
            yield needs(tank.name, "a drain")
            continue
        worst = max([*ground, tank.drain_left_on_slope], key=lambda at: at.unusable_m3)
        parked = [at for at in tank.drain_left if at.attitude.normal and at.attitude.phase == "ground"]
        if worst.unusable_m3 <= _hazardous_m3(tank):
            yield passed(tank.name, _left_words(tank, worst))
        elif any(at.unusable_m3 > _hazardous_m3(tank) for at in parked):
            yield not_asked(tank.name, f"water-left-behind tells it where it is parked; {_left_words(tank, worst)}")
        else:
            yield caution(tank.name, _left_words(tank, worst), _let_out(tank, worst), Cost(volume_m3=worst.unusable_m3))
