"""Tanks and sheets for the tests of the fill test: sound tanks at random and the example's, with known corrections and mistakes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from math import radians

import numpy as np
import solids
from commands import DEMO
from designs import hopper
from manifold3d import Manifold
from plumbing_changes import mm

from fuelsys.analysis.fills.model import FillModel, Stick, none
from fuelsys.analysis.tank.tilted import Tilted
from fuelsys.arrays import Floats
from fuelsys.kernels.inset import inset
from fuelsys.load.designs.door import load_design
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.stated.attitude import Attitude
from fuelsys.model.stated.design import Tank
from fuelsys.model.stated.fillsheet import Entry, Sheet, Typed
from fuelsys.model.stated.fittings import Measured, Place, Switch

NOISE_M = 0.7e-3
# What a built tank may be off by (one standard deviation): within the spreads that the fit calls usual, which are wider.
SPREAD = np.array([0.04, 0.006, radians(1.0), radians(1.0), 0.0005])


@lru_cache
def example() -> Layout:
    return load_design(DEMO)


def fitted(body: Manifold, stick: tuple[Floats, Floats], zero: str = "bottom", step: str = "2 L") -> FittedTank:
    """A body in metres with a stick, as a tank in body axes."""
    vertices, faces = solids.from_manifold(body)
    ends = ([f"{c:.9f} m" for c in end] for end in stick)
    bottom, top = ends
    stated = Tank.model_validate(
        {
            "name": "bench", "mesh": "bench.off", "unit": "m", "axes": "aft, right, up", "position": ["0 m"] * 3,
            "dipstick": {"bottom": bottom, "top": top, "zero": zero, "step": step},
        }
    )  # fmt: skip
    return FittedTank(stated, Cavity.of(vertices, faces.astype(np.int32)), np.eye(3), np.zeros(3), {})


def random_tank(seed: int) -> FittedTank:
    """A sound tank of 15 to 150 L: a hopper, a wedge like a wing's bay, or a drum that lies; its stick stands anywhere."""
    rng = np.random.default_rng(seed)
    length, width, height = rng.uniform(0.35, 0.8), rng.uniform(0.3, 0.6), rng.uniform(0.15, 0.35)
    match seed % 3:
        case 0:
            inner = (rng.uniform(0.1, 0.3), rng.uniform(0.1, 0.3))
            body = hopper(length, width, height, inner, rng.uniform(0.01, 0.06), rng.uniform(0.01, 0.04))
        case 1:
            rear = height * rng.uniform(0.3, 0.7)
            profile = np.array(
                [[0.0, 0.0], [length, 0.02], [length, rear], [0.3 * length, height], [0.0, 0.8 * height]]
            )
            points = [(x, y, z + 0.05 * y) for x, z in profile for y in (0.0, width)]
            body = Manifold.hull_points(points)
        case _:
            drum = Manifold.cylinder(length, height / 2.0 + 0.05, circular_segments=48)
            body = drum.rotate((0.0, 90.0, 0.0)).translate((0.0, width / 2.0, height / 2.0 + 0.05))
    low, high = np.array(body.bounding_box()).reshape(2, 3)
    foot = low + (high - low) * np.array([*rng.uniform(0.2, 0.8, 2), 0.0])
    tall = np.array([0.0, 0.0, (high - low)[2]])
    stick = (foot + 0.02 * tall, foot + 1.05 * tall)
    return fitted(body, stick, "bottom" if seed % 2 else "top")


def model_of(tank: FittedTank, attitude: Attitude) -> FillModel:
    stick = Stick.of(tank)
    assert stick is not None
    return FillModel.of(tank, attitude, stick)


def example_model(name: str) -> FillModel:
    layout = example()
    return model_of(layout.tank(name), layout.design.normal("ground"))


@lru_cache
def bench_model(seed: int) -> FillModel:
    rng = np.random.default_rng(seed + 1000)
    return model_of(
        random_tank(seed), Attitude.of_degrees(rng.uniform(0.0, 8.0), rng.uniform(-2.0, 2.0), "ground", "parked")
    )


