"""What the correction of a fill test makes of the tank: its capacity, its stick's marks, its lamps' marks, each within how much."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from math import log

import numpy as np

from fuelsys.analysis.fills.fit import LEAST_NOISE_M, Choice
from fuelsys.analysis.fills.lamps import Marks
from fuelsys.analysis.fills.model import LAYER, FillModel, none
from fuelsys.analysis.fills.solved import Solved
from fuelsys.analysis.fills.suspects import LEAST_SEARCHED
from fuelsys.analysis.tank.dipstick import dipstick
from fuelsys.analysis.tank.filling import filled
from fuelsys.arrays import Floats
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.filltest import PARAMETERS, Capacities, Fewer, FillFit, Found, Regraduated, Suspect, Tried
from fuelsys.model.stated.attitude import Attitude

_CURVE = 80
_LEAST_FOR_RUNS = 8
_STEP = 1e-6

Quantity = Callable[[Floats], float]


def reading(model: FillModel, volume_m3: float, correction: Floats) -> float | None:
    """What the stick reads at a volume; None where it is dry, or the surface is beyond it."""
    read = float(model.filled_readings(np.array([volume_m3]), correction)[0])
    off = float(correction[1])
    return read if -1e-9 <= read <= model.stick.length_m + abs(off) + 1e-9 else None


def _gradient(quantity: Quantity, at: Floats) -> Floats:
    """How a quantity grows with each figure of a correction (5,)."""
    found = np.zeros(5)
    for k in range(5):
        either = []
        for step in (-_STEP, _STEP):
            moved = at.copy()
            moved[k] += step
            either.append(quantity(moved))
        found[k] = (either[1] - either[0]) / (2.0 * _STEP)
    return found


def told(choice: Choice, quantity: Quantity, by: Solved, noted: Choice | None = None) -> tuple[float, float]:
    """A quantity by one of the fits, and within how much: the interval of 95 % of the fullest one lies in it.

    What the readings do not show may be too small for that, and still bears on the quantity. noted: the fullest one's of all lines as
    they were noted lies in it too, where another is told.
    """
    value, fulls = quantity(by.correction), [one.full for one in (choice, noted) if one]
    each = [abs(quantity(one.correction) - value) + one.within(_gradient(quantity, one.correction)) for one in fulls]
    return value, max(each)


def _shaped(choice: Choice, quantity: Quantity, noted: Choice | None) -> tuple[float, float]:
    """What the tank holds by the simplest, and within how much, for another shape of it too, which a tilt is easily taken for."""
    value, within = told(choice, quantity, choice.solved, noted)
    return value, float(np.hypot(within, choice.full.shape_within(_gradient(quantity, choice.full.correction))))


def misfit_m3(choice: Choice, volumes_m3: Floats) -> Floats:
    """By how much the correction misses the readings about quantities (k,): what no figure of it explains.

    At a reading the greatest of its own and both neighbours', in between along a straight line.
    """
    data = choice.data
    totals = data.totals_m3 + data.extras @ choice.used.extra_m3
    each = np.abs(totals - data.held(choice.used.correction))
    lines = [data.order == line for line in np.unique(data.order)]
    totals, each = np.array([totals[one].mean() for one in lines]), np.array([each[one].max() for one in lines])
    rising = np.argsort(totals)
    off = np.pad(each[rising], 1, mode="edge")
    found: Floats = np.interp(volumes_m3, totals[rising], np.maximum(np.maximum(off[:-2], off[2:]), off[1:-1]))
    return found


def corrected(choice: Choice, marks: Marks) -> Marks:
    """The marks by the correction that is used."""
    model = choice.data.model

    def held(point_m: Floats, over_m: Floats) -> tuple[Floats, Floats]:
        both = [told(choice, partial(_held_over, model, point_m, float(over)), choice.used) for over in over_m]
        return np.array([value for value, _ in both]), np.array([within for _, within in both])

    return replace(marks, up=model.tilted(choice.used.correction).up, held=held)


def _held_over(model: FillModel, point_m: Floats, over_m: float, correction: Floats) -> float:
    """What the corrected tank holds where the surface stands at a height above a point."""
    level = float(point_m @ model.tilted(correction).up) + over_m
    return float(model.held_at(np.array([level]), correction)[0])


def _capacities(
    layout: Layout, tank: FittedTank, attitude: Attitude, choice: Choice, noted: Choice | None
) -> Capacities:
    """By the simplest: beyond the readings the fullest trades scale for tilt, and tanks came out up to 1.4 % too large (40 seeds)."""
    model = choice.data.model
    gross = tank.cavity.gross_m3
    full = filled(layout, tank, attitude)

    value, within = _shaped(choice, _whole_of(model), noted)
    if full is None:
        return Capacities((gross, value, within), None)
    return Capacities(
        (gross, value, within),
        (full.volume_m3, *_shaped(choice, fillable_of(model, full.volume_m3, full.level_m), noted)),
    )


def _whole_of(model: FillModel) -> Quantity:
    """What the tank holds in all as a quantity of the correction."""
    gross_m3, floor_m2 = model.tank.cavity.gross_m3, -float(model.floor_m2.sum())
    return lambda correction: (1.0 + float(correction[0])) * (gross_m3 - float(correction[4]) * floor_m2)


def fillable_of(model: FillModel, volume_m3: float, level_m: float) -> Quantity:
    """What the tank is filled to as a quantity of the correction: scale and layer alone bear on it."""
    floor = float(model.floor_at(model.tilted(none()), np.array([level_m]))[0])
    return lambda correction: (1.0 + float(correction[0])) * (volume_m3 - float(correction[4]) * floor)


def aicc(fit: Solved) -> float | None:
    """Akaike's criterion for few readings, the noise counting as a figure; None where there are too few of them."""
    n, k = fit.residuals_m.size, len(fit.free) + fit.extra_m3.size + 1
    if n - k - 1 <= 0:
        return None
    return n * log(max(fit.left_m2 / n, LEAST_NOISE_M**2)) + 2.0 * k + 2.0 * k * (k + 1) / (n - k - 1)


