"""Attitudes of the envelope, and which way a free surface faces at each."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import cos, degrees, radians, sin, sqrt
from typing import Literal

import numpy as np

from fuelsys.arrays import Floats

STANDARD_GRAVITY_M_S2 = 9.80665  # ISO 80000-3: the conventional value
# The widest step of the grid on which tilts of stated attitudes are put together, and how near the worst is then found.
# On 50 random tanks over 23 by 14 degrees one kept 4 % less there than on a grid of 0.5 degrees, the others the same to 1 %.
COMBINED_STEP_RAD, COMBINED_TO_RAD = radians(2.5), radians(0.25)

MOST_NOSE_DOWN_RAD = radians(
    3.0
)  # that an aircraft on its nose wheel stands at without a question; chosen here, no source

COMBINATION = "a combination"  # the name of an attitude at which tilts of several come together
COMBINATION_OF_ALL = f"{COMBINATION}, accelerations counted as tilt"  # where some of the several have accelerations
Phase = Literal["ground", "flight"]


@dataclass(frozen=True)
class Attitude:
    """How the aircraft stands: pitch nose up, roll right wing down, accelerations forward and to the right.

    up is the body-axis direction (x aft, y right, z up) that a free surface faces: against apparent gravity. Forward
    acceleration of g/4 tilts the surface as a nose-up pitch of atan(1/4) does. held_s is for how long at most it is held, turned
    into from the worst that is held for ever; None: for ever.

    >>> run = Attitude("take-off run", "ground", forward_m_s2=STANDARD_GRAVITY_M_S2 / 4)
    >>> [round(float(c), 6) for c in run.up]
    [-0.242536, 0.0, 0.970143]
    """

    name: str
    phase: Phase
    pitch_rad: float = 0.0
    roll_rad: float = 0.0
    forward_m_s2: float = 0.0
    right_m_s2: float = 0.0
    normal: bool = False
    held_s: float | None = None

    @cached_property
    def up(self) -> Floats:
        """Unit vector (3,) against apparent gravity, in body axes."""
        against = self._against_m_s2
        return against / sqrt(against.dot(against))

    @property
    def gravity_m_s2(self) -> float:
        """How strong apparent gravity is."""
        against = self._against_m_s2
        return sqrt(against.dot(against))

    @property
    def _against_m_s2(self) -> Floats:
        against = STANDARD_GRAVITY_M_S2 * np.array(
            [-sin(self.pitch_rad), -cos(self.pitch_rad) * sin(self.roll_rad), cos(self.pitch_rad) * cos(self.roll_rad)]
        )
        against += np.array([-self.forward_m_s2, self.right_m_s2, 0.0])
        return against

    @property
    def sign_in_doubt(self) -> str:
        """A question, where an aircraft is said to stand nose down on the ground; "" of any other attitude.

        >>> Attitude("parked", "ground", pitch_rad=radians(-11)).sign_in_doubt[:51]
        'parked (pitch -11.0°, roll 0.0°) stands nose down: '
        """
        if self.phase != "ground" or self.pitch_rad >= -MOST_NOSE_DOWN_RAD:
            return ""
        return (
            f"{self.text} stands nose down: is the sign right? Nose up is positive, and a tailwheel aircraft stands so"
        )

    @property
    def text(self) -> str:
        """The attitude in people's units, for headings.

        >>> Attitude("climb", "flight", pitch_rad=radians(12)).text
        'climb (pitch +12.0°, roll 0.0°)'
        """
        return f"{self.name} ({', '.join(self._tilts + self._more)})"

    @property
    def short(self) -> str:
        """Its name; its tilts where it is none of the design's, but a combination of them."""
        return (
            self.heading
            if self.name not in (COMBINATION, COMBINATION_OF_ALL)
            else f"{self.name}: {', '.join(self._tilts)}"
        )

    @property
    def heading(self) -> str:
        """Name, accelerations and how long it is held, where pitch and roll stand in columns of their own."""
        return ", ".join([self.name, *self._more])

    @property
    def _tilts(self) -> list[str]:
        return [f"pitch {_signed(degrees(self.pitch_rad))}°", f"roll {_signed(degrees(self.roll_rad))}°"]

    @property
    def _more(self) -> list[str]:
        parts = []
        if self.forward_m_s2:
            parts.append(f"{_signed(self.forward_m_s2 / STANDARD_GRAVITY_M_S2, 2)} g forward")
        if self.right_m_s2:
            parts.append(f"{_signed(self.right_m_s2 / STANDARD_GRAVITY_M_S2, 2)} g to the right")
        if self.held_s is not None:
            parts.append(f"held {self.held_s:g} s")
        return parts

    @classmethod
    def of_degrees(cls, pitch_deg: float, roll_deg: float, phase: Phase = "flight", name: str = "") -> Attitude:
        """An attitude without accelerations, for maps and tables."""
        name = name or "chosen attitude"
        return cls(name, phase, radians(pitch_deg), radians(roll_deg))


def _signed(value: float, digits: int = 1) -> str:
    return f"{value:+.{digits}f}" if round(value, digits) else f"{0:.{digits}f}"
