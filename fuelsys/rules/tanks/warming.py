"""Rules on fuel that warms in a full tank."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.model.found.capacity import Warming
from fuelsys.model.found.findings import Cost, Reach, Source, Stake, Verdict
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.rules.tanks.capacity import LEAST_EXPANSION, discharges_clear
from fuelsys.rules.words import before_64, caution, litres, needs, not_asked, passed, rule

_CORRECTION = Source("ASTM D1250", "form of 1980, its °F constants read in independent copies and times 1.8")
LEAST_ROOM = LEAST_EXPANSION / 2.0  # under it a tank is filled to the brim; chosen here, no source
_TEMPERATURES = Source("5 °C to 40 °C: common practice, no source")


@rule(
    subject="expansion space",
    reach=Reach.INSIDE,
    stake=Stake.LITRES,
    checks="Fuel that is filled to the brim at 5 °C and soaked to 40 °C finds room in the tank, or runs out of a vent where it"
    " does no harm: clear of the aircraft, with 1 % of the tank free at least (half of what 23.969 asks where it does; chosen here).",
    why="Fuel grows by 3 to 5 % on the way; an expansion space of 2 % is used up by 16 °C (avgas) to 23 °C (diesel).",
    mend="Do not fill to the brim when the fuel is colder than the day, or lower the filler's lip; let the vent end where"
    " fuel does no harm.",
    sources=(before_64("23.969"), _CORRECTION, _TEMPERATURES),
    rests_on=("expansion-space-small", "vent-discharges-on-aircraft"),
)
def expansion_space_used_by_warming(study: Study) -> Iterator[Verdict]:
    """Growth against room, tank by tank; a tank that is filled through its lines alone is not filled to the brim."""
    for tank in study.tanks:
        if tank.warming is not None:
            yield _judged(study, tank, tank.warming)
        elif tank.tank.design.filler is None and tank.tank.design.inlet:
            yield not_asked(tank.name, "it has no filler: fuel that grows goes back through its lines")
        else:
            yield needs(tank.name, _missing(tank))


def _judged(study: Study, tank: TankStudy, warming: Warming) -> Verdict:
    name = tank.name
    evidence = (
        f"{litres(warming.filled_m3)} filled at {_celsius(warming.filled_at_k)} grow by {litres(warming.growth_m3)}"
        f" ({warming.growth_share * 100:.1f} %) on the way to {_celsius(warming.soaked_to_k)}; there is room for"
        f" {litres(warming.room_m3)}, "
    )
    if warming.rise_k is None:
        return passed(name, evidence + "more than any warming that the volume correction covers takes")
    evidence += f"which {warming.rise_k:.1f} °C of warming take"
    lost_m3 = warming.growth_m3 - warming.room_m3
    if lost_m3 <= 0.0:
        return passed(name, evidence)
    evidence += f": {litres(lost_m3)} run out of the vent"
    clear = discharges_clear(study.layout, tank.tank)
    if clear and warming.room_m3 >= LEAST_ROOM * tank.capacity.gross_m3:
        return passed(name, f"{evidence}, clear of the aircraft")
    return caution(name, evidence, cost=Cost(volume_m3=lost_m3))


def _missing(tank: TankStudy) -> str:
    if tank.tank.design.filler is None:
        return "a filler"
    if not tank.tank.design.vent:
        return "a vent: it says how far warm fuel can rise"
    return "a fuel density at 15 °C that the volume correction covers"


def _celsius(temperature_k: float) -> str:
    return f"{temperature_k - 273.15:g} °C"
