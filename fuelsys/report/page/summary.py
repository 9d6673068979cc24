"""What a summary tells beside its tables: what each tank gives at each attitude, and where the mark of each switch goes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from fuelsys.analysis.tank.drill import drill_list
from fuelsys.model.found.drill import DrillList, Fitting, Stop
from fuelsys.model.found.exchange import Exchange, TogetherAt
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.found.unusable import LEAST_DIFFERENCE_M3
from fuelsys.model.stated.attitude import Attitude
from fuelsys.report.drawing.ink import minus
from fuelsys.report.drill.table import notes, stem_words
from fuelsys.report.shown import Shown


class Given(NamedTuple):
    """An attitude, how it tilts, and what each tank and all of them give while it is held: none on the ground, "–" if not known."""

    name: str
    tilt: str
    figures: tuple[str, ...]


class Drilled(NamedTuple):
    """Where a switch's mark goes, the way of its stem, what was moved or is not known, and what forbids to drill (stops)."""

    tank: str
    switch: str
    place: str
    stem: str
    remark: str
    stops: str


def usable_at(study: Study, shown: Shown) -> list[Given]:
    """Each attitude of the envelope, with what tanks filled on the ground give while it is held for ever.

    The sum of all tanks stands behind, where there are several, less what joined tanks keep together beyond their own; a figure
    of one of those is a limit, and the sum is not known where that is not.
    """
    found, of = [], study.exchange
    for attitude in study.layout.design.envelope:
        joined = _joined(of, attitude)
        volumes = [_usable_m3(tank, attitude) for tank in study.tanks] if attitude.phase == "flight" else []
        known = [volume_m3 for volume_m3 in volumes if volume_m3 is not None]
        if len(volumes) > 1:
            more_m3 = sum(at.forever_m3 - at.own_forever_m3 for _, at in joined)
            volumes.append(max(0.0, sum(known) - more_m3) if len(known) == len(volumes) and not of.unknown else None)
        limits = {name for names, _ in joined for name in names}
        names = [*(tank.name for tank in study.tanks), ""]
        told = tuple(
            "–" if one is None else ("≤ " if name in limits else "") + shown.figure(one, "volume")
            for name, one in zip(names, volumes, strict=False)
        )
        name = f"{attitude.name} (normal)" if attitude.normal else attitude.name
        found.append(Given(name, minus(attitude.text.removeprefix(attitude.name).strip(" ()")), told))
    return found


def _joined(of: Exchange, attitude: Attitude) -> list[tuple[tuple[str, ...], TogetherAt]]:
    """Joined tanks that keep more together at an attitude, held for ever, than for themselves."""
    found = [(group.joined.tanks, at) for group in of.apart for at in group.at if at.attitude == attitude]
    return [(names, at) for names, at in found if at.forever_m3 > at.own_forever_m3 + LEAST_DIFFERENCE_M3]


def _usable_m3(tank: TankStudy, attitude: Attitude) -> float | None:
    """What a flight attitude leaves to use of a tank as it is filled: none where no line leads to an engine."""
    full, left = tank.capacity.filled, tank.capacity.unusable
    if full is None or left is None:
        return None
    if tank.capacity.cut_off:
        return 0.0
    at = next(at for at in left.at if at.attitude.name == attitude.name)
    return max(0.0, full.volume_m3 - at.sustained_m3)


def switch_places(tanks: Sequence[TankStudy], shown: Shown) -> list[Drilled]:
    """Each switch of the tanks as on their drill sheets."""
    return [
        _drilled(tank.name, one, drill, shown)
        for tank in tanks
        for drill in [drill_list(tank)]
        for one in drill.fittings
        if one.kind == "switch"
    ]


def _drilled(tank: str, one: Fitting, drill: DrillList, shown: Shown) -> Drilled:
    offs = [f"{shown.figure(edge.off_m(one.point_m), 'length')} from the {edge.name}" for edge in drill.datums]
    stem = " or ".join(stem_words(stem, shown) for stem in one.stems)
    stops = " ".join(note for note in notes(one, drill, shown) if isinstance(note, Stop))
    told = [one.doubt] if one.doubt and not stops else []
    if one.was_m is not None:
        told.append(f"{shown.figure(one.rise_m or 0.0, 'length')} above the design's, for its minutes")
    return Drilled(tank, one.name.removeprefix("switch "), ", ".join(offs), stem or "–", "; ".join(told), stops)