def fit_of(
    layout: Layout, tank: FittedTank, attitude: Attitude, choice: Choice, told: tuple[Suspect, ...], marks_in: str,
    but: tuple[Choice, float] | None = None,
) -> FillFit:  # fmt: skip
    """What the readings say of the model, from the correction that was chosen and the lines that were told.

    but: the corrections of all lines as they were noted, and the amount that the choice counts as not poured.
    """
    solved, model, data, noted = choice.solved, choice.data.model, choice.data, but[0] if but else None
    full = filled(layout, tank, attitude)
    holds = (
        fillable_of(model, full.volume_m3, full.level_m)
        if full
        else lambda c: (1.0 + float(c[0])) * tank.cavity.gross_m3
    )
    capacity = _capacities(layout, tank, attitude, choice, noted)
    tried = tuple(
        Tried(
            blocks, len(fit.free), float(np.sqrt(fit.left_m2 / max(1, fit.dof))), aicc(fit), choice.p[blocks],
            holds(fit.correction), blocks in choice.enough, blocks == choice.kept, blocks in choice.rivals,
            _found(fit, capacity if fit is solved else None),
        )
        for blocks, fit in choice.fits.items()
    )  # fmt: skip
    before = choice.fits[()]
    fewer = Fewer(but[1], _found(but[0].solved), _whole_of(model)(but[0].solved.correction)) if but else None
    return FillFit(
        _found(solved, capacity), tried, told, choice.same, solved.noise_m, float(np.sqrt(before.left_m2 / data.n)), data.n - len(told),
        _runs(solved.residuals_m[data.place == 0]), data.n >= LEAST_SEARCHED,
        _marks(layout, tank, choice, marks_in, noted), capacity,
        tuple(float(figure) for figure in choice.used.correction), _curve(choice, noted), _found(choice.full), choice.by_places,
        fewer=fewer,
    )  # fmt: skip


def _found(solved: Solved, capacity: Capacities | None = None) -> tuple[Found, ...]:
    """The figures of a fit, each within how much; the scale, where no layer bears on what the tank holds, within what that is within."""
    found = [Found(PARAMETERS[k], float(solved.correction[k]), solved.figure_within(k)) for k in solved.free]
    if capacity and LAYER not in solved.free:
        drawn_m3, _, within_m3 = capacity.gross_m3
        found = [replace(one, within=within_m3 / drawn_m3) if one.name == "scale" else one for one in found]
    return tuple(found)


def _runs(left: Floats) -> bool:
    """Whether neighbouring residuals go together more than chance lets them (lag-one correlation, 5 %)."""
    if left.size < _LEAST_FOR_RUNS or float(left @ left) == 0.0:
        return False
    return float(left[1:] @ left[:-1] / (left @ left)) > 1.96 / float(np.sqrt(left.size))


def _marks(
    layout: Layout, tank: FittedTank, choice: Choice, marks_in: str, noted: Choice | None
) -> tuple[Regraduated, ...]:
    """The stick's marks where they were drawn and where they belong, at the attitude of the test."""
    model, found = choice.data.model, []
    for mark in dipstick(layout, tank, marks_in).marks:
        volume = np.array([mark.volume_m3])
        drawn = reading(model, mark.volume_m3, none())
        corrected = float(model.filled_readings(volume, choice.used.correction)[0])
        if drawn is None or np.isnan(corrected) or mark.pools_apart:
            continue
        _, within_m = told(choice, partial(_read, model, mark.volume_m3), choice.used, noted)
        slope = float(model.slopes(np.array([corrected]), choice.used.correction)[0])
        within_m3 = within_m * slope + float(misfit_m3(choice, volume)[0])
        found.append(Regraduated(mark.volume_m3, drawn, corrected, within_m3 / slope, within_m3))
    return tuple(found)


def _read(model: FillModel, volume_m3: float, correction: Floats) -> float:
    return float(np.nan_to_num(model.readings(np.array([volume_m3]), correction)[0]))


def _curve(choice: Choice, noted: Choice | None = None) -> tuple[Floats, Floats, Floats, Floats]:
    """Readings along the stick, what the tank holds there by the drawing, by the correction, and within how much."""
    model = choice.data.model
    along = np.linspace(0.0, model.stick.length_m, _CURVE)
    drawn = model.held(along, none())
    corrected = model.held(along, choice.used.correction)
    each = []
    for full in (one.full for one in (choice, noted) if one):
        rows = model.jacobian(along, full.correction)
        each.append([full.within(row) for row in rows] + np.abs(model.held(along, full.correction) - corrected))
    within = np.max(each, axis=0) + misfit_m3(choice, corrected)
    return along, drawn, corrected, within
