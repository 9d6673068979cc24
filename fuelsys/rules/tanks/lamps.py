"""What the rules on low-level switches share: every switch with its study, and how late and never read."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from fuelsys.model.built.ends import PortEnd
from fuelsys.model.found.findings import Cost
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.found.switches import SwitchStudy
from fuelsys.model.stated.components import Engine
from fuelsys.model.stated.fittings import Switch
from fuelsys.rules.severity import trifle_s
from fuelsys.rules.words import millimetres, place

NEEDS_OUTLET = "an outlet: minutes count above the unusable fuel"


def switches(study: Study) -> Iterator[tuple[str, TankStudy, Switch, SwitchStudy | None]]:
    """Every switch, what it is called in findings, and its study; None where its tank has no outlet."""
    for tank in study.tanks:
        studies = {switch.name: switch for switch in tank.switches}
        for switch in tank.tank.design.switch:
            yield f"{tank.name} switch {switch.name}", tank, switch, studies.get(switch.name)


def short(wanted_s: float, left_s: float) -> Cost:
    """The minutes that are promised and not there; below zero none are."""
    return Cost(short_s=wanted_s - max(left_s, 0.0))


def misses(found: SwitchStudy, target_s: float) -> bool:
    """Whether a switch leaves less than its target at some flight attitude, or never trips there; a trifle less is none."""
    left_min = found.alone_minutes(found.worst.latest_m3) if found.worst else None
    return left_min is None or target_s - left_min * 60.0 > trifle_s(target_s)


def never_words(switch: SwitchStudy) -> str:
    """At which flight attitudes it never trips, and why."""
    return "never trips at " + "; ".join(f"{at.attitude.text}: {at.why_never}" for at in switch.never)


def raised(tank: TankStudy, switch: Switch, found: SwitchStudy) -> str:
    """How far to raise a mark; the figures are those of the study."""
    if any(switch.too_far(at.attitude.up) for at in found.never):
        return "Fit a switch that is stated to work at these tilts; no other height helps."
    if found.rise_m is None:
        return (
            "No height straight above this mark leaves the target at every flight attitude: move the mark nearer to the"
            " outlet or to the middle of the tank, or promise fewer minutes."
        )
    mark_m = tank.tank.body_m(switch.mark_m) + np.array([0.0, 0.0, found.rise_m])
    to = f"{millimetres(found.rise_m)}, to {place(tank.tank, mark_m)}"
    room_m = tank.tank.room_m(switch, mark_m)
    if room_m is not None and room_m < (switch.clearance_m or 0.0) - 1e-9:
        return (
            f"Straight up, the mark would have to rise by {to}, where its float has {millimetres(room_m)} of the"
            f" {millimetres(switch.clearance_m or 0.0)} that it needs: find another place (`fuelsys place DESIGN --search`), or promise"
            " fewer minutes."
        )
    return f"Raise the mark by at least {to}."


def feeds_engine(study: Study, tank: TankStudy) -> bool | None:
    """Whether a tank feeds an engine directly; None where the design does not say where its fuel goes."""
    network = study.layout.network
    outlets = [PortEnd(tank.name, outlet.name) for outlet in tank.tank.design.outlet]
    ends = {end for outlet in outlets for end in network.ends_from(outlet, "feed", downstream=True)}
    if any(isinstance(network.component(end), Engine) for end in ends):
        return True
    return False if any(end.tank for end in ends) else None
