"""Random sound designs, and changes to them that must not change what is answered: mirrored, moved, in other units, reordered ...

Run: python tests/metamorphic.py --designs 300 [--seed 1] [--changes 2]. What differs is printed; exit code 1.
"""

from __future__ import annotations

import argparse
import random
import re
import sys
import tempfile
from collections import Counter
from collections.abc import Callable
from copy import deepcopy
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import solids
import sound_designs as sound
from designs import MESHES

from fuelsys import units
from fuelsys.arrays import Floats
from fuelsys.load.designs.door import load_design
from fuelsys.model.found.findings import Finding
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.review import findings, study

Faces = Any
POINTS = ("position", "mark", "top", "bottom", "pivot", "empty", "full")
FITTINGS = ("outlet", "vent", "drain", "return", "inlet", "switch", "gauge")
AGAIN = " again"


@dataclass
class Drawn:
    """A design with its meshes: corners in the unit that the design states, and faces."""

    design: dict[str, Any]
    meshes: dict[str, tuple[Floats, Faces]]


def read(drawn: Drawn, folder: Path) -> tuple[Study, list[Finding]]:
    """Its study and findings, through the door."""
    for name, (corners, faces) in drawn.meshes.items():
        rows = [" ".join(repr(float(c)) for c in corner) for corner in corners]
        rows += [f"3 {a} {b} {c}" for a, b, c in faces]
        (folder / name).write_text(f"OFF\n{len(corners)} {len(faces)} 0\n" + "\n".join(rows) + "\n", encoding="utf-8")
    (folder / "bench.toml").write_text(sound.text_of(drawn.design), encoding="utf-8")
    found = study(load_design(folder / "bench.toml"))
    return found, findings(found)


# --- random designs ----------------------------------------------------------------------------------------------------------


def _text(value: float, unit: str) -> str:
    return f"{float(value)!r} {unit}"


def _split(text: str) -> tuple[float, str]:
    number, _, unit = text.partition(" ")
    return float(number), unit


def point_of(texts: list[str]) -> Floats:
    """A place written in mm."""
    return np.array([_split(text)[0] for text in texts])


def text_of(point: Floats) -> list[str]:
    """A place in mm as a design states it."""
    return [_text(c, "mm") for c in point]


def _inside(tank: dict[str, Any], change: Callable[[Floats], Floats]) -> None:
    """Every place in a tank, changed."""
    items = [tank.get("filler"), tank.get("dipstick")]
    items += [one for key in FITTINGS for one in tank.get(key, [])]
    for item in filter(None, items):
        for key in POINTS:
            if key in item:
                item[key] = text_of(change(point_of(item[key])))


def _outside(design: dict[str, Any], change: Callable[[Floats], Floats]) -> None:
    """Every place on the aircraft, changed."""
    for item in [*design["tank"], *design["component"]]:
        item["position"] = text_of(change(point_of(item["position"])))
    if "firewall" in design["aircraft"]:
        design["aircraft"]["firewall"] = text_of(change(point_of(design["aircraft"]["firewall"])))
    for line in design["line"]:
        for key in ("path", "drains"):
            if key in line:
                line[key] = [text_of(change(point_of(point))) for point in line[key]]


def _box(corners: Floats) -> tuple[Floats, Faces]:
    low, high = corners.min(axis=0), corners.max(axis=0)
    made = solids.Manifold.cube((high - low).tolist()).translate(low.tolist())
    return solids.from_manifold(made)


