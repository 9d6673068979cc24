"""Rule on tanks that stand in the same place."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.model.found.findings import COMMON_PRACTICE, Cost, Reach, Stake, Verdict
from fuelsys.model.found.study import Study
from fuelsys.rules.shared import on_aircraft
from fuelsys.rules.words import failed, litres, needs, not_asked, passed, rule

LEAST_SHARED_M3 = 1e-6  # tanks that touch share what rounding and facets make of their common wall


@rule(
    subject="tank's place",
    reach=Reach.PAPER,
    stake=Stake.LITRES,
    checks="No two tanks share room in the aircraft; less than a millilitre is taken for the rounding of a common wall.",
    why="Their fuel would be counted twice, and one of them cannot be built where it is drawn.",
    mend="Put right the position, the axes or the unit of one of them; a tank that stands inside another is taken out of"
    " it as [[tank.inside]].",
    sources=(COMMON_PRACTICE,),
)
def tanks_overlap(study: Study) -> Iterator[Verdict]:
    """What the cavities of each pair of tanks share, from their meshes, positions and axes."""
    if len(study.layout.tanks) < 2:
        yield not_asked("tanks", "there is only one")
        return
    apart = True
    for pair in study.overlaps:
        where = " and ".join(pair.tanks)
        if pair.shared_m3 is None:
            yield needs(where, "meshes that can be cut as solids: their boxes overlap, and they may share room")
            apart = False
        elif pair.shared_m3 >= LEAST_SHARED_M3 and pair.at_m is not None:
            spot = on_aircraft(study, pair.at_m)
            evidence = f"they share {litres(pair.shared_m3)} of room in the aircraft, about {spot}"
            yield failed(where, evidence, cost=Cost(volume_m3=pair.shared_m3))
            apart = False
    if apart:
        yield passed(", ".join(tank.name for tank in study.layout.tanks), "each stands in a place of its own")
