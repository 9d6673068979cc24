"""How a gauge is calibrated: the fewest points, what it shows wrong at each attitude, and what to expect while pouring."""

from __future__ import annotations

import numpy as np

from fuelsys.analysis.tank.dipstick import round_step_m3
from fuelsys.analysis.tank.gauge import Way, level_curve
from fuelsys.analysis.tank.levels import one_pool_above_m
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.arrays import Floats
from fuelsys.errors import QuestionError
from fuelsys.kernels.fewest import fewest_and_nearest
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.capacity import Filled
from fuelsys.model.found.gauge import Calibration, Curve, ErrorAt, GaugeStudy, Poured, SensedAt, SetPoint

SIGNAL_STEP = 0.0025  # points are chosen among signals that are round in this, and the two ends
LOOKED_AT = 600  # quantities at which errors are looked at, beside those at which a signal bends
_SHORT_M3 = 1e-9  # quantities as near as this are one


def calibrate(
    layout: Layout, tank: FittedTank, gauge: GaugeStudy, filled: Filled | None, allowed_m3: float, pours_in: str
) -> Calibration:
    """The calibration of a gauge for an error at the normal flight attitude; QuestionError where it sees nothing there.

    It shows usable fuel: nothing where the unusable fuel of the worst flight attitude is left. pours_in is the unit of volume
    that the quantities to pour are round in.
    """
    at = gauge.normal
    seen = at.least
    first_m3, last_m3 = max(gauge.unusable_m3, seen.seen_from), min(gauge.filled_m3, seen.seen_to)
    if not seen.sees or last_m3 - first_m3 <= _SHORT_M3:
        what = f"at {at.attitude.text} its signal does not change while usable fuel runs out"
        mend = "Move it to where the fuel falls, or exchange its ends."
        raise QuestionError(what, mend=mend, file=layout.file, field=f"tank {gauge.tank}.gauge {gauge.name}")
    signals = _signals(gauge, *(float(s) for s in seen.signal_at(np.array([gauge.unusable_m3, last_m3]))))
    usable = np.maximum(seen.least_at(signals) - gauge.unusable_m3, 0.0)
    usable[0] = 0.0  # where it sees no deeper, it shows nothing left
    chosen = fewest_and_nearest(signals, usable, allowed_m3)
    ground = layout.design.normal("ground")
    tilted = Tilted.of(tank.cavity, ground.up)
    apart_m = one_pool_above_m(tilted)
    way = Way.of(tank, next(one for one in tank.design.gauge if one.name == gauge.name))
    levels = level_curve(tank, way, ground)
    poured = [_poured_for(levels, tilted, apart_m, float(s)) for s in signals[chosen]]
    points = tuple(
        SetPoint(float(s), float(u), p) for s, u, p in zip(signals[chosen], usable[chosen], poured, strict=True)
    )
    errors = tuple(_errors(gauge, one, points) for one in gauge.at)
    blind_m3 = at.blind_to_m3 - gauge.unusable_m3
    blind_m3 = blind_m3 if blind_m3 > _SHORT_M3 else 0.0
    if gauge.steps:  # between its steps a row of switches says nothing
        between = shown_m3(points, signals) - usable
    else:
        of_normal = next(error for error in errors if error.attitude is at.attitude)
        between = of_normal.between(gauge.unusable_m3 + (float(usable[1]) if blind_m3 else 0.0), last_m3)
    return Calibration(
        gauge,
        allowed_m3,
        points,
        float(np.abs(between).max(initial=0.0)),
        _step_m3(gauge, seen),
        blind_m3,
        max(0.0, gauge.filled_m3 - seen.seen_to),
        errors,
        ground,
        _pours(tank, gauge, levels, tilted, apart_m, points, pours_in),
        float(tilted.volume_and_area(np.array([apart_m]))[0][0]),
        filled.trapped_air_m3 if filled else 0.0,
    )


def _signals(gauge: GaugeStudy, first: float, last: float) -> Floats:
    """The signals among which points are chosen: each step of reed switches; else round ones between the ends."""
    step = 1.0 / gauge.steps if gauge.steps else SIGNAL_STEP
    inner = step * np.arange(np.floor(first / step) + 1.0, np.ceil(last / step - 1e-9))
    inner = inner[(inner > first + step * 1e-3) & (inner < last - step * 1e-3)]
    return np.concatenate([[first], inner, [last]])


def _step_m3(gauge: GaugeStudy, seen: Curve) -> float:
    """The greatest quantity between two reed switches of which both are seen."""
    if not gauge.steps:
        return 0.0
    jumps = np.flatnonzero(np.diff(seen.signal) > 0.5 / gauge.steps)
    return float(np.diff(seen.value[jumps]).max(initial=0.0))


def shown_m3(points: tuple[SetPoint, ...], signal: Floats) -> Floats:
    """What a calibrated gauge shows at signals (n,): straight between its points, and no more or less beyond the last."""
    return np.interp(signal, [point.signal for point in points], [point.usable_m3 for point in points])


def _errors(gauge: GaugeStudy, at: SensedAt, points: tuple[SetPoint, ...]) -> ErrorAt:
    """What it shows more than is usable at one attitude, from what stays behind there up to a full tank."""
    low, high = at.left_m3, max(at.left_m3, gauge.filled_m3)
    bends = np.concatenate([at.least.value, at.most.value, *([at.least.value - _SHORT_M3] if gauge.steps else [])])
    quantity = np.unique(np.concatenate([np.linspace(low, high, LOOKED_AT), bends[(bends > low) & (bends < high)]]))
    usable = np.maximum(quantity - gauge.unusable_m3, 0.0)
    errors = np.array([shown_m3(points, one.signal_at(quantity)) - usable for one in (at.least, at.most)])
    worse = np.argmax(np.abs(errors), axis=0)  # of the two states of other pools
    return ErrorAt(at.attitude, quantity, errors[worse, np.arange(quantity.size)])


def _poured_for(levels: Curve, tilted: Tilted, apart_m: float, signal: float) -> float | None:
    """What an empty tank must hold for a signal; None where it falls into pools, or where the signal is not reached.

    For the lowest signal that is where it begins to rise.
    """
    if not levels.signal[0] - 1e-9 <= signal <= levels.signal[-1] + 1e-9:
        return None
    lowest = signal <= levels.signal[0] + 1e-9
    level = levels.seen_from if lowest else float(levels.least_at(np.array([signal]))[0])
    return None if level < apart_m else float(tilted.volume_and_area(np.array([level]))[0][0])


def _pours(
    tank: FittedTank, gauge: GaugeStudy, levels: Curve, tilted: Tilted, apart_m: float, points: tuple[SetPoint, ...],
    pours_in: str,
) -> tuple[Poured, ...]:  # fmt: skip
    """Round quantities, poured one after the other, up to what can be filled."""
    step_m3, _ = round_step_m3(None, tank.cavity.gross_m3, pours_in)
    volumes = step_m3 * np.arange(1, int(np.floor(gauge.filled_m3 / step_m3 + 1e-9)) + 1, dtype=np.float64)
    found = []
    for volume, level in zip(volumes.tolist(), tilted.level_for(volumes).tolist(), strict=True):
        if level < apart_m:
            found.append(Poured(volume, None, None))
        else:
            signal = levels.signal_at(np.array([level]))
            found.append(Poured(volume, float(signal[0]), float(shown_m3(points, signal)[0])))
    return tuple(found)
