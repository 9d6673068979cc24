"""From a layout to a study, and from a study to findings."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cache, partial
from pathlib import Path

from fuelsys.analysis.fills.measured import corrected_stick, with_measured
from fuelsys.analysis.lines.breathing import breathing
from fuelsys.analysis.lines.demand import with_demand
from fuelsys.analysis.lines.feeding import flows
from fuelsys.analysis.lines.heat import heated
from fuelsys.analysis.lines.in_flight import in_flight
from fuelsys.analysis.lines.overfilling import overfills
from fuelsys.analysis.lines.phases import unusable_by_phase
from fuelsys.analysis.lines.plumbing import plumbing
from fuelsys.analysis.lines.required_flow import flow_to_show
from fuelsys.analysis.tank.calibration import calibrate
from fuelsys.analysis.tank.capacity import capacity
from fuelsys.analysis.tank.combined import worst_combined
from fuelsys.analysis.tank.combined_trips import combined_trips
from fuelsys.analysis.tank.dipstick import dipstick, marked
from fuelsys.analysis.tank.filling import filled
from fuelsys.analysis.tank.gauge import gauge_studies
from fuelsys.analysis.tank.head import EMERGENCY_LANDING, flight_loads, forces, required_test_pressure
from fuelsys.analysis.tank.overlaps import overlaps
from fuelsys.analysis.tank.sumps import drain_left_on_slope, sumps
from fuelsys.analysis.tank.switches import switch_studies
from fuelsys.analysis.tank.unusable import left_above_drain, unusable
from fuelsys.analysis.tank.warming import warming
from fuelsys.errors import QuestionError, meant
from fuelsys.kernels.steady import NotSteadyError
from fuelsys.load.designs.door import chosen, load_design
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.balance import Weighed
from fuelsys.model.found.capacity import Capacity, Filled
from fuelsys.model.found.dipstick import DipstickStudy
from fuelsys.model.found.exchange import Exchange
from fuelsys.model.found.findings import Finding, Outcome, resting
from fuelsys.model.found.flow import Flows
from fuelsys.model.found.fly import Failures
from fuelsys.model.found.gauge import Calibration
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.found.unusable import Unusable
from fuelsys.model.stated.attitude import Attitude


def read(path: Path | str) -> Layout:
    """A design file's layout, tanks as fill tests found them, with what the flow asks of outlets; DesignError with every fault."""
    return with_measured(with_demand(load_design(Path(path))))


def _failures(layout: Layout, progress: Callable[[str], None]) -> Failures:
    from fuelsys.analysis.flights.failures import all_failures  # noqa: PLC0415  a flight's modules, for who asks

    return all_failures(layout, lambda done, of: progress(f"something wrong: {done} of {of}"))


def weighed(layout: Layout, full: Mapping[str, Filled | None] | None = None) -> Weighed:
    """The aircraft with each stated load as fuel is burnt, on the stated flight and from full tanks, the worst of both.

    full: the tanks as they are filled on the ground, where that is known already.
    """
    if not layout.design.load:
        return Weighed()
    from fuelsys.analysis.flights.balance import burnt_path, loaded  # noqa: PLC0415  a flight's modules, for designs with loads
    from fuelsys.analysis.flights.changes import wanting  # noqa: PLC0415
    from fuelsys.analysis.flights.fly import fly  # noqa: PLC0415
    from fuelsys.analysis.flights.setting import World  # noqa: PLC0415

    from_full = replace(layout, design=layout.design.model_copy(update={"flight": ()}))
    if full is None:
        full = {tank.name: filled(layout, tank, layout.design.normal("ground")) for tank in layout.tanks}
    open_ended = [name for name, one in full.items() if one is None]
    needs = f"a filler or a vent of {', '.join(open_ended)}: how full it is" if open_ended else ""
    try:
        paths = [
            burnt_path(one, fly(World.of(one))) for one in ([layout] if layout.design.flight else []) + [from_full]
        ]
        return Weighed(loaded(layout, *paths), needs)
    except (QuestionError, NotSteadyError) as fault:
        return Weighed(needs=wanting(fault))


def _exchange(layout: Layout, tanks: Sequence[TankStudy]) -> Exchange:
    from fuelsys.analysis.flights.exchange import exchange  # noqa: PLC0415  a flight's modules, for who asks

    return exchange(layout, tanks)


