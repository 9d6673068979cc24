"""The readings of a fill test as its fit takes them: lines, places of the stick, unknown volumes, how they weigh."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from fuelsys.analysis.fills.model import FillModel, none
from fuelsys.arrays import Flags, Floats, Ints


@dataclass(frozen=True)
class Data:
    """Readings (n,) and totals (n,) of a test; extras (n, q) are unknown volumes that are added to totals (1) or not (0).

    A reading that is left out has an extra of its own. at (5,) is the correction at which readings are weighted. Each reading
    was taken at a place (n,), 0 the stick's own, k that of the model also[k - 1], which may stand at another attitude too, and
    stands in an order (n,) of lines.
    """

    model: FillModel
    readings_m: Floats
    totals_m3: Floats
    extras: Floats
    at: Floats
    order: Ints
    place: Ints
    also: tuple[FillModel, ...] = ()

    @classmethod
    def of(
        cls,
        model: FillModel,
        readings_m: Floats,
        totals_m3: Floats,
        lines: Ints | None = None,
        place: Ints | None = None,
        also: tuple[FillModel, ...] = (),
    ) -> Data:
        """Readings of which all belong."""
        n = readings_m.size
        order = np.arange(n, dtype=np.int32) if lines is None else lines
        place = np.zeros(n, np.int32) if place is None else place
        return cls(model, readings_m, totals_m3, np.zeros((n, 0)), none(), order, place, also)

    def _each(self, asked: Callable[[FillModel, Floats], Floats], readings_m: Floats) -> Floats:
        """What the model of its place says of each reading (n, ...)."""
        found = asked(self.model, readings_m)
        for k, model in enumerate(self.also, 1):
            there = self.place == k
            if there.any():
                found[there] = asked(model, readings_m[there])
        return found

    def held(self, correction: Floats, off_m: Floats | float = 0.0) -> Floats:
        """What the corrected tank holds at each reading (n,), less what that is too high by (n,)."""
        return self._each(lambda model, read: model.held(read, correction), self.readings_m - off_m)

    def slopes(self, correction: Floats) -> Floats:
        """Volume for a length on the stick at each reading (n,)."""
        return self._each(lambda model, read: model.slopes(read, correction), self.readings_m)

    def jacobian(self, correction: Floats) -> Floats:
        """How what is held at each reading grows with each figure of a correction: (n, 5)."""
        return self._each(lambda model, read: model.jacobian(read, correction), self.readings_m)

    def mixed(self, slopes: Floats) -> Floats:
        """What makes residuals in length (n,) weigh alike (n, n), where readings of one line share what its total is off by.

        What they share weighs as one reading, in the place of the line's first, however many they are; what they differ by, as one
        each: that is the surface's slope from place to place, which no error of a total or of the tank's shape bears on.
        """
        found = np.eye(self.n)
        for line in np.unique(self.order):
            rows = np.flatnonzero(self.order == line)
            if rows.size > 1:
                shared = np.column_stack([1.0 / slopes[rows], np.eye(rows.size)[:, 1:]])
                axes = np.linalg.qr(shared)[0].T
                axes[0] /= np.sign(axes[0, 0]) * np.sqrt(rows.size)
                found[np.ix_(rows, rows)] = axes
        return found

    def worse(self, left_m: Floats, told: Floats) -> tuple[float, float, float]:
        """Of residuals (n,), mixed, of which a fit takes so much up (n,): the mean square of the worse kind, how many are over in it,
        and how many in the kind with fewest over.

        A tank of another shape shows in its lines, not in the differences between places: these must not vouch for those.
        """
        kinds = [kind for kind in (self.first, ~self.first) if kind.any()]
        over = [(kind, max(1.0, float(np.sum(1.0 - told[kind])))) for kind in kinds]
        worst = max((float(np.sum(left_m[kind] ** 2)) / many, many) for kind, many in over)
        return *worst, min(many for _, many in over)

    @property
    def first(self) -> Flags:
        """Which readings are the first of their lines (n,): mixed, what the line's total says; the others are differences."""
        return np.isin(np.arange(self.n), np.unique(self.order, return_index=True)[1])

    @property
    def others(self) -> Floats:
        """Which readings were taken at each of the other places (n, places), those that have any."""
        columns = [self.place == k for k in range(1, len(self.also) + 1) if (self.place == k).any()]
        return np.column_stack(columns).astype(np.float64) if columns else np.zeros((self.n, 0))

    @property
    def sticks(self) -> int:
        """How many places the stick was put in at, whatever the attitude."""
        read = (self.model, *self.also)
        return len({tuple(read[k].stick.zero_m) for k in np.unique(self.place)})

    def with_extra(self, column: Floats) -> Data:
        """The same with one more unknown volume."""
        return replace(self, extras=np.column_stack([self.extras, column]))

    @property
    def n(self) -> int:
        """How many readings there are."""
        return int(self.readings_m.size)
