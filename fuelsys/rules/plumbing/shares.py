"""Rule on flow shares: the tanks that feed an engine, or a tank that only others fill, give all of its flow together."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.model.built.ends import End, PortEnd, Step
from fuelsys.model.built.way import reached
from fuelsys.model.found.findings import COMMON_PRACTICE, Reach, Stake, Verdict
from fuelsys.model.found.plumbing import Run
from fuelsys.model.found.study import Study
from fuelsys.model.stated.components import Engine, Pump, Selector, ShutOff
from fuelsys.rules.shared import components, end_at, loose, unled
from fuelsys.rules.words import caution, failed, needs, not_asked, passed, rule

# What may shut a way off: valves, pumps, selectors with the line that enters them; None where nothing may.
Gate = tuple[End, str]
Banks = dict[frozenset[Gate | None], tuple[str, ...]]  # tanks that feed together, by the first gates on their ways
_NEARLY = 0.005  # shares in whole per cents leave three tanks 1 % short: 33 % each


@rule(
    subject="flow share",
    reach=Reach.PAPER,
    stake=Stake.MINUTES,
    checks="The tanks that feed the engine, or a tank that only they fill (a header), together give 100 % of its flow, to"
    " half a per cent for each tank; where valves, selectors or pumps may open them one by one, each does.",
    why="Minutes are counted with a tank's share of the flow: with too small a share the pilot is promised minutes that are"
    " not there.",
    mend="State flow_share for each tank so that those that feed together give 100 %, and 100 % for one that may feed"
    " alone.",
    sources=(COMMON_PRACTICE,),
)
def flow_shares_do_not_add_up(study: Study) -> Iterator[Verdict]:
    """The feeders' shares against the share of the tank that they fill, or all of the engine's flow."""
    engines = components(study, Engine)
    if not engines:
        yield needs("engine", "a component of kind engine and the feed lines to it")
    for engine in engines:
        ways = [way for way in study.plumbing.ways if way.end == end_at(engine)]
        if not ways:
            yield needs(engine.name, "feed lines that lead from a tank's outlet to it")
        elif len(engines) > 1:
            yield needs(engine.name, "a design with one engine: with several, shares may be of one's flow or of all")
        else:
            yield _judged(study, engine.name, 1.0, ways)
    for tank in study.layout.tanks:
        ways = [way for way in study.plumbing.ways if way.end.tank == tank.name != way.start.tank]
        if ways and tank.design.filler is not None:
            yield not_asked(tank.name, "it has a filler: what runs into it need not be what it gives")
        elif ways:
            yield _judged(study, tank.name, tank.design.flow_share, ways)
    yield from (verdict for _, verdict in unled(study, "feed"))
    yield from loose(study, ["feed"])


def _gate(study: Study, step: Step) -> Gate | None:
    """What a step enters, where that may be shut."""
    component = study.layout.network.component(step.end)
    if isinstance(component, ShutOff | Pump):
        return step.end, step.line.name if isinstance(component, Selector) else ""
    return None


def _banks(study: Study, ways: list[Run]) -> Banks:
    """The tanks at the start of some ways, those together that nothing can part from each other.

    Two tanks with the same first gates have all later ones in common too; with others, a gate of one may be shut alone.
    """
    gates: dict[str, set[Gate | None]] = {}
    for run in ways:
        of_tank = gates.setdefault(run.start.tank or "", set())
        shut = {step.end for step in run.way.steps if _gate(study, step)}
        before = reached(run.start, run.way.out, shut)
        of_tank |= {
            gate for here in before - shut for step in run.way.out.get(here, ()) if (gate := _gate(study, step))
        }
        of_tank |= {None} if run.end in before else set()
    banks: Banks = {}
    for tank, of_one in gates.items():
        key = frozenset(of_one)
        banks[key] = (*banks.get(key, ()), tank)
    return banks


def _judged(study: Study, where: str, whole: float, ways: list[Run]) -> Verdict:
    """One consumer: whole is the share of the flow that it needs."""
    banks = _banks(study, ways)
    tanks = tuple(tank for bank in banks.values() for tank in bank)
    level = _level_with(study, tanks)
    every = (*tanks, *level)
    slack = _NEARLY * len(every) + 1e-9
    stated = f"{_listed(study, every)} of the flow for {_per_cent(whole)} that {where} needs"
    sums = [_sum(study, bank) for bank in banks.values()]
    if all(abs(one - whole) <= slack for one in sums):
        return passed(where, f"{stated}{', whichever of them feed' if len(banks) > 1 else ''}")
    if elsewhere := _elsewhere(study, ways, tanks):
        return needs(where, f"to know how shares are divided: {elsewhere}. Stated: {stated}")
    always = any(set(every) <= set(group) for group in study.plumbing.fuel_groups)
    if level and always and len(banks) == 1 and abs(_sum(study, every) - whole) <= slack:
        return passed(where, f"{stated}; {', '.join(level)} by the line that keeps their levels equal")
    if max(sums) > whole + slack:
        most = max(banks.values(), key=lambda bank: _sum(study, bank))
        at_once = f"; {' and '.join(most)} feed at the same time, {_per_cent(max(sums))}" if len(most) > 1 else ""
        return caution(where, f"{stated}{at_once}: too much, so their minutes come out too short")
    if _sum(study, every) < whole - slack:
        in_all = f", {_per_cent(_sum(study, every))} in all" if len(every) > 1 else ""
        return failed(where, f"{stated}{in_all}: too little, so their minutes come out too long")
    return caution(
        where,
        f"it depends on {_unsaid(study, ways, banks, level)}; the usual minutes hold for one case only. Stated: {stated}",
        "State 100 % for each: that holds in any case. The least minutes count all the flow whatever is stated.",
    )


def _unsaid(study: Study, ways: list[Run], banks: Banks, level: tuple[str, ...]) -> str:
    """What decides which tanks feed at a time."""
    of_bank = [
        {gate for run in ways if run.start.tank in bank for step in run.way.steps if (gate := _gate(study, step))}
        for bank in banks.values()
    ]
    common = of_bank[0].intersection(*of_bank)
    choosing = sorted({str(end) for some in of_bank for end, _ in some - common})
    if choosing:
        return f"which tanks {', '.join(choosing)} let feed at a time: one alone gives all, several share it"
    return f"how much runs over from {', '.join(level)}"


def _level_with(study: Study, tanks: tuple[str, ...]) -> tuple[str, ...]:
    """Tanks that do not feed themselves but are joined to feeding ones by interconnect lines."""
    ports = [PortEnd(name, port.name) for name in tanks for port in study.layout.tank(name).design.ports]
    ends = {end for port in ports for end in study.layout.network.ends_from(port, "interconnect", downstream=False)}
    met = {end.tank for end in ends} - {None, *tanks}
    return tuple(tank.name for tank in study.layout.tanks if tank.name in met)


def _elsewhere(study: Study, ways: list[Run], tanks: tuple[str, ...]) -> str:
    """Feeders that lead to something else too."""
    own = {way.end.tank or str(way.end) for way in ways}
    ends = {(way.start.tank, way.end.tank or str(way.end)) for way in study.plumbing.ways}
    more = sorted((tank, end) for tank, end in ends if tank in tanks and end not in own and end != tank)
    return ", ".join(f"{tank} leads to {end} too" for tank, end in more)


def _sum(study: Study, tanks: tuple[str, ...]) -> float:
    return sum(study.layout.tank(name).design.flow_share for name in tanks)


def _listed(study: Study, tanks: tuple[str, ...]) -> str:
    return ", ".join(f"{name} {_per_cent(_sum(study, (name,)))}" for name in tanks)


def _per_cent(share: float) -> str:
    return f"{round(share * 100.0, 1):g} %"