def study_tank(
    layout: Layout, tank: FittedTank, marks_in: str = "L", progress: Callable[[str], None] = lambda _: None
) -> TankStudy:
    """Everything that is computed for one tank, each once it is read; QuestionError at once where its dipstick cannot be marked."""
    design, envelope, normal = layout.design, layout.design.envelope, layout.design.normal
    ground = [attitude for attitude in envelope if attitude.phase == "ground"]
    borne, density = (*EMERGENCY_LANDING, *flight_loads(design.aircraft.limit_load_factor)), design.fuel.density_kg_m3
    if tank.design.dipstick:
        for attitude in _turned(layout, tank):
            marked(layout, tank, marks_in, attitude)

    @cache
    def held() -> Capacity:
        progress(f"tank {tank.name}")
        return capacity(layout, tank)

    def fill() -> tuple[Filled, ...]:
        return tuple(full for a in ground if (full := held().filled if a.normal else filled(layout, tank, a)))

    return TankStudy(
        tank=tank,
        hold=held,
        switch=lambda: switch_studies(layout, tank, held().unusable),
        graduate=lambda: _faces(layout, tank, marks_in, held().unusable, _turned(layout, tank)),
        drain=lambda: tuple(left for a in envelope if (left := left_above_drain(tank, a))),
        fill=fill,
        drain_on_slope=lambda: drain_left_on_slope(tank, normal("ground")),
        gather=lambda: sumps(tank, (normal("ground"), normal("flight"))),
        warm=lambda: warming(layout, tank, held()),
        prove=lambda: required_test_pressure(tank.cavity, density, borne),
        press=lambda: forces(tank.cavity, density, full.volume_m3) if (full := held().filled) else (),
        combine=lambda: worst_combined(tank, envelope),
        trip=lambda: combined_trips(tank, envelope),
        phase=lambda: unusable_by_phase(layout, tank),
        gauge=lambda: gauge_studies(tank, envelope, held()),
    )


def _turned(layout: Layout, tank: FittedTank) -> tuple[Attitude, ...]:
    """The attitudes that a tank's dipstick is made for, one for each face."""
    stated = tank.design.dipstick
    other = None if stated is None else stated.other_face
    return (layout.design.normal("ground"), *(one for one in layout.design.envelope if one.name == other))


def _faces(
    layout: Layout, tank: FittedTank, marks_in: str, left: Unusable | None, at: tuple[Attitude, ...]
) -> tuple[DipstickStudy, ...]:
    """The faces of a tank's dipstick for one or two attitudes, marked by its fill test where there is one; none without a stick."""
    if tank.design.dipstick is None:
        return ()
    left_m3 = None if left is None else left.volume_m3
    turns = (at, at[::-1])[: len(at)]
    return tuple(corrected_stick(tank, dipstick(layout, tank, marks_in, left_m3, at=turn), marks_in) for turn in turns)


def study(
    layout: Layout,
    progress: Callable[[str], None] = lambda _: None,
    only: str | None = None,
    marks_in: str = "L",
    *,
    failures: bool = False,
) -> Study:
    """The study of a layout, or of one of its tanks, each thing computed once it is read; progress is told which tank is begun.

    The flow is looked at first, and a dipstick that cannot be marked is refused. marks_in is the unit of volume that dipsticks are
    graduated in. failures: the design is flown with each single thing wrong, and two by one cause, where that is asked for, which
    takes seconds.
    """
    layout = with_measured(with_demand(layout))
    tanks = tuple(study_tank(layout, tank, marks_in, progress) for tank in chosen(layout, only))
    ground = layout.design.normal("ground")
    full = cache(lambda: {tank.name: filled(layout, tank, ground) for tank in layout.tanks})
    lead = cache(lambda: plumbing(layout, full()))
    return Study(
        layout,
        tanks,
        lead,
        flow_to_show(layout),
        overlap=partial(overlaps, layout.tanks),
        carry=partial(flows, layout),
        fly=lambda: in_flight(layout, full(), lead().airings),
        breathe=lambda: breathing(layout, lead().airings),
        overfill=lambda: overfills(layout, lead().airings),
        heat=lambda: heated(layout, {one.name: one.capacity for one in tanks}),
        join=partial(_exchange, layout, tanks),
        weigh=lambda: weighed(layout, full()),
        fail=partial(_failures, layout, progress) if failures else lambda: None,
    )


