"""The tank that a fill test measures: what it holds where its stick is read, and what a correction makes of that."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from fuelsys.analysis.tank.draining import Drained, Opening
from fuelsys.analysis.tank.filling import ShutIn, risen_to_m, spill_levels_m
from fuelsys.analysis.tank.levels import one_pool_above_m
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.arrays import Floats, Ints
from fuelsys.errors import QuestionError
from fuelsys.kernels import volume
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.fittings import Dipstick, Place

SCALE, OFFSET, PITCH, ROLL, LAYER = range(5)
_FLOOR = 0.5  # a face that looks up by more than 30° from the vertical is floor, where sealant lies
_TILT_STEP_RAD = 1e-4
_LEAST_TRAPPED = 1e-4  # of the tank; less air than that does not show on a stick
_LEAST_SLOPE = (
    0.05  # of the middle one: where the surface is narrower, a reading says less than its volume would make of it
)
_KEPT = 64


def none() -> Floats:
    """The correction that changes nothing."""
    return np.zeros(5)


@dataclass(frozen=True)
class Stick:
    """The stick about the cavity's centre: its zero (3,), the way its readings grow (3,), its length, what is bottom (3,)."""

    zero_m: Floats
    along: Floats
    length_m: float
    bottom_m: Floats

    @classmethod
    def of(cls, tank: FittedTank) -> Stick | None:
        """A tank's stick, None where it has none."""
        stated = tank.design.dipstick
        return None if stated is None else cls._between(tank, stated, stated.zero)

    @classmethod
    def also(cls, tank: FittedTank) -> tuple[Stick, ...]:
        """The same stick at the other places where a fill test puts it in."""
        stated = tank.design.dipstick
        return () if stated is None else tuple(cls._between(tank, one, stated.zero) for one in stated.also)

    @classmethod
    def _between(cls, tank: FittedTank, ends: Dipstick | Place, zero_at: str) -> Stick:
        bottom, top = (tank.body_m(end) - tank.cavity.centre_m for end in (ends.bottom_m, ends.top_m))
        zero, end = (bottom, top) if zero_at == "bottom" else (top, bottom)
        length = float(np.linalg.norm(end - zero))
        return cls(zero, (end - zero) / length, length, bottom)


def stick_at(layout: Layout, tank: FittedTank, attitude: Attitude) -> Stick | None:
    """A tank's stick, None where it has none; QuestionError where it does not stand up at the attitude."""
    stick = Stick.of(tank)
    if stick is None:
        return None
    middle_m = stick.zero_m + stick.along * stick.length_m / 2.0
    if not float((middle_m - stick.bottom_m) @ attitude.up) > 0.0:
        raise QuestionError(
            f"at {attitude.text} the stick's top is not above its bottom",
            mend="Give top and bottom in the mesh's own axes, or exchange them.",
            file=layout.file,
            field=f"tank {tank.name}.dipstick",
        )
    return stick