def random_design(seed: int) -> Drawn:
    """Tanks stretched along each axis, as boxes or hoppers or with a pocket; other attitudes, flows, bores, heights."""
    chance = random.Random(seed)
    names = [name for name in sound.ARCHITECTURES if name != "taildragger"]
    design = deepcopy(sound.design_of(names[seed % len(names)]))
    meshes: dict[str, tuple[Floats, Faces]] = {}
    stretched = np.array([chance.uniform(0.8, 1.5) for _ in range(3)])
    mesh = chance.choice(["main.off", "main.off", "main.off", "pocket.off", "well.off"])
    boxes = chance.random() < 0.3
    for k, tank in enumerate(design["tank"]):
        own = tank["mesh"] if tank["mesh"] != "main.off" else mesh
        corners, faces = solids.from_manifold(MESHES[own]())
        if boxes:
            corners, faces = _box(corners)
        tank["mesh"] = f"mesh{k}.off"
        meshes[tank["mesh"]] = (corners * stretched, faces)
        _inside(tank, lambda point: point * stretched)
    for key, times in zip(design["flows"], (chance.uniform(1.2, 1.4), 1.1, chance.uniform(0.7, 1.0)), strict=True):
        design["flows"][key] = _text(_split(design["flows"][key])[0] * times, "L/h")
    for line in design["line"]:
        line["bore"] = _text(chance.choice([6.0, 8.0, 10.0]), "mm")
    for attitude in design["attitude"]:
        for key in ("pitch", "roll"):
            attitude[key] = _text(_split(attitude.get(key, "0 deg"))[0] + chance.uniform(-2.0, 2.0), "deg")
    if chance.random() < 0.5:
        design["attitude"].append(
            {
                "name": "turn",
                "phase": "flight",
                "roll": "5 deg",
                "pitch": "1 deg",
                "right": _text(chance.uniform(-0.1, 0.1), "g"),
            }
        )
    for attitude in design["attitude"]:
        if attitude["phase"] == "flight" and not attitude.get("normal") and chance.random() < 0.3:
            attitude["held"] = "0.5 min"
    return Drawn(design, meshes)


# --- changes that change nothing ---------------------------------------------------------------------------------------------

_MIRROR = np.array([1.0, -1.0, 1.0])


def mirrored(drawn: Drawn, _: random.Random) -> None:
    """Left for right."""
    for tank in drawn.design["tank"]:
        _inside(tank, lambda point: point * _MIRROR)
    _outside(drawn.design, lambda point: point * _MIRROR)
    for name, (corners, faces) in drawn.meshes.items():
        drawn.meshes[name] = (corners * _MIRROR, np.asarray(faces)[:, ::-1])
    for attitude in drawn.design["attitude"]:
        for key in ("roll", "right"):
            if key in attitude:
                value, unit = _split(attitude[key])
                attitude[key] = _text(-value, unit)


def moved(drawn: Drawn, chance: random.Random) -> None:
    """The datum elsewhere along x and z (twins are found by their distance from y = 0), each mesh's origin elsewhere."""
    by = np.array([chance.uniform(-3000.0, 3000.0), 0.0, chance.uniform(-3000.0, 3000.0)])
    _outside(drawn.design, lambda point: point + by)
    for tank in drawn.design["tank"]:
        own = np.array([chance.uniform(-800.0, 800.0) for _ in range(3)])
        _inside(tank, lambda point, own=own: point + own)  # type: ignore[misc]
        tank["position"] = text_of(point_of(tank["position"]) - own)
        corners, faces = drawn.meshes[tank["mesh"]]
        drawn.meshes[tank["mesh"]] = (corners + own, faces)


OTHER = {
    "mm": ("in", "length"), "deg": ("rad", "angle"), "L/h": ("US gal/h", "flow"), "L": ("imp gal", "volume"),
    "mL": ("in3", "volume"), "kPa": ("psi", "pressure"), "kg/L": ("lb/US gal", "density"), "mm2": ("in2", "area"),
    "min": ("s", "time"), "W": ("hp", "power"), "g": ("m/s2", "acceleration"), "ft": ("m", "length"),
    "1/in": ("1/cm", "mesh"),
}  # fmt: skip


def in_other_units(drawn: Drawn, _: random.Random) -> None:
    """Every quantity in another unit, the meshes in inches. A dipstick's step stays: it is round in its own unit."""

    def other(value: Any, key: str = "") -> Any:
        if isinstance(value, dict):
            return {name: other(inner, name) for name, inner in value.items()}
        if isinstance(value, list):
            return [other(inner) for inner in value]
        match = re.fullmatch(r"(-?[\d.]+(?:e-?\d+)?) (.+)", value) if isinstance(value, str) else None
        if match is None or match[2] not in OTHER or key in ("name", "step"):
            return value
        unit, kind = OTHER[match[2]]
        return _text(units.from_si(units.parse(value, kind), unit, kind), unit)

    drawn.design.update(other(drawn.design))
    for tank in drawn.design["tank"]:
        tank["unit"] = "in"
    for name, (corners, faces) in drawn.meshes.items():
        drawn.meshes[name] = (corners / 25.4, faces)


def reordered(drawn: Drawn, chance: random.Random) -> None:
    """Tanks, lines, components, attitudes and fittings in another order."""
    tables = [drawn.design, *drawn.design["tank"]]
    for table in tables:
        for value in table.values():
            if isinstance(value, list) and value and isinstance(value[0], dict):
                chance.shuffle(value)