@dataclass(frozen=True)
class Made:
    """A test that was made up: volumes as poured up to each reading, and what was read."""

    volumes_m3: Floats
    readings_m: Floats


def made(model: FillModel, truth: Floats, rng: np.random.Generator, n: int = 16, noise_m: float = NOISE_M) -> Made:
    """Readings of a tank that is off by a truth, at equal pours, where the stick is wet and the tank is not yet full."""
    most = 0.97 * float(model.held_at(np.array([10.0]), truth)[0])
    volumes = most * np.arange(1, 4 * n + 1) / (4 * n)
    read = model.readings(volumes, truth)
    apart = model.apart_below_m()
    good = (read > 0.001) & (read < model.stick.length_m - 0.001) & (model.levels_m(read, truth) > apart + 0.005)
    places = np.flatnonzero(good)
    keep = places[:: max(1, places.size // n)]
    return Made(volumes[keep], read[keep] + rng.normal(0.0, noise_m, keep.size))


def volume(litres: float) -> Typed:
    return Typed(f"{litres:g}", "L", "volume", litres / 1e3)


def sheet_of(volumes_m3: Floats, readings_m: Floats) -> Sheet:
    """A sheet as its lines would be read back: litres to the millilitre, millimetres to a tenth, from line 2 on."""
    steps = np.diff(volumes_m3, prepend=0.0)
    entries = []
    for k, (step, read) in enumerate(zip(steps, readings_m, strict=True)):
        text = f"{read * 1e3:.1f}"
        entries.append(
            Entry(k + 2, volume(round(float(step) * 1e3, 3)), stick=Typed(text, "mm", "length", float(text) / 1e3))
        )
    return Sheet("sheet.csv", tuple(entries))


# Other places for the stick in the example's left tank, about where the plan of a fill test says, in mm of its mesh.
PLACES = ((67.5, -105.0, 2.0, 130.0), (400.0, -560.0, 30.0, 140.0))


def dipped(places: int) -> FittedTank:
    """The example's left tank, where its stick is put in at other places as well."""
    tank = example().tank("left")
    assert tank.design.dipstick is not None
    also = tuple(Place(bottom=mm(x, y, low), top=mm(x, y, high)) for x, y, low, high in PLACES[:places])
    stick = tank.design.dipstick.model_copy(update={"also": also})
    return replace(tank, design=tank.design.model_copy(update={"dipstick": stick}))


def built_otherwise(seed: int, tilt_rad: float, places: int = 0) -> FillModel:
    """The example's left tank as another mesh: coated by 0.3 mm, with posts and tubes until some 4 % are lost, and tilted."""
    rng, tank, at = np.random.default_rng((6, seed)), dipped(places), example().design.normal("ground")
    coated = inset(tank.cavity.vertices_m, tank.cavity.faces, 3e-4).vertices
    left = solids.to_manifold(coated, tank.cavity.faces)
    low, high = np.array(left.bounding_box()).reshape(2, 3) + np.array([[0.03], [-0.03]])
    while left.volume() > 0.965 * tank.cavity.gross_m3:
        body = Manifold.cylinder(0.8, rng.uniform(0.006, 0.012), circular_segments=24).translate((0.0, 0.0, -0.4))
        at_m = rng.uniform(low, high)
        left -= (body if rng.random() < 0.5 else body.rotate((90.0, 0.0, 0.0))).translate(at_m * [1.0, 1.0, 0.0])
    vertices, faces = solids.subdivide(*solids.from_manifold(max(left.decompose(), key=lambda part: part.volume())))
    turn = rng.uniform(0.0, 2.0 * np.pi)
    tilted = Attitude(
        "as built", "ground", at.pitch_rad + tilt_rad * np.cos(turn), at.roll_rad + tilt_rad * np.sin(turn)
    )
    true = Cavity.of(vertices + tank.cavity.centre_m, faces.astype(np.int32))
    return model_of(replace(tank, cavity=true), tilted)


def poured(model: FillModel, step_m3: float, steps: int, read_to_m: float) -> Sheet:
    """Equal pours into an empty tank until it is full, the stick read to a fraction: dry where it is, not read beyond its top."""
    totals = step_m3 * np.arange(1, steps + 1)
    totals = totals[totals < model.tank.cavity.gross_m3]
    places = [model, *(replace(model, stick=one) for one in Stick.also(model.tank))]
    read = [[_typed(float(mm), at, read_to_m) for mm in at.readings(totals, none())] for at in places]
    entries = [
        Entry(k + 2, volume(step_m3 * 1e3), stick=own, dry=own is None and bool(k < len(totals) / 2), also=tuple(also))
        for k, (own, *also) in enumerate(zip(*read, strict=True))
    ]
    return Sheet("sheet.csv", tuple(entries))


def _typed(read_m: float, model: FillModel, read_to_m: float) -> Typed | None:
    mm = round(read_m / read_to_m) * read_to_m * 1e3
    return Typed(f"{mm:g}", "mm", "length", mm / 1e3) if 0.0 < mm / 1e3 <= model.stick.length_m else None


def with_marks(tank: FittedTank) -> FittedTank:
    """A tank with three marks that are passed, parked, with a fifth, a seventh and two fifths of it, apart in its plan."""
    ground, low, high = example().design.normal("ground"), *tank.cavity.bounds_m
    tilted, switches, spots = Tilted.of(tank.cavity, ground.up), [], dict(tank.spots)
    for name, u, v, share in (("fifth", 0.5, 0.3, 0.2), ("seventh", 0.8, 0.15, 0.15), ("two fifths", 0.3, 0.6, 0.4)):
        level = float(tilted.level_for(np.array([share * tank.cavity.gross_m3]))[0])
        at_m = low + (high - low) * np.array([u, v, 0.0]) - tank.cavity.centre_m
        at_m[2] = (level - at_m[:2] @ ground.up[:2]) / ground.up[2]
        spots[f"switch {name}"] = tank.cavity.spot(f"switch {name}", at_m + tank.cavity.centre_m)
        mark = [f"{c:.9f} m" for c in tank.mesh_m(at_m + tank.cavity.centre_m)]
        switches.append(Switch(name=name, mark=mark, differential="3 mm"))
    design = tank.design.model_copy(update={"switch": tuple(switches)})
    return replace(tank, design=design, spots=spots, opened=None)


def true_trip_m3(true: FillModel, tank: FittedTank, switch: Switch, at: Attitude, over_m: float = 0.0) -> float:
    """What is in a tank as built when its surface stands over a mark as drawn."""
    point_m = tank.spot(f"switch {switch.name}").point_m + tank.cavity.centre_m - true.tank.cavity.centre_m
    tilted = Tilted.of(true.tank.cavity, at.up)
    return float(tilted.volume_and_area(np.array([float(point_m @ at.up) + over_m]))[0][0])


def with_lamps(sheet: Sheet, true: FillModel, tank: FittedTank, apart_m3: float = 1e-4) -> Sheet:
    """A sheet with the lamps of a tank as built, and lines of little apart from where each goes out."""
    out = {s.name: true_trip_m3(true, tank, s, true.attitude, s.differential_m) for s in tank.design.switch}
    poured_m3 = np.cumsum([one.amount.si if one.amount else 0.0 for one in sheet.entries])
    lines = list(zip(poured_m3, sheet.entries, strict=True))
    lines += [(at + off, Entry(0)) for at in out.values() for off in (-apart_m3, apart_m3)]
    entries, before = [], 0.0
    for k, (total, entry) in enumerate(sorted(lines, key=lambda pair: pair[0])):
        lit = frozenset(name for name, at in out.items() if total < at)
        amount = Typed(f"{(total - before) * 1e3:.4f}", "L", "volume", float(total - before))
        entries.append(replace(entry, line=k + 2, amount=amount, lit=lit))
        before = float(total)
    return Sheet(sheet.file, tuple(entries))


def tested_tank(tank: FittedTank, sheet: Sheet) -> FittedTank:
    """A tank whose design names a test."""
    named = Measured(sheet=sheet.file, sha256="0" * 64, date="2026-05-30", at="parked")
    return replace(tank, design=tank.design.model_copy(update={"measured": named}), sheet=sheet)
