"""Rules on capacity, expansion space and endurance."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.model.findings import Source, Verdict
from fuelsys.model.study import Study
from fuelsys.rules.words import failed, needs, passed, rule

_EXPANSION = Source("14 CFR 23.969", "before amendment 23-64")
LEAST_EXPANSION = 0.02  # of the tank's capacity: 14 CFR 23.969, before amendment 23-64


@rule(
    subject="expansion space",
    checks="Each tank keeps an expansion space of 2 % of its capacity when it is filled at the normal ground attitude.",
    why="Fuel that warms on the ground grows by several per cent; without room it is pushed out of the vent.",
    mend="Lower the filler's lip or make its neck reach further down into the tank.",
    sources=(_EXPANSION,),
)
def expansion_space_small(study: Study) -> Iterator[Verdict]:
    """Gross less fillable against 2 % of gross; waived where every vent of the tank discharges clear of the aircraft."""
    for tank in study.tanks:
        held = tank.capacity
        if held.expansion_m3 is None or held.filled is None:
            yield needs(tank.name, "a filler or a vent")
            continue
        share = held.expansion_m3 / held.gross_m3
        evidence = (
            f"filled at {held.filled.attitude.text} to the {held.filled.limited_by}, {held.expansion_m3 * 1e3:.2f} L"
            f" stay free: {share * 100:.1f} % of {held.gross_m3 * 1e3:.1f} L"
        )
        yield passed(tank.name, evidence) if share >= LEAST_EXPANSION else failed(tank.name, evidence)
