"""Loads on a full tank, and the pressure that its test must reach. All SI."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class TankProof:
    """The pressure that a tank's test must reach, and what asks for it; full_pa is the most that the full tank's fuel presses with,
    flight_pa the most of it at rest and in flight."""

    pressure_pa: float
    asked_by: str
    full_pa: float
    full_by: str
    flight_pa: float


@dataclass(frozen=True)
class TankForce:
    """What the fuel of a full tank presses with, on its mounts and on its wall, under one factor of 14 CFR 23.561.

    in_cabin: the factor is that for things in the cabin which could strike people.
    """

    toward: str
    factor: float
    force_n: float
    pressure_pa: float
    in_cabin: bool
