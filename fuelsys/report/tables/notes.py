"""Notes that stand under several tables."""

from __future__ import annotations

from fuelsys.model.built.cavity import Cavity
from fuelsys.model.built.layout import Cover, FittedTank
from fuelsys.model.found.outflow import Outflow
from fuelsys.model.found.place import LEAST_ROOM_M
from fuelsys.model.found.study import TankStudy
from fuelsys.model.found.switches import SwitchStudy, left_text
from fuelsys.model.found.unusable import LEAST_OVER_M, Held, Unusable, UnusableAt
from fuelsys.model.words import Doubt, Quantity
from fuelsys.report.shown import Shown

NONE_LEFT = "None left: the last usable fuel was gone so many minutes before the switch trips; usable fuel and time stand below zero."
TO_WALL = (
    "To wall: from the mark to the nearest part of the cavity's surface (wall, rib, body inside). The float needs room about"
    " the mark, all the way that it moves; the design does not state its size: compare it."
)


def told(cavity: Cavity, shown: Shown) -> tuple[str, ...]:
    """What every table of a tank begins with: the tests that corrected it, and why what it holds may be wrong."""
    return (*map(shown.words, cavity.measured), *cavity.warnings)


def told_of(tank: FittedTank, shown: Shown) -> tuple[str, ...]:
    """The same where usable fuel or minutes are told: why they may be wrong, too."""
    return (*told(tank.cavity, shown), *tank.remarks)


def narrow(clearance_m: float, shown: Shown) -> tuple[str, ...]:
    """A warning where a mark stands so near to a wall that hardly any float has room about it."""
    if clearance_m >= LEAST_ROOM_M:
        return ()
    gap, least = (shown.text(length_m, "length") for length_m in (clearance_m, LEAST_ROOM_M))
    return (
        Doubt(f"the mark stands {gap} from a wall; a float seldom has room in {least} (common practice, no source)."),
    )


def narrow_gaps(tank: TankStudy, shown: Shown) -> tuple[str, ...]:
    """What counts as closed because it is too narrow to count on: a warning where that makes a difference, with both figures."""
    gaps, left = tank.tank.cavity.gaps, tank.capacity.unusable
    if not gaps:
        return ()
    at = shown.words((Quantity("length", tuple(tank.tank.mesh_m(gaps[0].at_m).tolist())),))
    least = shown.short(tank.tank.design.narrowest_passage_m, "length")
    where = f"{f'{len(gaps)} gaps' if len(gaps) > 1 else 'a gap'} narrower than {least}"
    where += f", the narrowest near {at} in the mesh's axes," if len(gaps) > 1 else f" near {at} in the mesh's axes"
    counts = f"{where} {'count' if len(gaps) > 1 else 'counts'} as closed (narrowest_passage)"
    if left is None:
        return (f"{counts}.",)
    if left.opened is None:
        return (
            Doubt(
                f"{counts}; what stays behind with them open cannot be computed, since walls touch or overlap there."
            ),
        )
    if not left.gaps_matter:
        return (f"{counts}; open, they would make no difference to what stays behind.",)
    at_worst, opened = left.worst, left.opened.worst
    return (
        Doubt(
            f"{counts}: {shown.text(left.volume_m3, 'volume')} unusable at {at_worst.attitude.name}; with them open"
            f" {shown.text(left.opened.volume_m3, 'volume')} at {opened.attitude.name}. Sealant may close such a gap, or not: make"
            " it a real passage, or close it."
        ),
    )


def open_gaps(switch: SwitchStudy) -> tuple[str, ...]:
    """What the minutes would be with narrow gaps open, where that makes a difference."""
    if switch.opened is None:
        return ()
    figures = [_least_minutes(one) for one in (switch, switch.opened)]
    return (
        f"Latest in flight with narrow gaps closed: {figures[0]}; with them open: {figures[1]}. Count on the lesser.",
    )


def worst_flow(out: Outflow, shown: Shown) -> str:
    """The flow that minutes in the worst state are counted with."""
    whole = shown.flow_text(out.alone_m3_s)
    if not out.to:
        return f"In the worst state all that is burnt comes from this tank: {whole}."
    if out.returned_m3_s is None:
        return Doubt(
            f"the worst state is not known: the engine returns fuel to {', '.join(out.to)}, and how much is not stated."
        )
    more = f"{whole} are burnt and {shown.flow_text(out.returned_m3_s)} returned to {', '.join(out.to)}"
    if out.held_m3 is None:
        return f"In the worst state all comes from this tank: {more}, from where nothing brings it back for certain."
    kept = shown.text(out.held_m3, "volume")
    return f"In the worst state all comes from this tank: {more}, from where it runs back by gravity once {kept} more are held there."


def _least_minutes(switch: SwitchStudy) -> str:
    least = switch.least_minutes(switch.worst.latest_m3) if switch.worst else None
    return "it never trips at some attitude" if least is None else left_text(least)


