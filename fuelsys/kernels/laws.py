"""What many lines and pumps take from the pressure of the fuel that flows through them, all at once.

A flight of joined tanks asks for it a million times; what stands in a line is said by `analysis/lines/hydraulics.py`. The friction
factor is Clamond's of Colebrook's equation (Industrial & Engineering Chemistry Research 48, 2009, 3665), which the library `fluids`
has too: a test holds each law, written plainly with that library's, to these.
"""

from __future__ import annotations

from math import log
from typing import NamedTuple

import numpy as np

from fuelsys.arrays import Floats, Ints
from fuelsys.kernels.compiled import compiled

_HAIR = 1e-6  # of the Reynolds number, over which the factor's slope is taken


class Laws(NamedTuple):
    """Edges' laws in SI: pipes (m, 9), their stated drops (k, 4) and pumps' curves (p, 2), of edge i from row begin[i] to begin[i + 1].

    A pipe: area, bore, viscosity, relative roughness, friction per factor and speed squared, loss per flow squared, per laminar flow,
    1 for one way, loss per flow squared of what runs back. A drop: flow it is stated for, clear share, drop per flow, drop.
    """

    pipes: Floats
    drops: Floats
    drops_begin: Ints
    curves: Floats
    curves_begin: Ints
    shut: float  # Pa for each m3/s of a check valve against the flow
    laminar_to: float
    turbulent_from: float

    def losses(self, flows: Floats) -> tuple[Floats, Floats]:
        """What each takes [Pa] at its flow (m,) [m³/s], and by how much more for each unit of flow."""
        loss, slope = np.empty(flows.size), np.empty(flows.size)
        _losses(flows, *self, loss, slope)
        return loss, slope


@compiled
def _colebrook(reynolds: float, rough: float) -> float:
    x1 = rough * reynolds * 0.1239681863354175460160858261654858382699
    x2 = log(reynolds) - 0.7793974884556819406441139701653776731705
    f = x2 - 0.2
    e = (log(x1 + f) - 0.2) / (1.0 + (x1 + f))
    f = f - (1.0 + (x1 + f) + 0.5 * e) * e * (x1 + f) / (1.0 + (x1 + f) + e * (1.0 + (1.0 / 3.0) * e))
    whole = 1.0 + (x1 + f)
    e = (log(x1 + f) + f - x2) / whole
    b = whole + e * (1.0 + 1.0 / 3.0 * e)
    f = b / (b * f - ((whole + 0.5 * e) * e * (x1 + f)))
    return 1.325474527619599502640416597148504422899 * (f * f)


@compiled
def drop(flow: float, stated: Floats) -> tuple[float, float]:
    """What a stated drop (a row of `Laws.drops`) takes [Pa] at a flow [m³/s], and by how much more for each unit of flow."""
    rate = flow / stated[0] / stated[1]
    if rate <= 1.0:
        return stated[3] * rate, stated[2]
    return stated[3] * (rate * rate), 2.0 * stated[2] * rate


@compiled
def factor(reynolds: float, rough: float, laminar_to: float, turbulent_from: float) -> float:
    """Darcy's friction factor at a Reynolds number and a relative roughness; between laminar and turbulent the straight line."""
    if reynolds <= laminar_to:
        return 64.0 / reynolds
    if reynolds >= turbulent_from:
        return _colebrook(reynolds, rough)
    share = (reynolds - laminar_to) / (turbulent_from - laminar_to)
    return (1.0 - share) * 64.0 / laminar_to + share * _colebrook(turbulent_from, rough)


@compiled
def _pipe(flow: float, pipe: Floats, drops: Floats, laminar_to: float, turbulent_from: float) -> tuple[float, float]:
    """A pipe and what stands in it, forward."""
    speed, square, laminar = flow / pipe[0], pipe[5], pipe[6]
    reynolds = speed * pipe[1] / pipe[2]
    if reynolds <= laminar_to:
        lost, steep = laminar * flow + square * (flow * flow), laminar + 2.0 * square * flow
    else:
        here = factor(reynolds, pipe[3], laminar_to, turbulent_from)
        more = factor(reynolds * (1.0 + _HAIR), pipe[3], laminar_to, turbulent_from)
        along = pipe[4] * (speed * speed)
        steep = max(along * (2.0 * here + (more - here) / _HAIR) / flow, laminar)
        lost, steep = along * here + square * (flow * flow), steep + 2.0 * square * flow
    for k in range(drops.shape[0]):
        more, steeper = drop(flow, drops[k])
        lost, steep = lost + more, steep + steeper
    return lost, steep


@compiled
def _pump(flow: float, curve: Floats) -> tuple[float, float]:
    """A pump's curve, its points by rising flow."""
    first, last = max(curve[0, 1], 1.0), curve[-1, 0]
    if flow <= curve[0, 0]:
        slope = 1e-3 * first / max(last, 1e-6)
        return -curve[0, 1] + slope * (flow - curve[0, 0]), slope
    for k in range(curve.shape[0] - 1):
        if flow <= curve[k + 1, 0]:
            slope = max((curve[k, 1] - curve[k + 1, 1]) / (curve[k + 1, 0] - curve[k, 0]), 1e-3 * first / last)
            return -curve[k, 1] + slope * (flow - curve[k, 0]), slope
    steep = 1e3 * first / last
    return -curve[-1, 1] + steep * (flow - last), steep


@compiled
def _losses(
    flows: Floats,
    pipes: Floats,
    drops: Floats,
    drops_begin: Ints,
    curves: Floats,
    curves_begin: Ints,
    shut: float,
    laminar_to: float,
    turbulent_from: float,
    loss: Floats,
    slope: Floats,
) -> None:
    for i in range(flows.size):
        flow, pipe, stated = flows[i], pipes[i], drops[drops_begin[i] : drops_begin[i + 1]]
        if curves_begin[i] < curves_begin[i + 1]:
            loss[i], slope[i] = _pump(flow, curves[curves_begin[i] : curves_begin[i + 1]])
        elif flow >= 0.0 or np.isnan(flow):
            loss[i], slope[i] = _pipe(flow, pipe, stated, laminar_to, turbulent_from)
        elif pipe[7] == 1.0:
            loss[i], slope[i] = shut * flow, shut
        else:
            back, steep = _pipe(-flow, pipe, stated, laminar_to, turbulent_from)
            leak = pipe[8] * -flow
            loss[i], slope[i] = -back - leak * -flow, steep + 2.0 * leak
