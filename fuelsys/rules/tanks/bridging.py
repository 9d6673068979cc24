"""Whether a header below bridges the time for which an attitude keeps a tank's fuel from its outlet."""

from __future__ import annotations

from fuelsys.model.found.study import Study, TankStudy
from fuelsys.rules.shared import header_like
from fuelsys.rules.words import litres


def bridging(study: Study, tank: TankStudy, limit_m3: float) -> str:
    """How headers bridge the attitudes at which more than a limit stays in a tank; empty where that is not shown.

    Each such attitude is held for a time only; the tank feeds nothing but headers, each with more usable fuel at its own worst
    attitude than is drawn in the time, and each filled as fast as it is drawn from when it is full and when it has sunk, in every
    setting: so it is full at the start, and full again some time after.
    """
    left = tank.capacity.unusable
    over = [at for at in left.at if at.attitude.phase == "flight" and at.unusable_m3 > limit_m3] if left else []
    ends = {way.end.tank for way in study.plumbing.ways if way.start.tank == tank.name}
    headers = [end for end in ends if end and header_like(study, end) and _kept_full(study, end)]
    held = [at.held for at in over if at.held]
    if not held or len(held) < len(over) or not headers or len(headers) < len(ends):
        return ""
    drawn_m3, lasting_s = max((one.drawn_m3_s * one.lasting_s, one.lasting_s) for one in held)
    usable = {name: study.tank(name).capacity.usable_m3 or 0.0 for name in sorted(headers)}
    if min(usable.values()) < drawn_m3:
        return ""
    has = " and ".join(
        f"{name}, which is kept full, has {litres(volume_m3)} usable" for name, volume_m3 in usable.items()
    )
    return f"{has}, and in {lasting_s:g} s {litres(drawn_m3)} are drawn: that bridges it, once, and again when it has filled"


def _kept_full(study: Study, header: str) -> bool:
    flows = study.flows
    found = [fed for fed in flows.to if fed.kind == "tank" and fed.end.tank == header]
    enough = [min(fed.worst.flow_m3_s, fed.worst_free.flow_m3_s) >= fed.needed_m3_s for fed in found]
    several = flows.states is None or len(flows.states) > 1
    if several and any(one.kind in ("", "tank") for one in flows.missing_in_states):
        return False
    every = flows.in_states if several else ()
    set_so = [one.fed for one in every if one.fed.kind == "tank" and one.fed.end.tank == header]
    enough += [bool(fed.at) and fed.worst.flow_m3_s >= fed.needed_m3_s for fed in set_so]
    return bool(found) and all(enough) and not any(fed.unstated for fed in (*found, *set_so))
