"""The rule on the aircraft's centre of gravity: inside its limits with every stated load, from full tanks to none."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.model.found.balance import Loaded
from fuelsys.model.found.findings import Reach, Source, Stake, Verdict
from fuelsys.model.found.study import Study
from fuelsys.rules.words import failed, litres, mass, millimetres, needs, not_asked, passed, rule


@rule(
    subject="centre of gravity",
    reach=Reach.OUTSIDE,
    stake=Stake.REST,
    checks="With each [[load]], the aircraft's centre of gravity lies inside the stated limits and its mass below the stated most at every"
    " moment of a flight from the tanks as filled until the engine stops, and without any fuel.",
    why="Where tanks lie ahead of or behind the aircraft's centre, that moves as fuel is burnt: an aircraft that is inside its limits at"
    " take-off may land outside them, too unstable or too nose-heavy to flare.",
    mend="Change what is loaded, the order in which tanks feed, or where they stand; `fuelsys balance` shows the way.",
    sources=(Source("14 CFR 23.23, 23.1519", "before amendment 23-64", from_memory=True),),
    rests_on=("mesh-in-doubt",),
)
def centre_of_gravity_outside(study: Study) -> Iterator[Verdict]:
    """Each stated load, along the flight."""
    if not study.layout.design.load:
        yield not_asked("design", "no [[load]] is stated")
    elif not study.weighed.loads:
        yield needs("design", f"a flight that empties the tanks: {study.weighed.needs}")
    for one in study.weighed.loads:
        yield _verdict(one, study.weighed.needs)


def _verdict(one: Loaded, unknown: str) -> Verdict:
    where, said = f"load {one.load.name}", []
    for way, (margin_m, at) in (("forward", one.forward), ("aft", one.aft)):
        if margin_m is not None:
            side = "inside" if margin_m >= 0.0 else "outside"
            said.append(
                f"{millimetres(abs(margin_m))} {side} the {way} limit with {litres(float(one.held_m3[at]))} of fuel"
            )
    if one.over_kg is not None:
        said.append(
            f"{mass(abs(one.over_kg))} {'over' if one.over_kg > 0.0 else 'below'} the most, at {mass(one.most_kg)}"
        )
    evidence = ", ".join(said)
    if one.outside:
        return failed(where, evidence)
    if wanted := ", ".join(what for what in (one.needs, unknown) if what):
        return needs(where, f"{wanted}{f'; {evidence}' if evidence else ''}")
    return passed(where, evidence)
