"""What a fill test as it is planned will tell of a tank, and where else the stick would tell more, before anything is poured.

From the information of the planned readings, each read within 0.5 mm (one standard deviation), with the usual spreads as
one more reading: half the widths that the fit itself would say. A stick near the middle of the surface hardly feels a tilt; one more
place feels it along the line between the two, and a third the other way.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from fuelsys.analysis.fills.fit import PLACED_M, UNTOLD, USUAL, USUAL_NOISE_M
from fuelsys.analysis.fills.model import OFFSET, PITCH, ROLL, FillModel, Stick, none
from fuelsys.analysis.fills.solved import shaped_rad
from fuelsys.arrays import Floats
from fuelsys.model.found.filltest import PARAMETERS, Sees

_HALF = 1.96
_ASIDE = (0.15, 0.5, 0.85)  # of the tank's plan: where else the stick is tried
_LEAST_M = 0.05  # a column of fuel that is no higher is hardly read
_LESS = 0.8  # of a tilt's width: a place that leaves more is not worth a hole


def sees(model: FillModel, others: Sequence[Stick], totals_m3: Floats) -> Sees:
    """What totals (k,) will tell with the stick at its own place and others, and the one place more that tells the tilt best."""
    models = [model, *(replace(model, stick=one) for one in others)]
    known = sum((_information(one, totals_m3, first=one is model) for one in models), np.diag(USUAL**-2.0))
    between = sum((_between(model, one, totals_m3) for one in models[1:]), np.diag(USUAL**-2.0))
    within = _within(known, between)
    untold = tuple(name for name, w, usual in zip(PARAMETERS, within, USUAL, strict=True) if w > _HALF * UNTOLD * usual)
    tries = []
    for one in _elsewhere(model):
        there = replace(model, stick=one)
        also = known + _information(there, totals_m3, first=False)
        tries.append((_within(also, between + _between(model, there, totals_m3)), one))
    best = min(tries, key=lambda pair: _tilt(pair[0]), default=None)
    if best is None or _tilt(best[0]) > _LESS * _tilt(within):
        return Sees(tuple(within), untold)
    at_m = model.tank.mesh_m(best[1].bottom_m + model.tank.cavity.centre_m)
    place_m = (float(at_m[0]), float(at_m[1]), float(at_m[2]))
    return Sees(tuple(within), untold, place_m, tuple(best[0]))


def _within(known: Floats, between: Floats) -> Floats:
    """Half the widths of 95 % by all that is known (5, 5); of a tilt, wider as far as the places alone (5, 5) do not tell it."""
    sd, apart = (np.sqrt(np.diag(np.linalg.inv(one))) for one in (known, between))
    for k in (PITCH, ROLL):
        sd[k] = np.hypot(sd[k], shaped_rad(float(sd[k]), float(apart[k])))
    found: Floats = _HALF * sd
    return found


def _tilt(within: Floats) -> float:
    return float(np.hypot(within[PITCH], within[ROLL]))


def _information(model: FillModel, totals_m3: Floats, *, first: bool) -> Floats:
    """What readings at one place tell (5, 5); how the stick stands at any other than its own is not known to a millimetre."""
    read = model.readings(totals_m3, none())
    levels = model.levels_m(np.nan_to_num(read), none())
    seen = (read > 0.0) & (read < model.stick.length_m) & (levels > model.apart_below_m())
    if not seen.any():
        return np.zeros((5, 5))
    rows = model.jacobian(read[seen], none()) / model.slopes(read[seen], none())[:, None] / USUAL_NOISE_M
    if first:
        return rows.T @ rows
    return _less_last(np.column_stack([rows, rows[:, OFFSET] * PLACED_M]))


def _between(model: FillModel, other: FillModel, totals_m3: Floats) -> Floats:
    """What the differences between readings at another place and at the stick's own tell (5, 5)."""
    both = [one.readings(totals_m3, none()) for one in (model, other)]
    seen = np.all(
        [(read > 0.0) & (read < one.stick.length_m) for read, one in zip(both, (model, other), strict=True)], axis=0
    )
    levels = model.levels_m(np.nan_to_num(both[0]), none())
    seen &= levels > model.apart_below_m()
    if not seen.any():
        return np.zeros((5, 5))
    own, there = (
        one.jacobian(read[seen], none()) / one.slopes(read[seen], none())[:, None]
        for one, read in zip((model, other), both, strict=True)
    )
    placed = np.zeros((int(seen.sum()), 1)) + PLACED_M
    rows = np.column_stack([there - own, placed]) / (np.sqrt(2.0) * USUAL_NOISE_M)
    return _less_last(rows)


def _less_last(rows: Floats) -> Floats:
    """What rows (n, 6) tell of their first five figures (5, 5), where the last is known to one."""
    normal = rows.T @ rows + np.diag([0.0] * 5 + [1.0])
    found: Floats = normal[:5, :5] - np.outer(normal[:5, 5], normal[5, :5]) / normal[5, 5]
    return found


def _elsewhere(model: FillModel) -> Iterator[Stick]:
    """Upright sticks from floor to roof in the tank's plan."""
    cavity = model.tank.cavity
    low, high = cavity.vertices_m.min(axis=0), cavity.vertices_m.max(axis=0)
    for u in _ASIDE:
        for v in _ASIDE:
            at = low + (high - low) * np.array([u, v, 0.0])
            line = at + np.array([[0.0, 0.0, z] for z in np.linspace(0.0, float(high[2] - low[2]), 61)])
            inside = np.array([one.face < 0 for one in cavity.spots(line + cavity.centre_m)])
            if inside.sum() >= 3 and float(line[inside][-1, 2] - line[inside][0, 2]) >= _LEAST_M:
                bottom, top = line[inside][0], line[inside][-1]
                length = float(np.linalg.norm(top - bottom))
                yield Stick(bottom, (top - bottom) / length, length, bottom)