@dataclass(frozen=True)
class FillModel:
    """A tank at an attitude, as drawn, and with corrections (5,): scale, offset, pitch, roll, layer.

    The real tank holds (1 + scale) times what the model holds, less a layer on its floor; a reading is the offset more
    than the distance on the stick; pitch and roll add to the attitude's.
    """

    tank: FittedTank
    attitude: Attitude
    stick: Stick
    floor_faces: Ints
    floor_m2: Floats
    kept: dict[tuple[float, float], Tilted] = field(default_factory=dict)
    shut_in: dict[tuple[float, float], ShutIn] = field(default_factory=dict)

    @classmethod
    def of(cls, tank: FittedTank, attitude: Attitude, stick: Stick) -> FillModel:
        """The model of a tank with its floor found at the attitude."""
        areas = tank.cavity.areas_m2
        sizes = np.linalg.norm(areas, axis=1)
        floor = areas @ attitude.up < -_FLOOR * sizes
        faces = np.ascontiguousarray(tank.cavity.faces[floor])
        return cls(tank, attitude, stick, faces, np.ascontiguousarray(-sizes[floor]))

    def tilted(self, correction: Floats) -> Tilted:
        """The cavity at the corrected attitude."""
        tilt = (float(correction[PITCH]), float(correction[ROLL]))
        if tilt not in self.kept:
            if len(self.kept) > _KEPT:
                self.kept.clear()
            at = self.attitude
            turned = Attitude(
                at.name, at.phase, at.pitch_rad + tilt[0], at.roll_rad + tilt[1], at.forward_m_s2, at.right_m_s2
            )
            self.kept[tilt] = Tilted.of(self.tank.cavity, turned.up)
        return self.kept[tilt]

    def floor_at(self, tilted: Tilted, levels_m: Floats) -> Floats:
        """Area of the floor below levels (k,), which a layer would cover."""
        return volume.volume_and_area(tilted.z_m, self.floor_faces, self.floor_m2, levels_m)[1]

    def levels_m(self, readings_m: Floats, correction: Floats) -> Floats:
        """Level of the surface about the cavity's centre, at readings (k,)."""
        up = self.tilted(correction).up
        return self.stick.zero_m @ up + (readings_m - correction[OFFSET]) * float(self.stick.along @ up)

    def held_at(self, levels_m: Floats, correction: Floats) -> Floats:
        """What the corrected tank holds below levels (k,)."""
        tilted = self.tilted(correction)
        held = tilted.volume_and_area(levels_m)[0]
        if correction[LAYER]:
            held = held - correction[LAYER] * self.floor_at(tilted, levels_m)
        return (1.0 + correction[SCALE]) * held

    def held(self, readings_m: Floats, correction: Floats) -> Floats:
        """What the corrected tank holds at readings (k,)."""
        return self.held_at(self.levels_m(readings_m, correction), correction)

    def slopes(self, readings_m: Floats, correction: Floats) -> Floats:
        """Volume for a length on the stick (k,), above zero, and never next to nothing."""
        tilted = self.tilted(correction)
        areas = tilted.volume_and_area(self.levels_m(readings_m, correction))[1]
        slopes = (1.0 + correction[SCALE]) * np.abs(areas * float(self.stick.along @ tilted.up))
        middle = self.tank.cavity.gross_m3 / (tilted.high_m - tilted.low_m) * abs(float(self.stick.along @ tilted.up))
        return np.maximum(slopes, _LEAST_SLOPE * middle)

    def jacobian(self, readings_m: Floats, correction: Floats) -> Floats:
        """How what is held at readings (k,) grows with each figure of a correction: (k, 5)."""
        tilted = self.tilted(correction)
        levels = self.levels_m(readings_m, correction)
        held, areas = tilted.volume_and_area(levels)
        floor = self.floor_at(tilted, levels)
        rows = np.empty((readings_m.size, 5))
        rows[:, SCALE] = held - correction[LAYER] * floor
        rows[:, OFFSET] = -(1.0 + correction[SCALE]) * areas * float(self.stick.along @ tilted.up)
        rows[:, LAYER] = -(1.0 + correction[SCALE]) * floor
        for k in (PITCH, ROLL):
            either = []
            for step in (-_TILT_STEP_RAD, _TILT_STEP_RAD):
                moved = correction.copy()
                moved[k] += step
                either.append(self.held(readings_m, moved))
            rows[:, k] = (either[1] - either[0]) / (2.0 * _TILT_STEP_RAD)
        return rows

    def readings(self, volumes_m3: Floats, correction: Floats) -> Floats:
        """What the stick reads where the corrected tank holds volumes (k,): NaN beyond what it holds."""
        tilted = self.tilted(correction)
        drawn = volumes_m3 / (1.0 + correction[SCALE])
        gross = self.tank.cavity.gross_m3
        asked = drawn.copy()
        levels = np.empty_like(asked)
        for _ in range(30 if correction[LAYER] else 1):  # the layer's room at the level itself: it settles at once
            levels = tilted.level_for(np.clip(asked, 0.0, gross))
            following = drawn + correction[LAYER] * self.floor_at(tilted, levels)
            if np.all(np.abs(following - asked) <= 1e-12 * gross):
                break
            asked = following
        levels = np.where((asked < -1e-9 * gross) | (asked > gross * (1.0 + 1e-9)), np.nan, levels)
        up = tilted.up
        read: Floats = (levels - float(self.stick.zero_m @ up)) / float(self.stick.along @ up) + correction[OFFSET]
        return read

    def _air(self, correction: Floats) -> ShutIn:
        """The air that filling shuts in at the corrected attitude."""
        tilt = (float(correction[PITCH]), float(correction[ROLL]))
        if tilt not in self.shut_in:
            self.shut_in[tilt] = ShutIn.of(self.tank, self.tilted(correction).up)
        return self.shut_in[tilt]

    def filled_at(self, levels_m: Floats, correction: Floats) -> Floats:
        """What the corrected tank was filled with where the surface stands at levels (k,): air shut in below is none of it."""
        air_m3 = (1.0 + correction[SCALE]) * self._air(correction).below_m3(levels_m)
        found: Floats = self.held_at(levels_m, correction) - air_m3
        return found

    def filled(self, readings_m: Floats, correction: Floats) -> Floats:
        """The same at readings (k,)."""
        return self.filled_at(self.levels_m(readings_m, correction), correction)

    def filled_readings(self, volumes_m3: Floats, correction: Floats) -> Floats:
        """What the stick reads where the corrected tank was filled with volumes (k,): NaN beyond what it holds."""
        read, air = self.readings(volumes_m3, correction), self._air(correction)
        if air.air is None:
            return read
        up, high_m = self.tilted(correction).up, self.tilted(correction).high_m
        levels = self.levels_m(read, correction)
        risen = np.flatnonzero(~np.isnan(read))
        risen = risen[air.below_m3(levels[risen]) > 0.0]
        if risen.size:
            levels = risen_to_m(lambda at: self.filled_at(at, correction), levels[risen], high_m, volumes_m3[risen])
            read[risen] = (levels - self.stick.zero_m @ up) / (self.stick.along @ up) + correction[OFFSET]
        return read

    def apart_below_m(self) -> float:
        """Level below which the tank falls into pools, so that one surface does not tell the total."""
        return one_pool_above_m(self.tilted(none()))


def air_trapped_above_m(layout: Layout, tank: FittedTank, attitude: Attitude) -> float:
    """Level above which air stays trapped while the tank is filled, so that the surface no longer tells the total; else inf."""
    spills = spill_levels_m(layout, tank, attitude)
    if not spills:
        return float("inf")
    air = Drained.of(tank.cavity, -attitude.up, [Opening(tank.spot(name)) for name in spills])
    stop = -min(spills.values())
    ends = air.end_m[: air.n_seeds]
    held = air.tilted.by_seed(ends[:, None])[:, 0]
    shut = (ends > stop) & (held > _LEAST_TRAPPED * tank.cavity.gross_m3)
    return float(-ends[shut].max()) if shut.any() else float("inf")
