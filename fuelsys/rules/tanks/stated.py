"""Rules on figures and words of the design file that contradict one another: flows, the fuel's density, placards."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

from fuelsys.model.found.findings import COMMON_PRACTICE, Reach, Source, Stake, Verdict
from fuelsys.model.found.study import Study
from fuelsys.rules.words import caution, density, failed, flow, needs, not_asked, passed, rule

FALLING = ("takeoff", "max_continuous", "cruise")  # flows by these names, the greatest first
# Densities at 15 °C by kind of fuel, kg/m³: least, most.
DENSITIES = {"avgas": (680.0, 760.0), "mogas": (700.0, 790.0), "jet": (775.0, 840.0), "diesel": (800.0, 860.0)}
_JET = Source("jet fuel: ASTM D1655 and DEF STAN 91-091", "read in copies of their tables")
_DIESEL = Source("diesel up to 0.845: EN 590, from 0.800 for its arctic classes", "read in copies of its tables")
_HEAVY_DIESEL = Source("other diesels up to 0.86", from_memory=True)
_GASOLINE = Source("avgas 0.68 to 0.76, mogas 0.70 to 0.79", from_memory=True)
# How placards name each kind of fuel; common practice, no source.
NAMED = {
    "avgas": r"avgas|aviation\s*(gasoline|spirit)|\b(80|91|100|115)\s*(/\s*\d+|ll|ul|vll)\b|\bul\s*(91|94)\b",
    "mogas": r"mogas|petrol|automotive|auto\s*gas|motor\s*(gasoline|spirit)|\be\s*10\b|\ben\s*228\b",
    "jet": r"jet\s*(fuel|a\b|b\b)|kerosene|\bjp-?\s*\d",
    "diesel": r"diesel|\ben\s*590\b",
}
_DENIED = r"\b(no|not|never|without)\b[^.,;:]*"


@rule(
    subject="flow",
    reach=Reach.PAPER,
    stake=Stake.MINUTES,
    checks="The flow at cruise is at most that at max_continuous, and that at most the one at takeoff.",
    why="Less power burns less fuel: where the flows are out of order two are exchanged or one has a wrong unit, and all"
    " minutes of reserve rest on them.",
    mend="Put right the flows under [flows].",
    sources=(COMMON_PRACTICE,),
)
def flows_out_of_order(study: Study) -> Iterator[Verdict]:
    """The three flows by name, each against the next greater one that is stated."""
    flows = study.layout.design.flows_m3_s
    known = [name for name in FALLING if name in flows]
    wrong = [
        f"{low} ({flow(flows[low])}) is above {high} ({flow(flows[high])})"
        for high, low in pairwise(known)
        if flows[low] > flows[high] * (1 + 1e-9)
    ]
    if wrong:
        yield failed("flows", "; ".join(wrong), "See which of these is right: exchange them, or mend a wrong unit.")
    elif missing := [name for name in FALLING if name not in flows]:
        yield needs("flows", f"flows named {' and '.join(missing)}")
    else:
        yield passed("flows", ", ".join(f"{name} {flow(flows[name])}" for name in FALLING))


@rule(
    subject="fuel",
    reach=Reach.PAPER,
    stake=Stake.REST,
    checks="The fuel's density is one that its kind has at 15 °C: avgas 0.68 to 0.76, mogas 0.70 to 0.79, jet fuel 0.775 to"
    " 0.84, diesel 0.80 to 0.86 kg/L.",
    why="With the wrong density masses, the centre of gravity and the growth of warm fuel are wrong; with the wrong kind the"
    " filler's size and its placard are.",
    mend="Put right kind or density under [fuel].",
    sources=(_GASOLINE, _JET, _DIESEL, _HEAVY_DIESEL),
)
def fuel_kind_against_density(study: Study) -> Iterator[Verdict]:
    """The stated density against the range of the stated kind."""
    fuel = study.layout.design.fuel
    fits = [kind for kind in DENSITIES if _within(kind, fuel.density_kg_m3)]
    evidence = f"{density(fuel.density_kg_m3)} for {fuel.kind}, which has {_range(fuel.kind)}"
    if fuel.kind in fits:
        yield passed("fuel", evidence)
        return
    other = f"; {' and '.join(fits)} may have it" if fits else "; no kind of fuel has it"
    mend = f"State the density at 15 °C, for {fuel.kind} {_range(fuel.kind)}" + (
        f", or the kind, if {' or '.join(fits)} is meant." if fits else "; look at its unit."
    )
    yield caution("fuel", evidence + other, mend)


def _within(kind: str, density_kg_m3: float) -> bool:
    least, most = DENSITIES[kind]
    return least * (1 - 1e-9) <= density_kg_m3 <= most * (1 + 1e-9)


def _range(kind: str) -> str:
    least, most = DENSITIES[kind]
    return f"{density(least)} to {density(most)}"


@rule(
    subject="filler",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="No filler's placard names another kind of fuel only than the design does.",
    why="One of the two is wrong: the tank is filled by the placard, and its figures are reckoned with the kind.",
    mend="Put right the placard, or kind under [fuel].",
    sources=(COMMON_PRACTICE,),
)
def placard_against_fuel_kind(study: Study) -> Iterator[Verdict]:
    """The kinds of fuel that the placard's words name; what stands behind a no or not is not named."""
    kind = study.layout.design.fuel.kind
    for tank in study.tanks:
        filler = tank.tank.design.filler
        if filler is None:
            yield not_asked(tank.name, "it has no filler of its own")
            continue
        where = f"{tank.name}.{filler.name}"
        if filler.placard is None:
            yield needs(where, "the placard's words")
            continue
        told = re.sub(_DENIED, "", filler.placard, flags=re.IGNORECASE)
        names = [one for one, pattern in NAMED.items() if re.search(pattern, told, re.IGNORECASE)]
        says = f'the placard says "{filler.placard}"'
        if not names:
            yield needs(where, f"a placard that names a fuel: {says}")
        elif kind in names:
            yield passed(where, f"{says}, and the design's fuel is {kind}")
        else:
            mend = f'Mark the filler for {kind}, or say kind = "{names[0]}" under [fuel], whichever is meant.'
            yield failed(where, f"{says}, which is {' or '.join(names)}; the design's fuel is {kind}", mend)
