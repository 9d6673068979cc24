"""Rules on fillers: size, bonding, marking."""

from __future__ import annotations

import re
from collections.abc import Iterator

from fuelsys.model.found.findings import COMMON_PRACTICE, Cost, Reach, Source, Stake, Verdict
from fuelsys.model.found.study import Study
from fuelsys.model.stated.design import Design
from fuelsys.model.stated.fittings import Filler
from fuelsys.rules.words import (
    LEAST_SHOWN_M3,
    NO_FITTINGS,
    before_64,
    caution,
    failed,
    litres,
    millimetres,
    needs,
    not_asked,
    passed,
    rule,
)

MOST_GASOLINE_BORE_M = 2.36 * 0.0254  # 14 CFR 23.973(e), before amendment 23-64
LEAST_TURBINE_BORE_M = 2.95 * 0.0254  # 14 CFR 23.973(f), before amendment 23-64
LEAST_FILLED_SHARE = 0.9
# What a placard must say for each fuel: words for people, and what is looked for. 14 CFR 23.1557(c)(1) asks for "Avgas"
# and the grade, or "Jet Fuel" and the designations; motor fuels by analogy: common practice, no source.
PLACARDS = {
    "avgas": ('"Avgas" and the minimum grade, such as "Avgas 100LL"', r"(?=.*avgas)(?=.*\d)"),
    "mogas": ('"Mogas" and the minimum octane number, such as "Mogas 95"', r"(?=.*mogas)(?=.*\d)"),
    "jet": (
        '"Jet Fuel" and the designation, such as "Jet Fuel Jet A-1"',
        r"(?=.*jet\s*fuel)(?=.*jet\s*[ab](?![a-z])|.*\bjp)",
    ),
    "diesel": ('"Diesel" and its standard, such as "Diesel EN 590"', r"(?=.*diesel)(?=.*\d)"),
}


def _fillers(study: Study) -> Iterator[tuple[str, Filler]]:
    """Every filler and what it is called in findings."""
    for tank in study.tanks:
        if tank.tank.design.filler:
            yield f"{tank.name}.{tank.tank.design.filler.name}", tank.tank.design.filler


@rule(
    subject="filler",
    reach=Reach.INSIDE,
    stake=Stake.ENGINE,
    checks="A filler for a piston engine on gasoline is at most 2.36 in (59.9 mm) wide inside, one for a turbine at least"
    " 2.95 in (74.9 mm). For a diesel neither is asked.",
    why="The wide nozzle of the jet fuel pump must not fit a gasoline tank: jet fuel stops a gasoline engine after take-off.",
    mend="Fit a filler of the right size, or a restrictor.",
    sources=(before_64("23.973(e)"), before_64("23.973(f)")),
)
def filler_wrong_size(study: Study) -> Iterator[Verdict]:
    """Bore against the limit for the engine and its fuel."""
    for where, filler in _fillers(study):
        yield _size(study.layout.design, where, filler)


def _size(design: Design, where: str, filler: Filler) -> Verdict:
    turbine = design.aircraft.engine == "turbine"
    if not turbine and not design.fuel.gasoline:
        which = "23.973(e) is for engines on gasoline alone, (f) for turbines"
        return not_asked(where, f"no size is asked for a piston engine on {design.fuel.kind}: {which}")
    if filler.bore_m is None:
        return needs(where, "the filler's bore")
    if turbine:
        evidence = f"{millimetres(filler.bore_m)} inside, at least {millimetres(LEAST_TURBINE_BORE_M)} for a turbine"
        return (
            passed(where, evidence) if filler.bore_m >= LEAST_TURBINE_BORE_M * (1 - 1e-9) else failed(where, evidence)
        )
    evidence = f"{millimetres(filler.bore_m)} inside, at most {millimetres(MOST_GASOLINE_BORE_M)} for gasoline"
    mend = f"Fit a restrictor of at most {millimetres(MOST_GASOLINE_BORE_M)} inside."
    return (
        passed(where, evidence) if filler.bore_m <= MOST_GASOLINE_BORE_M * (1 + 1e-9) else failed(where, evidence, mend)
    )


@rule(
    subject="filler",
    reach=Reach.INSIDE,
    stake=Stake.LITRES,
    checks="A tank with a filler can be filled to 90 % of its capacity or more at the normal ground attitude.",
    why="What stands above the filler's lip, or above a vent that runs over first, is carried about and never filled.",
    mend="Raise the filler's lip, or shorten its neck.",
    sources=(Source("90 %: common practice, no source"),),
)
def filler_low(study: Study) -> Iterator[Verdict]:
    """What goes in before fuel runs out somewhere, against gross."""
    for tank in study.tanks:
        full, gross_m3 = tank.capacity.filled, tank.capacity.gross_m3
        if tank.tank.design.filler is None or full is None:
            bare = not tank.tank.design.ports
            yield needs(tank.name, NO_FITTINGS) if bare else not_asked(tank.name, "it has no filler of its own")
            continue
        evidence = (
            f"at {full.attitude.text} {litres(full.volume_m3)} go in before fuel runs out of its {full.limited_by}:"
            f" {full.volume_m3 / gross_m3 * 100.0:.1f} % of {litres(gross_m3)}"
        )
        if full.trapped_air_m3 >= LEAST_SHOWN_M3:
            evidence += f"; {litres(full.trapped_air_m3)} of air are trapped"
        if full.volume_m3 >= LEAST_FILLED_SHARE * gross_m3:
            yield passed(tank.name, evidence)
        else:
            filler = full.limited_by == tank.tank.design.filler.name
            how = "" if filler else f"Lead the way out of {full.limited_by} higher than the filler's lip."
            yield caution(tank.name, evidence, how, Cost(volume_m3=gross_m3 - full.volume_m3))


@rule(
    subject="filler",
    reach=Reach.OUTSIDE,
    stake=Stake.FIRE,
    checks="Each filler has a point to bond the fuelling nozzle to the aircraft.",
    why="Flowing fuel charges the nozzle; a spark in the filler's mouth ignites the vapour there.",
    mend="Fit a bonding point beside the filler that is joined to the aircraft's metal and, in a composite tank, to the"
    " filler's metal parts.",
    sources=(before_64("23.973(d)"),),
)
def filler_unbonded(study: Study) -> Iterator[Verdict]:
    """The design's word on bonding."""
    for where, filler in _fillers(study):
        if filler.bonded is None:
            yield needs(where, "whether the filler is bonded")
        elif filler.bonded:
            yield passed(where, "a bonding point is shown")
        else:
            yield failed(where, "the design says that it is not bonded")


@rule(
    subject="filler",
    reach=Reach.OUTSIDE,
    stake=Stake.REST,
    checks="The placard at each filler names the fuel and its minimum grade or its designation.",
    why="Whoever fuels the aircraft reads the placard, not the handbook.",
    mend="Mark the filler.",
    sources=(before_64("23.1557(c)(1)"), COMMON_PRACTICE),
)
def filler_unmarked(study: Study) -> Iterator[Verdict]:
    """The placard's words against the fuel of the design."""
    wanted, pattern = PLACARDS[study.layout.design.fuel.kind]
    for where, filler in _fillers(study):
        if filler.placard is None:
            yield needs(where, "the placard's words")
            continue
        says = f'the placard says "{filler.placard}"' if filler.placard.strip() else "the placard is empty"
        if re.match(pattern, filler.placard, re.IGNORECASE):
            yield passed(where, says)
        else:
            yield failed(where, f"{says}, wanted {wanted}", f"Mark the filler with {wanted}.")
