"""The rule on what a tank is stated to bear, against what its own fuel presses with when it is full."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.model.found.findings import Reach, Source, Stake, Verdict
from fuelsys.model.found.study import Study
from fuelsys.rules.words import before_64, caution, failed, needs, not_asked, passed, pressure, rule

_FLIGHT = Source("14 CFR 23.303", "before amendment 23-64, 1.5 times the limit loads", from_memory=True)


@rule(
    subject="tank",
    reach=Reach.INSIDE,
    stake=Stake.FIRE,
    checks="What a tank is stated to bear (`bears`) is no less than its fuel presses with when it is full: in an emergency landing (9 g"
    " forward, 3 g up, 1.5 g to each side) and at 1.5 times the limit load factor downward; nor than 3.5 psi.",
    why="A tank that bursts or leaks in a hard landing, or in the pull-up that the wing still bears, feeds the fire.",
    mend="Stiffen its walls, with baffles that hold them together, and test it with the pressure that is asked for; where the structure"
    " is the tank or holds its walls, 23.965(a)(2) or (a)(3) ask for less: then see that what it is tested with answers these.",
    sources=(before_64("23.965(a)"), before_64("23.561(b)(2)"), _FLIGHT),
)
def tank_bears_too_little(study: Study) -> Iterator[Verdict]:
    """The stated pressure against that of the full tank: fail below what it sees in flight, and in a landing where it stands in the cabin;
    else, and below 3.5 psi, a caution: whether the structure is the tank, or holds it, is not stated."""
    factor = study.layout.design.aircraft.limit_load_factor
    for tank in study.tanks:
        bears_pa, proof = tank.tank.design.bears_pa, tank.proof
        if bears_pa is None or proof is None:
            asked = f"a test with {pressure(proof.pressure_pa)} is asked for" if proof else "a test is asked for"
            yield not_asked(tank.name, f"the design does not state what it bears; {asked}")
            continue
        stated = f"it is stated to bear {pressure(bears_pa)}"
        own = f"full, its fuel presses with {pressure(proof.full_pa)} ({proof.full_by})"
        if bears_pa < proof.full_pa * (1.0 - 1e-9):
            apart = tank.tank.design.in_cabin is True  # then it is no part of a wing's structure
            told = failed if apart or bears_pa < proof.flight_pa * (1.0 - 1e-9) else caution
            yield told(tank.name, f"{stated}; {own}")
        elif bears_pa < proof.pressure_pa * (1.0 - 1e-3):  # 24.1 kPa is 3.5 psi
            yield caution(tank.name, f"{stated}; {pressure(proof.pressure_pa)} are asked for: {proof.asked_by}; {own}")
        elif factor is None:
            yield needs(tank.name, f"aircraft.limit_load_factor, for the flight's loads: {stated}; {own}")
        else:
            yield passed(tank.name, f"{stated}; {own}")
