"""The rule on what low-level switches leave where the tilts of several attitudes come together."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.model.found.findings import COMMON_PRACTICE, Cost, Reach, Stake, Verdict
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.found.switches import SwitchStudy, TripAt, left_text
from fuelsys.rules.severity import MINUTES_REST_ON, NEAR_WORDS, nearly_s
from fuelsys.rules.tanks.lamps import NEEDS_OUTLET, short, switches
from fuelsys.rules.words import LEAST_SHOWN_M3, caution, litres, minutes, needs, not_asked, passed, rule

_Late = tuple[str, str, Cost]  # where, the evidence, what it costs


@rule(
    subject="switch",
    reach=Reach.INSIDE,
    stake=Stake.MINUTES,
    checks="Where pitch and roll of different flight attitudes come together, in steps of 4° at most, each switch still trips and"
    f" leaves its target above the unusable fuel, less {NEAR_WORDS} at most, or as much as at the worst stated attitude.",
    why="A lamp is judged at the attitudes that are stated; in a descent with a slip it may light late, or not at all.",
    mend="State that attitude too: marks are then raised for it; or move the mark nearer to the outlet or the middle of the tank.",
    sources=(COMMON_PRACTICE,),
    rests_on=MINUTES_REST_ON,
)
def warning_late_at_combined_attitudes(study: Study) -> Iterator[Verdict]:
    """The combination at which a switch trips last or never; above the unusable fuel of the worst one. Twins' lamps are one finding."""
    late: dict[tuple[object, ...], list[_Late]] = {}  # by what reads alike of twins
    for where, tank, switch, found in switches(study):
        if found is None:
            yield needs(where, NEEDS_OUTLET)
        elif switch.target_s is None:
            yield needs(where, "its target in minutes")
        else:
            at = tank.combined_trips[[one.name for one in tank.tank.design.switch].index(switch.name)]
            verdict = _at_combined(where, tank, found, at, switch.target_s)
            if isinstance(verdict, Verdict):
                yield verdict
            else:
                trip_m3 = None if at.latest_m3 is None else round(at.latest_m3, 6)
                late.setdefault((switch.name, switch.target_s, trip_m3), []).append(verdict)
    for group in late.values():
        worst = max((cost for _, _, cost in group), key=lambda one: one.short_s)
        evidence = "; ".join(f"{where}: {one}" if group[1:] else one for where, one, _ in group)
        yield caution(", ".join(where for where, _, _ in group), evidence, cost=worst)


def _at_combined(where: str, tank: TankStudy, found: SwitchStudy, at: TripAt, target_s: float) -> Verdict | _Late:
    """One lamp at its worst combination against what it leaves at the stated attitudes."""
    left_min = found.alone_minutes(None if at.latest_m3 is None else at.latest_m3 - _more_m3(tank))
    if left_min is None:
        return where, f"at {at.attitude.text} it never trips: {at.why_never}", Cost(short_s=target_s)
    evidence = f"at {at.attitude.text} it trips with {litres(at.latest_m3 or 0.0)} in the tank"
    evidence += f": {left_text(left_min)} for a target of {minutes(target_s)}{_unusable(tank, found)}"
    stated_min = None if found.worst is None else found.alone_minutes(found.worst.latest_m3)
    told_s = target_s if stated_min is None else min(target_s, stated_min * 60.0)
    if told_s - left_min * 60.0 > nearly_s(target_s):
        return where, evidence, short(target_s, left_min * 60.0)
    if target_s - left_min * 60.0 > nearly_s(target_s):
        return not_asked(where, f"{evidence}; a stated attitude is as bad: warning-late tells it")
    return passed(where, evidence)


def _unusable(tank: TankStudy, found: SwitchStudy) -> str:
    """What of it is unusable where a combination keeps more than the stated attitudes."""
    more_m3 = _more_m3(tank)
    if more_m3 < LEAST_SHOWN_M3 or tank.combined is None:
        return ""
    return f", above the {litres(found.unusable_m3 + more_m3)} that are unusable at {tank.combined.attitude.text}"


def _more_m3(tank: TankStudy) -> float:
    """What stays behind at the worst combination beyond the stated attitudes: no fuel to fly on, be it too little for a finding."""
    if tank.combined is None or tank.capacity.unusable is None:
        return 0.0
    return max(0.0, tank.combined.unusable_m3 - tank.capacity.unusable.volume_m3)