def renamed(drawn: Drawn, _: random.Random) -> None:
    """Each name with a word more, and the same wherever it is said."""
    design = drawn.design
    for tank in design["tank"]:
        for key in FITTINGS:
            for item in tank.get(key, []):
                item["name"] += AGAIN
        if "filler" in tank:
            tank["filler"]["name"] = "filler" + AGAIN
    for item in [*design["tank"], *design["component"], *design["line"], *design["attitude"]]:
        item["name"] += AGAIN
    for line in design["line"]:
        for key in ("from", "to"):
            line[key] = ".".join(part + AGAIN for part in line[key].split("."))


def refined(drawn: Drawn, _: random.Random) -> None:
    """Each triangle cut in four."""
    for name, (corners, faces) in drawn.meshes.items():
        points, middles, cut = [*map(tuple, corners)], dict[tuple[int, int], int](), []

        def middle(a: int, b: int, points: list[Any] = points, known: dict[Any, int] = middles) -> int:
            key = (min(a, b), max(a, b))
            if key not in known:
                known[key] = len(points)
                points.append(tuple((np.array(points[a]) + np.array(points[b])) / 2.0))
            return known[key]

        for a, b, c in (map(int, face) for face in faces):
            ab, bc, ca = middle(a, b), middle(b, c), middle(c, a)
            cut += [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
        drawn.meshes[name] = (np.array(points), np.array(cut))


def doubled(drawn: Drawn, _: random.Random) -> None:
    """Each switch twice."""
    for tank in drawn.design["tank"]:
        tank["switch"] = [one | {"name": one["name"] + more} for one in tank.get("switch", []) for more in ("", AGAIN)]


CHANGES = {
    change.__name__: change for change in (mirrored, moved, in_other_units, reordered, renamed, refined, doubled)
}


# --- what must be the same ---------------------------------------------------------------------------------------------------


def _tank(of: TankStudy) -> dict[str, float | str | None]:
    """All figures of a tank as shares of what it holds, and minutes of what a full tank would last."""
    gross = of.capacity.gross_m3
    cap = of.capacity
    found: dict[str, float | str | None] = {
        "gross": gross, "usable": cap.usable_m3, "room": cap.room_m3, "expansion": cap.expansion_m3,
    }  # fmt: skip
    if cap.filled:
        found |= {"filled": cap.filled.volume_m3, "air": cap.filled.trapped_air_m3, "by": cap.filled.limited_by}
    for at in cap.unusable.at if cap.unusable else ():
        name = at.attitude.name
        found |= {f"residual {name}": at.residual_m3, f"trapped {name}": at.trapped_m3, f"flow {name}": at.by_flow_m3}
        found[f"unusable {name}"] = at.unusable_m3
    for left in of.drain_left:
        found[f"drain left {left.attitude.name}"] = left.unusable_m3
    for full in of.filled:
        found[f"filled {full.attitude.name}"] = full.volume_m3
    for switch in of.switches:
        for trip in switch.at:
            name, per_m3 = f"{switch.name} {trip.attitude.name}", gross / switch.flow_m3_s / 60.0 / gross
            found |= {
                f"trip {name}": trip.trip_m3, f"latest {name}": trip.latest_m3, f"reset {name}": trip.reset_m3,
                f"here {name}": trip.unusable_m3, f"why {name}": trip.why_never,
            }  # fmt: skip
            for what, minutes in (
                ("minutes", switch.minutes(trip.trip_m3)),
                ("least", switch.least_minutes(trip.latest_m3)),
            ):
                found[f"{what} {name}"] = None if minutes is None else minutes / per_m3
        found[f"rise {switch.name}"] = None if switch.rise_m is None else switch.rise_m * gross
    for left in of.by_phase:
        key = f"{left.phase} {left.running}"
        found |= {f"{key} {i}": one for i, one in enumerate((left.by_cover_m3, left.by_flow_m3, left.unusable_m3))}
    if of.dipstick:
        found |= {f"mark {mark.volume_m3:.6f}": mark.along_m * gross for mark in of.dipstick.marks}
        found["dry stick"] = of.dipstick.below_m3
    return {
        key: value / gross if isinstance(value, float) and key != "gross" else value for key, value in found.items()
    }


def _flows(of: Study) -> dict[str, float | str | None]:
    """What is carried, as shares of what is needed."""
    found: dict[str, float | str | None] = {}
    for fed in of.flows.to:
        for name, states in (("at", fed.at), ("free", fed.free)):
            for one in states:
                key = f"{fed.kind} {fed.end} {fed.running} {name} {one.attitude.name} {sorted(one.tanks)}"
                found[f"{key} flow"] = one.flow_m3_s / fed.needed_m3_s
                found[f"{key} pressure"] = None if one.pressure_pa is None else one.pressure_pa / 1e5
                found[f"{key} lowest"] = None if one.lowest_pa is None else one.lowest_pa / 1e5
    for state in of.flows.in_states:
        key = f"{state.phase} {state.fed.kind} {state.fed.end} {state.fed.running} {sorted(state.state.shut)}"
        found[key] = state.fed.worst.flow_m3_s / state.fed.needed_m3_s if state.fed.at else None
    found |= {f"missing {m.kind} {m.where} {m.needs}": None for m in of.flows.missing}
    found |= {f"dry {b.outlet} {b.consumer}": b.margin_pa / 1e5 for b in of.flows.dry}
    return found


def answers(of: Study) -> dict[str, float | str | None]:
    """All figures by name."""
    found = _flows(of)
    for tank in of.tanks:
        found |= {f"{tank.name}: {key}": value for key, value in _tank(tank).items()}
    return found


def outcomes(found: list[Finding]) -> Counter[tuple[str, str, str]]:
    """Rule, subject (names in alphabetical order), outcome."""
    said = ((f.rule.name, " ".join(sorted(re.split(r",? (?:and )?", f.where))), f.outcome.word) for f in found)
    return Counter(said)


def _plain(text: str) -> str:
    return text.replace(AGAIN, "")


@lru_cache(maxsize=1)
def as_drawn(seed: int) -> tuple[dict[str, float | str | None], Counter[tuple[str, str, str]]]:
    """The answers on a random design as it is."""
    with tempfile.TemporaryDirectory() as folder:
        one, ones = read(random_design(seed), Path(folder))
    return answers(one), outcomes(ones)


def differences(seed: int, change: str, folder: Path, nearly: float = 1e-9) -> list[str]:
    """What differs between a random design's answers and those after a change, in words."""
    second = random_design(seed)
    CHANGES[change](second, random.Random(seed))
    before, was = as_drawn(seed)
    two, twos = read(second, folder)
    after = answers(two)
    if change == "renamed":
        after = {_plain(key): _plain(value) if isinstance(value, str) else value for key, value in after.items()}
    told = []
    if change == "doubled":
        twins = {key: value for key, value in after.items() if AGAIN in key}
        told += [f"{key} is {value}" for key, value in twins.items() if not _same(value, after[_plain(key)], nearly)]
        after = {key: value for key, value in after.items() if AGAIN not in key}
    told += [f"{key} only {'before' if key in before else 'after'}" for key in sorted(before.keys() ^ after.keys())]
    told += [
        f"{key}: {before[key]} became {after[key]}"
        for key in before
        if key in after and not _same(before[key], after[key], nearly)
    ]
    now = outcomes(twos)
    if change == "renamed":
        now = outcomes_renamed(twos)
    if change == "doubled":
        now = Counter({key: times for key, times in now.items() if AGAIN.strip() not in key[1]})
        was, now = Counter(set(was)), Counter(set(now))
    told += [f"lost: {key}" for key in (was - now)] + [f"new: {key}" for key in (now - was)]
    return told


def outcomes_renamed(found: list[Finding]) -> Counter[tuple[str, str, str]]:
    """As outcomes, names as they were."""
    said = ((f.rule.name, " ".join(sorted(re.split(r",? (?:and )?", _plain(f.where)))), f.outcome.word) for f in found)
    return Counter(said)


def _same(one: float | str | None, two: float | str | None, nearly: float) -> bool:
    if isinstance(one, float) and isinstance(two, float):
        return abs(one - two) <= nearly * max(1.0, abs(one))
    return one == two


def main() -> int:
    """Compare many and print what differs."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--designs", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument(
        "--changes", type=int, default=len(CHANGES), help="So many of them for each design, drawn by lot."
    )
    asked, told = parser.parse_args(), 0
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(asked.seed, asked.seed + asked.designs):
            if seed % 20 == 0:
                print(f"seed {seed} ...", flush=True)
            for change in random.Random(seed).sample(list(CHANGES), asked.changes):
                found = differences(seed, change, Path(folder))
                told += bool(found)
                if found:
                    print(f"seed {seed} {change}: {len(found)} differ", *found[:6], sep="\n    ", flush=True)
    print(f"{asked.designs} designs, {told} differ")
    return 1 if told else 0


if __name__ == "__main__":
    sys.exit(main())