def carried(layout: Layout) -> Flows:
    """What the feed lines carry; QuestionError where nothing of it can be computed."""
    found = flows(layout)
    if not found.to:
        what = "; ".join(f"{one.where}: needs {one.needs}" for one in found.missing)
        mend = "Give feed lines from the tanks' outlets to an engine, a pump or a tank." if not what else "State it."
        raise QuestionError(f"no flow can be computed{': ' if what else ''}{what}", mend=mend, file=layout.file)
    return found


def findings(of: Study) -> list[Finding]:
    """All findings on a study, worst first by what they cost; among equals in the order of the rules."""
    from fuelsys.rules import ALL  # noqa: PLC0415  for those who judge: a study alone starts without its hundred rules

    found = [finding for rule in ALL for finding in rule.findings(of)]
    return sorted(resting(found, [tank.name for tank in of.layout.tanks]), key=lambda finding: finding.rank)


def exit_code(found: list[Finding]) -> int:
    """0: all is checked and passes; 1: something fails; 3: nothing fails, but there are cautions or unchecked rules."""
    worst = min((finding.outcome for finding in found), default=Outcome.PASS)
    return {Outcome.FAIL: 1, Outcome.CAUTION: 3, Outcome.NOT_CHECKED: 3}.get(worst, 0)


def gauged(
    layout: Layout, allowed_m3: float, pours_in: str, only: str | None = None, named: str | None = None
) -> list[tuple[FittedTank, Calibration]]:
    """The calibration of each gauge of a tank, or of all tanks; QuestionError where there is none or it cannot be computed."""
    found: list[tuple[FittedTank, Calibration]] = []
    known = [gauge.name for tank in chosen(layout, only) for gauge in tank.design.gauge]
    if named is not None and known and named not in known:
        mend = f"{meant(named, known)}Name one of {', '.join(known)}."
        raise QuestionError(f'there is no gauge "{named}"', mend=mend, file=layout.file, field="gauge")
    for tank in chosen(layout, only):
        if not tank.design.gauge and only is None:
            continue
        where = f"tank {tank.name}"
        if not tank.design.gauge:
            mend = "Add [[tank.gauge]]; `fuelsys new MESH` shows its kinds."
            raise QuestionError(f"{where} has no gauge", mend=mend, file=layout.file, field=f"{where}.gauge")
        held = capacity(layout, tank)
        if held.unusable is None:
            mend = "Add [[tank.outlet]]: a gauge shows what is usable."
            raise QuestionError(f"{where} has no outlet", mend=mend, file=layout.file, field=f"{where}.outlet")
        studies = gauge_studies(tank, layout.design.envelope, held, named)
        found += [(tank, calibrate(layout, tank, gauge, held.filled, allowed_m3, pours_in)) for gauge in studies]
    if not found:
        mend = "Add [[tank.gauge]]; `fuelsys new MESH` shows its kinds."
        raise QuestionError("no tank has a gauge", mend=mend, file=layout.file)
    return found


def switched(of: Study, only: str | None = None) -> tuple[TankStudy, ...]:
    """The tanks of a study that have low-level switches; QuestionError where none has."""
    found = tuple(tank for tank in of.tanks if tank.tank.design.switch)
    if not found:
        where = {"field": f"tank {only}.switch"} if only else {}
        what = f"tank {only} has no low-level switch" if only else "no tank has a low-level switch"
        raise QuestionError(what, mend="Add [[tank.switch]] with name and mark.", file=of.layout.file, **where)
    return found


def dipsticks(
    layout: Layout, marks_in: str, only: str | None = None, at: Sequence[Attitude] = ()
) -> list[tuple[FittedTank, tuple[DipstickStudy, ...]]]:
    """The dipstick of a tank, or of each tank that has one, in a unit of volume; QuestionError where there is none.

    It has a face for each attitude, one or two: for the design's where none is given.
    """
    asked = chosen(layout, only)
    found = []
    for tank in asked:
        if tank.design.dipstick:
            left = unusable(tank, layout.design.envelope)
            found.append((tank, _faces(layout, tank, marks_in, left, tuple(at) or _turned(layout, tank))))
    if not found:
        which = f"tank {asked[0].name} has" if only else "no tank has"
        where = f"tank {asked[0].name}.dipstick" if only else ""
        fault = f"{which} {'no' if only else 'a'} dipstick"
        raise QuestionError(fault, mend="Add [tank.dipstick] with top and bottom.", file=layout.file, field=where)
    return found
