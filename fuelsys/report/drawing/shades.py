"""Shades for quantities in round steps: lightness alone tells the order, so grey print and every eye can read it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from fuelsys.report.drawing import ink

_LEAST_CLASSES = 4  # fewer shades say nothing
_STOPS = np.array([[247, 236, 222], [240, 203, 176], [190, 84, 26], [96, 36, 4]])


@dataclass(frozen=True)
class Shades:
    """Rising steps and a shade for each stretch between two of them, in the unit that is shown."""

    steps: tuple[float, ...]

    @classmethod
    def of(cls, least: float, most: float) -> Shades:
        """Round steps that hold all figures from the least to the most."""
        return cls(tuple(round_steps(least, most)))

    @property
    def colors(self) -> list[str]:
        """A shade for each stretch, the loudest for the most."""
        last = max(1, len(self.steps) - 2)
        return [_shade(k / last) for k in range(len(self.steps) - 1)]

    def color(self, value: float) -> str:
        """The shade of a figure; those beyond the steps have the first or the last."""
        return self.colors[int(np.clip(np.searchsorted(self.steps, value, side="right") - 1, 0, len(self.steps) - 2))]


def round_steps(least: float, most: float) -> list[float]:
    """Steps of 1, 2, 5, 10, ... that hold all figures, from zero where the least is under a hundredth of the most.

    Where these would be too few, even steps of a round width.

    >>> round_steps(0.04, 9.3), round_steps(0.025, 0.22)
    ([0.0, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0], [0.02, 0.05, 0.1, 0.2, 0.5])
    >>> round_steps(26.0, 30.0)
    [26.0, 27.0, 28.0, 29.0, 30.0, 31.0]
    """
    most = max(most, 1e-6)
    decades = range(int(np.floor(np.log10(most))) - 3, int(np.floor(np.log10(most))) + 2)
    series = [float(f"{digit}e{decade}") for decade in decades for digit in (1, 2, 5)]
    top = next(k for k, value in enumerate(series) if value > most)
    bottom = max(k for k, value in enumerate(series) if value <= max(least, most / 100.0))
    steps = series[bottom : top + 1] if least >= most / 100.0 else [0.0, *series[bottom + 1 : top + 1]]
    return steps if len(steps) > _LEAST_CLASSES else _even_steps(least, most, series)


def _even_steps(least: float, most: float, series: Sequence[float]) -> list[float]:
    """Multiples of the widest round width that makes shades enough."""
    for width in reversed(series):
        first, last = int(np.floor(least / width)), int(np.floor(most / width)) + 1
        if last - first >= _LEAST_CLASSES:
            return [float(f"{k * width:.12g}") for k in range(first, last + 1)]
    return [float(f"{most + k * series[0]:.12g}") for k in range(_LEAST_CLASSES + 1)]  # one figure alone


def _shade(share: float) -> str:
    red, green, blue = (round(float(np.interp(share, [0.0, 0.35, 0.75, 1.0], _STOPS[:, k]))) for k in range(3))
    return f"#{red:02x}{green:02x}{blue:02x}"


def letters_on(shade: str) -> str:
    """A colour of letters and hatching that can be read on a shade: dark on light, light on dark."""
    return ink.INK if int(shade[3:5], 16) > 110 else "white"


def paler(shade: str) -> str:
    """A shade halfway to white.

    >>> paler("#000000")
    '#808080'
    """
    return "#" + "".join(f"{(int(shade[k : k + 2], 16) + 256) // 2:02x}" for k in (1, 3, 5))