def held_by_line(left: Unusable, shown: Shown) -> tuple[str, ...]:
    """Warnings where a feed line that rises above its outlet, or the flow, holds fuel back; none where neither does."""
    most, flowing = max(left.at, key=lambda at: at.over_m), max(left.at, key=lambda at: at.starved_m)
    found = []
    if most.over_m >= LEAST_OVER_M:
        found.append(
            Doubt(
                f"without a pump fuel does not run over a feed line that rises above its outlet, by up to"
                f" {shown.text(most.over_m, 'length')} at {most.attitude.text}: what stands below its highest point counts as residual."
                " A siphon is not relied upon."
            )
        )
    beside = max(left.at, key=lambda at: at.beside_m)
    if beside.beside_m >= LEAST_OVER_M:
        found.append(
            Doubt(
                f"fuel runs into the tank that this one gives through only down to what stays in that one: it holds the surface up by"
                f" {shown.text(beside.beside_m, 'length')} at {beside.attitude.text}, held for ever."
            )
        )
    if flowing.starved_m >= LEAST_OVER_M:
        found.append(
            Doubt(
                f"gravity brings the greatest flow only while the surface stands {shown.text(flowing.starved_m, 'length')}"
                f" higher than the outlet asks, at {flowing.attitude.text}: {shown.text(flowing.by_flow_m3, 'volume')} of the residual"
                " fuel there are due to it."
            )
        )
    return tuple(found)


def for_a_time(tank: TankStudy, shown: Shown) -> tuple[str, ...]:
    """What counts at attitudes that are held for a time, with the time and the flow; none where none is."""
    left, draw = tank.capacity.unusable, tank.tank.draw
    stated = [at for at in left.at if at.attitude.held_s is not None] if left else []
    if left is None or draw is None or not stated:
        return ()
    if draw.needs:
        names = ", ".join(at.attitude.name for at in stated)
        return (Doubt(f"{names} count as held for ever: what is drawn in the time is not known, needs {draw.needs}."),)
    told = [_held(at, at.held, shown) for at in stated if at.held]
    return (
        f"Held for a time: turned into from the worst attitude that is held for ever, fuel that lay over the outlet counts, at"
        f" {shown.flow_text(draw.drawn_m3_s)}"
        " drawn from this tank alone. A header tank or another tank that bridges the time is not counted, nor slosh, nor a turn"
        " from another attitude.",
        *told,
        f"If each is held for ever, {shown.text(left.sustained.sustained_m3, 'volume')} are unusable, at"
        f" {left.sustained.attitude.text}.",
    )


def _held(at: UnusableAt, held: Held, shown: Shown) -> str:
    name, forever = at.attitude.text, shown.text(at.sustained_m3, "volume")
    if held.unusable_m3 >= at.sustained_m3:
        return (
            f"{name}: {forever} unusable, for the time or for ever: what can be drawn in the time makes no difference."
        )
    told = f"{name}: {shown.text(held.unusable_m3, 'volume')} unusable, {forever} if it is held for ever."
    if held.from_m3 is None:
        return f"{told} It may give nothing in that time, which the tank that it gives through has to outlast."
    return f"{told} It outlasts the time with {shown.text(held.from_m3, 'volume')} or more."


def forever(switch: SwitchStudy) -> tuple[str, ...]:
    """What the worst trip leaves if the attitudes that are held for a time are held for ever."""
    if switch.forever_minutes is None:
        return ()
    return (f"Least in flight if every attitude is held for ever: {left_text(switch.forever_minutes)}.",)


def covered(tank: TankStudy, shown: Shown) -> tuple[str, ...]:
    """A warning where the cover of an outlet is not stated: what was assumed, or that nothing was."""
    found = []
    for name, cover in tank.tank.covers.items():
        if cover.assumed and tank.capacity.unusable and tank.capacity.unusable.uncovered_m3 is not None:
            found.append(
                Doubt(
                    f"{tank.name}.{name} states no cover: {shown.text(cover.height_m, 'length')} assumed against a funnel of air, for"
                    f" {shown.flow_text(cover.flow_m3_s)} (S/D = 1 + 2.3 Fr, ANSI/HI 9.8); {_dipped(cover, tank.capacity.unusable, shown)}"
                    f"without any {shown.text(tank.capacity.unusable.uncovered_m3, 'volume')}. A drain test decides: state cover."
                )
            )
    found += _ended(tank)
    return tuple(found)


def _dipped(cover: Cover, left: Unusable, shown: Shown) -> str:
    if left.dipped_m3 is None:
        return ""
    dip, dipped = shown.text(cover.dip_m, "length"), shown.text(left.dipped_m3, "volume")
    return f"with the {dip} of a draw-down without whirl {dipped} would be unusable, "


def _ended(tank: TankStudy) -> list[Doubt]:
    """Outlets that let air past to their tank's others: what stands below them counts as unusable."""
    return [
        Doubt(
            f"{name} bare of fuel lets air {'past' if not ends.needs else 'past, as far as is known,'} to where the line of"
            f" {', '.join(ends.others)} goes: what is left then counts as unusable, and the explorer leaves the tank out."
            + (f" To know needs {ends.needs}." if ends.needs else "")
        )
        for name, ends in tank.tank.ends.items()
    ]
