"""What a least-squares fit of a fill test found, and within how much."""

from __future__ import annotations

from dataclasses import dataclass
from math import radians

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.found.filltest import OF_BLOCK

USUAL_TILT_RAD = radians(2.0)  # how far a built tank is expected to be tilted (one standard deviation): see fit.USUAL
SHAPE_RAD = radians(
    0.55
)  # what a tank of another shape makes of a tilt (one standard deviation): measured here, MEASURED.md


def shaped_rad(sd_rad: float, apart_rad: float) -> float:
    """What another shape of the tank makes of a tilt that is known to a spread, and would be to another by the places alone.

    As far as the places leave it open, and as it is known from elsewhere.

    >>> shaped_rad(0.01, 0.01), round(shaped_rad(0.001, USUAL_TILT_RAD) / SHAPE_RAD, 3)
    (0.0, 0.999)
    """
    return SHAPE_RAD * max(0.0, 1.0 - (sd_rad / apart_rad) ** 2) * apart_rad / USUAL_TILT_RAD


@dataclass(frozen=True)
class Solved:
    """A fit: its correction (5,), which figures of it were free, its extra volumes (q,), and their covariance: of
    the free figures, of how far the stick stands otherwise at other places, of the extra volumes.

    cost_m2 is the sum of squared residuals and of what the usual spreads ask for; left_m2 that of the residuals alone.
    settled is how many of the free figures the usual spreads settle, not the readings; uneven_m2 is how much more the residuals would
    come to if all were as large as those of the worse kind, lines or differences between places, of which over are left to tell that;
    fewest are left of either kind. apart has the spread that each of the free figures would have by the differences between the
    stick's places alone: the usual one where they say nothing of it.
    """

    correction: Floats
    free: tuple[int, ...]
    extra_m3: Floats
    covariance: Floats
    residuals_m: Floats
    cost_m2: float
    noise_m: float
    dof: int
    settled: float = 0.0
    uneven_m2: float = 0.0
    over: float = 1.0
    fewest: float = 1.0
    apart: tuple[float, ...] = ()

    @property
    def left_m2(self) -> float:
        """Sum of the squared residuals."""
        return float(self.residuals_m @ self.residuals_m)

    @property
    def t(self) -> float:
        """Half-width of an interval of 95 % in standard deviations."""
        from scipy import stats  # noqa: PLC0415  as in solve

        return float(stats.t.ppf(0.975, self.over))

    def within(self, gradient: Floats) -> float:
        """Half-width of 95 % of what grows with the correction (5,) by a gradient."""
        p = len(self.free)
        along = gradient[list(self.free)]
        square = float(along @ self.covariance[:p, :p] @ along)
        return self.t * float(np.sqrt(max(0.0, square)))

    def shape_within(self, gradient: Floats) -> float:
        """Half-width of 95 % of what grows with the correction (5,) by a gradient, for what another shape of the tank makes of a tilt.

        The other figures go along with it, as the readings bind them to each other.
        """
        p, along, square = len(self.free), gradient[list(self.free)], 0.0
        for place, index in enumerate(self.free):
            if index in OF_BLOCK["tilt"]:
                var = float(self.covariance[place, place])
                moves = float(along @ self.covariance[:p, place]) / var
                square += (moves * shaped_rad(float(np.sqrt(var)), self.apart[place])) ** 2
        return self.t * float(np.sqrt(square))

    def figure_within(self, index: int) -> float:
        """Half-width of 95 % of one of the free figures, by its index among all.

        A tilt that the places did not measure comes from how readings grow as fuel is poured, and a tank of another shape makes them
        grow so, too: it is wider by that, as far as it comes from there.
        """
        own = self.within(np.eye(5)[index])
        if index not in OF_BLOCK["tilt"]:
            return own
        return float(np.hypot(own, self.t * shaped_rad(own / self.t, self.apart[self.free.index(index)])))

    def extra_within(self, index: int) -> float:
        """Half-width of 95 % of an extra volume."""
        at = index - self.extra_m3.size
        return self.t * float(np.sqrt(self.covariance[at, at]))
