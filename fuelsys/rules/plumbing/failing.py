"""Rules on failures, single or by one cause, flown: each that stops the engine is told by a lamp in time, and few stop it at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from fuelsys import units
from fuelsys.model.found.findings import COMMON_PRACTICE, Cost, Outcome, Reach, Stake, Verdict
from fuelsys.model.found.fly import ENOUGH_S, Change, Failing, Failures, Flown
from fuelsys.model.found.study import Study
from fuelsys.model.words import Words
from fuelsys.rules.words import litres, needs, not_asked, passed, rule, said

NOT_FLOWN = "the design flown with each thing wrong, single or by one cause: `fuelsys check DESIGN --failures` does it"
_FLOWN = (
    "Flown is the [[flight]] of the design, or where none is stated the one from full at the normal flight attitude and the reserve"
    " flow."
)
# Sooner than with nothing wrong: a failure that stops the engine so takes fuel away; chosen here, no source.
_KEPT_BACK_S = 60.0


@rule(
    subject="failure",
    reach=Reach.INSIDE,
    stake=Stake.ENGINE,
    checks="With any single thing wrong (a pump, a valve, shut or leaking, a selector, a tank that does not feed, a vent, a strainer, a"
    " lamp, less fuel than dipped, an attitude that is held, a descent in a slip among them), or two by one cause (ice, dirt, no electric"
    " power),"
    f" a lamp lights at least {ENOUGH_S / 60:g} minutes before the engine stops, its mark low by its tolerance. {_FLOWN}"
    " What stops the engine sooner than that, or takes all lamps with it, is judged by failure-stops-engine-at-once.",
    why="Fuel that a failure keeps back is counted on until the engine stops; a lamp in time leaves a choice of fields.",
    mend="Add a switch in the tank that then feeds the engine, or a second way for fuel or air.",
    sources=(COMMON_PRACTICE,),
    rests_on=("mesh-in-doubt", "cover-not-stated", "warning-tolerance-unknown"),
)
def failure_without_warning(study: Study) -> Iterator[Verdict]:
    """Each failure: fail where the engine stops sooner, its fuel kept back, and no lamp lights, which one could; else caution."""
    yield from _each(study, soon=False)


@rule(
    subject="failure",
    reach=Reach.OUTSIDE,
    stake=Stake.ENGINE,
    checks="No single thing that goes wrong with full tanks, nor two by one cause, stops the engine at once, or so soon that no lamp can"
    f" tell it {ENOUGH_S / 60:g} minutes before, or takes all lamps with it; but for a valve that is there to shut the fuel off, and the"
    f" only tank that feeds the engine. {_FLOWN}",
    why="No lamp tells it before: only a second way for fuel or air helps.",
    mend="Add a second pump, driven by something else, or a second way for the air.",
    sources=(COMMON_PRACTICE,),
    rests_on=("mesh-in-doubt",),
)
def failure_stops_engine_at_once(study: Study) -> Iterator[Verdict]:
    """Each failure that no lamp can tell, too soon or dark: caution, since nothing stated has to fail for it."""
    yield from _each(study, soon=True)


def _each(study: Study, *, soon: bool) -> Iterator[Verdict]:
    """The verdict on each failure that no lamp can tell, the engine stopping too soon or all lamps dark, or on each other one."""
    found = study.failures
    if found is None:
        yield needs("engine", NOT_FLOWN)
    elif found.needs:
        yield needs("engine", found.needs)
    else:
        judged = [(one, _judged(found, one)) for one in found.every if (_too_soon(one) or one.dark) is soon]
        well = [one for one, verdict in judged if one.held and verdict.outcome is Outcome.PASS]
        yield from (verdict for one, verdict in judged if one not in well)
        yield from _held_well(well) if well else ()
        yield from _lasting(found.every) if soon else ()
        if found.more and soon:
            yield needs("pairs", f"{found.more} more pairs of things wrong by one cause, which were not flown")


def _held_well(every: Sequence[Failing]) -> Iterator[Verdict]:
    """One pass for all attitudes that may be held: how long before the engine stops a lamp is sure to light at the worst."""
    told = [one for one in every if one.least_s is not None]
    rest = f"{len(every) - len(told)} of them leave the engine running to the flight's end"
    evidence = f"each held from the start, or from when a lamp is due: {len(every)} flights"
    if told:
        least = min(told, key=lambda one: one.least_s or 0.0)
        evidence += f"; a lamp lights at least {_min(least.least_s or 0.0)} before the engine stops ({least.words})"
    yield passed("attitudes", f"{evidence}; {rest}" if len(told) < len(every) else evidence)


def _lasting(every: Sequence[Failing]) -> Iterator[Verdict]:
    """A pass for all with which the engine ran for ten minutes; what was not flown, or not for so long, shows nothing."""
    lasting = 0
    for one in every:
        if one.flown is None:
            yield needs(one.words, one.needs)
        elif one.flown.end_s >= ENOUGH_S:
            lasting += 1
        elif not one.flown.stopped:
            ends = f"the [[flight]] ends after {_min(one.flown.end_s)} with the engine running"
            yield needs(one.words, f"a flight of at least ten minutes: {ends}")
    if lasting and all(one.meant for one in every if _too_soon(one)):
        yield passed("engine", f"with each of {lasting} things wrong it runs for at least ten minutes")


def _too_soon(one: Failing) -> bool:
    return one.flown is not None and bool(one.flown.stopped) and one.flown.end_s < ENOUGH_S


def _judged(found: Failures, one: Failing) -> Verdict:
    if one.flown is None:
        return needs(one.words, one.needs)
    if one.meant:
        stops = "the engine stops at once, as it must: no other way brings it fuel, and no lamp can tell it before"
        return not_asked(one.words, stops)
    if not one.flown.stopped:
        return passed(one.words, f"the flight ends after {_min(one.flown.end_s)} with the engine running")
    if not one.marked:
        return passed(one.words, _told(one, one.flown))
    blind = one.least_s is None and one.stated and _takes_away(found.usual, one.flown)
    flown = (*found.basis, ": ")
    by = f"; {one.cause}" if one.cause else ""
    evidence = (*flown, *said(f"{_told(one, one.flown)}{by}; {litres(one.flown.left_m3)} are left in the tanks"))
    told = one.change is None or one.change.lamp  # what a lamp cannot tell waits for something to fail, as at once
    outcome = Outcome.FAIL if blind and told and not _too_soon(one) and not one.dark else Outcome.CAUTION
    return Verdict(outcome, one.words, evidence, _mend(one), Cost(short_s=ENOUGH_S - max(0.0, one.least_s or 0.0)))


def _takes_away(usual: Flown | None, flown: Flown) -> bool:
    """Whether a failure takes fuel and its warning away: with nothing wrong the engine runs longer, and a lamp tells its end."""
    if usual is None:
        return False
    return flown.end_s < usual.end_s - _KEPT_BACK_S and not (usual.stopped and usual.warning is None)


def _min(seconds: float) -> str:
    """Minutes, never rounded up: 598 s are less than ten of them."""
    return f"{units.minutes(seconds)} min"


def _told(one: Failing, flown: Flown) -> str:
    """When the engine stops, and how long before which lamp lights."""
    if one.at_once:
        return "the engine stops at once, and no lamp can tell it before"
    stops = f"the engine stops after {_min(flown.end_s)}"
    lamp = flown.warning
    if lamp is None or one.before_s is None:
        return f"{stops} with no lamp lit before"
    at_least = (
        "its mark may be so low that it does not, which counts as no warning"
        if one.least_s is None
        else f"at the latest {_min(one.least_s)}"
    )
    return f"{stops}; {lamp.tank} {lamp.switch} lights {_min(one.before_s)} before, {at_least}"


def _mend(one: Failing) -> Words:
    """The change that was found, and what it is worth; or which were flown and are worth nothing."""
    if one.change is None:
        if not one.tried and not one.unflown:
            return ("No switch lights in time: a second way for fuel or air is needed.",)
        pairs = f", and {one.pairs} {'pair' if one.pairs == 1 else 'pairs'} of them" if one.pairs else ""
        flown = f"Flown with {', '.join(one.tried)}{pairs}: none gives ten minutes. " if one.tried else ""
        rest = f"Could not be flown: {'; '.join(one.unflown)}. " if one.unflown else ""
        return (f"{flown}{rest}A second way for fuel or air is needed.",)
    return (*_first_up(one.change), f": flown so, {after(one.change.proof)}.")


def after(proof: Failing) -> str:
    """What a change is worth."""
    if proof.flown is None or not proof.flown.stopped:
        return "the engine does not stop"
    return f"a lamp lights {_min(proof.least_s or 0.0)} before the engine stops, at {_min(proof.flown.end_s)}"


def _first_up(change: Change) -> Words:
    first, *rest = change.words
    return (first[:1].upper() + first[1:] if isinstance(first, str) else first, *rest)
