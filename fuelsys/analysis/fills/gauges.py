"""The gauges of a fill test: what each showed while the tank was filled, held against how far its way stood in fuel.

What a gauge shows (ohms, volts, counts) is taken to go straight with its signal, as it is told for a gauge (`analysis/tank/gauge.py`):
two numbers, at nothing and at all of it, are fitted to the lines. What is left over is told as a quantity: what a gauge that is
calibrated so would show too much. The tank's level is that of the corrected model, where the sheet has a stick that corrects it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fuelsys.analysis.fills.lamps import Marks
from fuelsys.analysis.fills.model import PITCH, ROLL, FillModel
from fuelsys.analysis.fills.pouring import Poured
from fuelsys.analysis.tank.dipstick import round_step_m3
from fuelsys.analysis.tank.gauge import Way, level_curve
from fuelsys.arrays import Floats
from fuelsys.model.found.filltest import GaugePoint, GaugeRead, GaugeSeen
from fuelsys.model.stated.gauges import AnyGauge

_LEAST_LINES = 4
_LEAST_SPAN = 0.2  # of a gauge's signal: over less the two numbers are not told
_BETWEEN = 400  # quantities between which a signal is looked up
_BLIND = 1e-6  # of a signal: it does not change


def gauges(
    model: FillModel, correction: Floats, poured: Sequence[Poured], marks: Marks, marks_in: str
) -> tuple[GaugeSeen, ...]:
    """What the lines say of each gauge of a tank; marks say where the total tells the level."""
    found = []
    for number, gauge in enumerate(model.tank.design.gauge):
        lines = [(one, one.entry.signals[number]) for one in poured if number < len(one.entry.signals)]
        some = [(one, read) for one, read in lines if read is not None]
        if some:
            found.append(_gauge(model, correction, gauge, some, marks, marks_in))
    return tuple(found)


def _gauge(
    model: FillModel, correction: Floats, gauge: AnyGauge, some: Sequence[tuple[Poured, float]], marks: Marks, marks_in: str
) -> GaugeSeen:  # fmt: skip
    way = Way.of(model.tank, gauge)
    totals, read = np.array([one.total_m3 for one, _ in some]), np.array([value for _, value in some])
    signals, why = _signals(model, correction, way, totals, marks)
    told = np.isfinite(signals)
    needs = ""
    if told.sum() < _LEAST_LINES or np.ptp(signals[told]) < _LEAST_SPAN:
        needs = f"needs {_LEAST_LINES} lines that tell its level, over a fifth of its way"
    elif np.ptp(read[told]) == 0.0:
        needs = "it shows the same at all lines: needs one that moves"
    if needs:
        rows = tuple(
            GaugeRead(one.entry.line, one.total_m3, value, None if np.isnan(at) else float(at), None, because)
            for (one, value), at, because in zip(some, signals, why, strict=True)
        )
        return GaugeSeen(gauge.name, rows, why=needs)
    rise, dry = (float(one) for one in np.polyfit(signals[told], read[told], 1))
    curve_m3 = np.linspace(0.0, model.tank.cavity.gross_m3 * (1.0 + float(correction[0])), _BETWEEN + 1)[1:-1]
    curve, _ = _signals(model, correction, way, curve_m3, marks)
    seen = np.isfinite(curve)
    curve_m3, curve = curve_m3[seen], curve[seen]
    wet = (curve > curve.min() + _BLIND) & (curve < curve.max() - _BLIND)
    off = np.interp((read - dry) / rise, curve[wet], curve_m3[wet]) - totals
    sees = told & (signals > curve.min() + _BLIND) & (signals < curve.max() - _BLIND)
    rows = tuple(
        GaugeRead(one.entry.line, one.total_m3, value, float(signals[k]) if told[k] else None,
              float(off[k]) if sees[k] else None, why[k] or ("" if sees[k] else "does not change there"))
        for k, (one, value) in enumerate(some)
    )  # fmt: skip
    most = float(np.abs(off[sees]).max(initial=0.0))
    step_m3, _ = round_step_m3(None, model.tank.cavity.gross_m3, marks_in)
    round_m3 = step_m3 * np.arange(1, int(totals[told].max() / step_m3 + 1e-9) + 1, dtype=np.float64)
    at, _ = _signals(model, correction, way, round_m3, marks)
    moves = (at > curve.min() + _BLIND) & (at < curve.max() - _BLIND)
    points = tuple(GaugePoint(float(v), dry + rise * float(s)) for v, s in zip(round_m3[moves], at[moves], strict=True))
    return GaugeSeen(gauge.name, rows, dry, dry + rise, most, points)


def _signals(
    model: FillModel, correction: Floats, way: Way, totals_m3: Floats, marks: Marks
) -> tuple[Floats, list[str]]:
    """A gauge's signal at totals (k,), NaN with why where the total does not tell it."""
    levels = model.levels_m(model.readings(totals_m3, correction), correction)
    at = model.attitude
    tilted = replace(
        at, pitch_rad=at.pitch_rad + float(correction[PITCH]), roll_rad=at.roll_rad + float(correction[ROLL])
    )
    curve = level_curve(model.tank, way, tilted)
    apart = np.where(levels < marks.apart_below_m, "pools apart", "")
    why = np.where(levels > marks.air_above_m, "air trapped", apart)
    why = np.where(np.isnan(levels), "beyond what the model holds", why)
    signals = curve.signal_at(np.nan_to_num(levels))
    return np.where(why == "", signals, np.nan), [str(one) for one in why]
