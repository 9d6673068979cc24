"""Feeds spoilt designs and options to the commands: each answer must be a figure, a finding or a refusal in one line, in bounded time.

Run: python tests/fuzz_designs.py --seconds 3600 [--seed 1] [--keep FOLDER]. What breaks is kept as a file; exit code 1. It starts
from the sound designs of sound_designs.py; fuzz_doors.py spoils the bytes of files, this one what they say.
"""

from __future__ import annotations

import argparse
import json
import random
import re
import shutil
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections.abc import Callable, Iterator
from copy import deepcopy
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import solids
import sound_designs as sound
import trimesh
from click.testing import CliRunner
from commands import DEMO
from designs import MESHES
from fuzz_asked import arguments, sheet
from fuzz_values import CURVES, GIVEN, KIND, KNOWN, NAME, WORDS, WRONG, tables
from pydantic import BaseModel

from fuelsys.errors import FuelsysError
from fuelsys.load.designs.faults import UNIONS
from fuelsys.model.stated import design as d
from fuelsys.model.stated import fittings as f
from fuelsys.model.stated.records import file_key
from fuelsys_cli.main import COMMANDS, group

MOST_SECONDS = 10
RECORDS: dict[str, type[BaseModel]] = {
    "show": d.Show, "aircraft": d.Aircraft, "fuel": d.Fuel, "attitude": d.AttitudeEntry, "tank": d.Tank, "outlet": f.Outlet,
    "vent": f.Vent, "filler": f.Filler, "drain": f.Drain, "return": f.Return, "inlet": f.Inlet, "switch": f.Switch,
    "dipstick": f.Dipstick, "inside": f.Inside, "strainer": f.Strainer, "line": d.Line, "flight": d.Segment,
}  # fmt: skip
COMPONENTS = UNIONS["component"]
Path_ = tuple[str | int, ...]
Step = Callable[[Any, random.Random], None]


# --- where things stand in a design ------------------------------------------------------------------------------------------


def places(value: Any, here: Path_ = ()) -> Iterator[tuple[Path_, Any]]:
    """Every place in a design with what stands there, itself not."""
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, inner in items:
        yield (*here, key), inner
        yield from places(inner, (*here, key))


def _within(design: Any, path: Path_) -> Any:
    for key in path:
        design = design[key]
    return design


def _one(design: Any, chance: random.Random, fits: Callable[[Path_, Any], bool]) -> Path_ | None:
    found = [path for path, value in places(design) if fits(path, value)]
    return chance.choice(found) if found else None


def _called(path: Path_) -> str:
    return next((str(part) for part in reversed(path) if isinstance(part, str)), "")


def _is_point(value: Any) -> bool:
    return isinstance(value, list) and len(value) == 3 and all(isinstance(one, str) for one in value)


# --- how they are spoilt -----------------------------------------------------------------------------------------------------


def _another_value(design: Any, chance: random.Random) -> None:
    """A value that people give, or none would, in the place of one."""
    path = _one(design, chance, lambda _, value: not isinstance(value, dict | list))
    if path:
        _within(design, path[:-1])[path[-1]] = _value(_called(path), chance)


def _value(key: str, chance: random.Random) -> Any:
    if chance.random() < 0.15:
        return deepcopy(chance.choice(WRONG))
    if key in WORDS and (key not in KIND or chance.random() < 0.5):
        return chance.choice(WORDS[key])
    if key in KIND:
        return chance.choice(GIVEN[KIND[key]])
    if key == "curve":
        return deepcopy(chance.choice(CURVES))
    if key in ("position", "top", "bottom", "mark", "firewall"):
        return [chance.choice(GIVEN["length"]) for _ in range(3)]
    return chance.choice([True, False, *(["3.8", 3.8, 1e-9, 20] if key == "limit_load_factor" else WRONG)])


def _scaled(design: Any, chance: random.Random) -> None:
    """A quantity times something: what a slip of the pen or another unit makes of it."""
    path = _one(design, chance, lambda _, value: isinstance(value, str) and _number(value) is not None)
    if path:
        held = _within(design, path[:-1])
        number, unit = _number(held[path[-1]]) or (0.0, "")
        times = chance.choice([-1.0, 0.0, 1e-3, 0.1, 0.5, 0.9, 0.999, 1.0 + 1e-12, 1.01, 1.1, 2.0, 10.0, 25.4, 1e3])
        held[path[-1]] = f"{number * times!r} {unit}"


def _number(text: str) -> tuple[float, str] | None:
    match = re.fullmatch(r"([+-]?[\d.]+(?:e[+-]?\d+)?) (.+)", text)
    try:
        return (float(match[1]), match[2]) if match else None
    except ValueError:
        return None


def _taken_out(design: Any, chance: random.Random) -> None:
    path = _one(design, chance, lambda _path, _value: True)
    if path:
        del _within(design, path[:-1])[path[-1]]


def _put_in(design: Any, chance: random.Random) -> None:
    """A field that the record may have and the design does not state."""
    path = _one(design, chance, lambda _, value: isinstance(value, dict))
    if path:
        table = _within(design, path)
        record = COMPONENTS.get(str(table.get("kind"))) if path[0] == "component" else RECORDS.get(_called(path))
        keys = [file_key(name) for name in record.model_fields] if record else []
        free = [key for key in keys if key not in table]
        if free:
            key = chance.choice(free)
            table[key] = _value(key, chance)


def _list_changed(design: Any, chance: random.Random) -> None:
    """A list emptied, turned round, shuffled, cut, or with one of its items twice."""
    path = _one(design, chance, lambda _, value: isinstance(value, list) and not _is_point(value))
    if path:
        items = _within(design, path)
        how = chance.randrange(5)
        if how == 0:
            items.clear()
        elif how == 1:
            items.reverse()
        elif how == 2:
            chance.shuffle(items)
        elif items:
            again = deepcopy(chance.choice(items))
            if isinstance(again, dict) and "name" in again and chance.random() < 0.8:
                again["name"] = f"{again['name']} again"
            items.insert(chance.randrange(len(items) + 1), again)


def _anothers_name(design: Any, chance: random.Random) -> None:
    names = [value for path, value in places(design) if path[-1] == "name"]
    path = _one(
        design,
        chance,
        lambda path, value: path[-1] in ("name", "own_float", "reserve_phase", "body", "mesh", "mirror_of"),
    )
    if path and names:
        _within(design, path[:-1])[path[-1]] = chance.choice(names)


def ends(design: Any) -> list[str]:
    """All that lines may run to."""
    found = [str(part.get("name")) for part in tables(design, "component")]
    for tank in tables(design, "tank"):
        for key in ("outlet", "vent", "drain", "return", "inlet"):
            found += [f"{tank.get('name')}.{port.get('name')}" for port in tables(tank, key)]
    return found or ["nowhere"]


def _line_moved(design: Any, chance: random.Random) -> None:
    path = _one(design, chance, lambda path, _: path[0] == "line" and path[-1] in ("from", "to", "kind"))
    if path:
        kinds = ["feed", "vent", "return", "interconnect"]
        _within(design, path[:-1])[path[-1]] = chance.choice(kinds if path[-1] == "kind" else ends(design))


def _line_more(design: Any, chance: random.Random) -> None:
    """Lines more: between any ends, back along one (a loop), beside one, from a component to itself."""
    lines, found = design.get("line"), ends(design)
    if not isinstance(lines, list):
        return
    for k in range(chance.choice([1, 1, 2, 5])):
        start, end = chance.choice(found), chance.choice(found)
        kind = chance.choice(["feed", "feed", "vent", "return", "interconnect"])
        given = chance.choice(lines) if lines else None
        if isinstance(given, dict) and chance.random() < 0.5:
            start, end, kind = given.get("to"), given.get("from"), given.get("kind")
        lines.append({"name": f"more {len(lines)} {k}", "kind": kind, "from": start, "to": end, "bore": "6 mm"})


def _component_of_another_kind(design: Any, chance: random.Random) -> None:
    parts = tables(design, "component")
    if parts:
        part = chance.choice(parts)
        part["kind"] = chance.choice(list(COMPONENTS))
        known = {file_key(name) for name in COMPONENTS[part["kind"]].model_fields}
        for key in [key for key in part if key not in known and chance.random() < 0.95]:
            del part[key]


def _point_moved(design: Any, chance: random.Random) -> None:
    """A place on a corner, an edge or a face of the tank's mesh, a hair or a hand off it, or outside."""
    tanks = tables(design, "tank")
    tank = chance.choice(tanks) if tanks else {}
    path = _one(tank, chance, lambda _, value: _is_point(value))
    if not path or str(tank.get("mesh")) not in KNOWN or path == ("position",):
        return
    point = np.array(_spot(str(tank["mesh"]), chance))
    scale = {"m": 1e-3, "cm": 0.1}.get(str(tank.get("unit")), 1.0)
    _within(tank, path[:-1])[path[-1]] = [f"{float(c) * scale!r} {tank.get('unit', 'mm')}" for c in point]


def _spot(mesh: str, chance: random.Random) -> Any:
    vertices, faces = surface(mesh)
    corners = vertices[faces[chance.randrange(len(faces))]]
    at = {
        0: lambda: corners[0],
        1: lambda: (corners[0] + corners[1]) / 2.0,
        2: lambda: corners.mean(axis=0),
        3: lambda: vertices.mean(axis=0),
        4: lambda: vertices.max(axis=0) + 100.0,
    }[chance.choice([0, 1, 2, 2, 3, 4])]()
    off = chance.choice([0.0, 0.0, 1e-9, 1e-3, 1.0, 1.9, 2.0, 2.1, 10.0])
    normal = np.cross(corners[1] - corners[0], corners[2] - corners[0])
    return at + chance.choice([-1.0, 1.0]) * off * normal / (np.linalg.norm(normal) or 1.0)


@lru_cache
def surface(mesh: str) -> tuple[Any, Any]:
    """A mesh's corners, in mm, and faces."""
    if mesh in MESHES:
        return solids.from_manifold(MESHES[mesh]())
    read = trimesh.load(DEMO.parent / mesh)
    return np.asarray(read.vertices), np.asarray(read.faces)


def _another_mesh(design: Any, chance: random.Random) -> None:
    tanks = tables(design, "tank")
    if tanks:
        chance.choice(tanks)["mesh"] = chance.choice(KNOWN)


def _body_inside(design: Any, chance: random.Random) -> None:
    """A tank inside a tank, or one that fills it."""
    tanks = tables(design, "tank")
    if tanks:
        body = {"name": "body", "mesh": chance.choice(KNOWN)} | ({"unit": "cm"} if chance.random() < 0.2 else {})
        chance.choice(tanks)["inside"] = [body]


def _gauge_more(design: Any, chance: random.Random) -> None:
    """A gauge of some kind where the dipstick stands, or anywhere."""
    tanks = [tank for tank in tables(design, "tank") if isinstance(tank.get("dipstick"), dict)]
    if not tanks:
        return
    tank = chance.choice(tanks)
    ends = {key: deepcopy(tank["dipstick"].get(key)) for key in ("bottom", "top")}
    made = {
        "probe": {"kind": "probe", **ends},
        "reeds": {"kind": "reeds", **ends, "steps": chance.choice([1, 2, 10, 1000, -1])},
        "arm": {"kind": "arm", "pivot": ends["top"], "empty": ends["bottom"], "full": deepcopy(ends["top"])},
    }[chance.choice(["probe", "probe", "reeds", "arm"])]
    tank["gauge"] = [{"name": "probe", **made}]


def _attitudes_more(design: Any, chance: random.Random) -> None:
    attitudes = design.get("attitude")
    if isinstance(attitudes, list):
        for k in range(chance.choice([1, 1, 2, 5, 20])):
            tilt = {"pitch": f"{chance.uniform(-40, 40)} deg", "roll": f"{chance.uniform(-40, 40)} deg"}
            phase = chance.choice(["ground", "flight"])
            push = {"forward": f"{chance.uniform(-0.6, 0.6)} g"} if chance.random() < 0.3 else {}
            held = {"held": chance.choice(GIVEN["time"])} if chance.random() < 0.3 else {}
            attitudes.append({"name": f"more {len(attitudes)} {k}", "phase": phase, **tilt, **push, **held})


def _held(design: Any, chance: random.Random) -> None:
    """Attitudes held for a time only: some, or all."""
    share = chance.choice([0.3, 1.0])
    for attitude in tables(design, "attitude"):
        if chance.random() < share:
            attitude["held"] = chance.choice([*GIVEN["time"][:6], "30 s"])


def _flight_more(design: Any, chance: random.Random) -> None:
    """A flight of some parts, in any states of selectors, valves and pumps, with tanks loaded somehow."""
    attitudes = [str(one.get("name")) for one in tables(design, "attitude")] or ["cruise"]
    names = [str(tank.get("name")) for tank in tables(design, "tank")] or ["main"]
    kinds = {
        kind: [str(c.get("name")) for c in tables(design, "component") if c.get("kind") == kind] for kind in COMPONENTS
    }
    parts = []
    for k in range(chance.choice([1, 1, 2, 3, 6])):
        part: dict[str, Any] = {
            "name": f"part {k}",
            "attitude": chance.choice(attitudes),
            "flow": chance.choice(WORDS["flow"][:3]),
        }
        part |= {"duration": chance.choice(GIVEN["time"])} if chance.random() < 0.8 else {}
        some: dict[str, Any] = {
            "selectors": {one: chance.choice([*names, "both", "off"]) for one in kinds["selector"]},
            "shut": [one for one in kinds["valve"] if chance.random() < 0.5],
            "pumps": [one for one in kinds["pump"] if chance.random() < 0.5],
            "returns_to": chance.choice(names),
            "loaded": {one: chance.choice(GIVEN["volume"]) for one in names if chance.random() < 0.7},
        }
        part |= {key: value for key, value in some.items() if chance.random() < 0.3 and (key != "loaded" or k == 0)}
        parts.append(part)
    design["flight"] = parts


def _vents_changed(design: Any, chance: random.Random) -> None:
    """A vent taken out, one more beside it, its line led into another tank or a second mouth, or of a hair's bore."""
    lines = design.get("line")
    vents = [line for line in tables(design, "line") if line.get("kind") == "vent"]
    if not vents or not isinstance(lines, list):
        return
    line, how = chance.choice(vents), chance.randrange(5)
    if how == 0:
        lines.remove(line)
    elif how == 1:
        line["bore"] = chance.choice(["0.1 mm", "1 mm", "2 mm"])
    elif how == 2:
        lines.append({**deepcopy(line), "name": "second vent", "to": chance.choice(ends(design))})
    elif how == 3:
        line["to"] = chance.choice(ends(design))
    else:
        mouth = {"name": "second mouth", "kind": "overboard", "position": ["570 mm", "400 mm", "1310 mm"]}
        if isinstance(design.get("component"), list):
            design["component"].append(mouth)
        lines.append(
            {"name": "second vent", "kind": "vent", "from": line.get("from"), "to": "second mouth", "bore": "6 mm"}
        )


def _tank_turned(design: Any, chance: random.Random) -> None:
    """The tank's mesh in other axes: what was its floor is a wall."""
    tanks = tables(design, "tank")
    if tanks:
        chance.choice(tanks)["axes"] = chance.choice(WORDS["axes"])


CHANGES: list[Step] = [
    _another_value, _another_value, _scaled, _scaled, _scaled, _taken_out, _put_in, _put_in, _list_changed, _anothers_name,
    _line_moved, _line_more, _component_of_another_kind, _point_moved, _point_moved, _another_mesh, _body_inside,
    _attitudes_more, _tank_turned, _gauge_more, _gauge_more,
    _held, _held, _flight_more, _flight_more, _vents_changed, _vents_changed,
]  # fmt: skip


def spoilt(seed: int) -> tuple[Any, list[str]]:
    """A design and the arguments of a command on it, by seed."""
    chance = random.Random(seed)
    names = list(sound.ARCHITECTURES)
    design = deepcopy(sound.design_of(chance.choices(names, [3, 3, 3, 3, 3, 1])[0]))
    for _ in range(chance.choice([0, 1, 1, 1, 1, 2, 2, 3, 5, 8])):
        chance.choice(CHANGES)(design, chance)
    return design, arguments(design, chance)


# --- what must not be --------------------------------------------------------------------------------------------------------


class TooLongError(Exception):
    """A design took longer than any may."""


class _Alarm:
    """Counts: what is raised in the middle of a library may come out as another error."""

    rang = 0

    def __call__(self, _signal: int, _frame: object) -> None:
        self.rang += 1
        raise TooLongError


def ask(design: Any, asked: list[str], folder: Path, most_seconds: float = MOST_SECONDS) -> str:
    """Ask a command about a design in the folder of the meshes: "" or what was wrong with the answer."""
    (folder / NAME).write_text(sound.text_of(design), encoding="utf-8")
    shutil.rmtree(folder / "out", ignore_errors=True)
    (folder / "out").mkdir()
    for one in asked:
        if one.startswith("out/filled-"):
            (folder / one).write_text(sheet(int(one[len("out/filled-") : -len(".csv")])), encoding="utf-8")
    placed = [str(folder / one) if one in (NAME, *KNOWN) or one.startswith("out/") else one for one in asked]
    alarm = _Alarm()
    signal.signal(signal.SIGPROF, alarm)
    signal.setitimer(signal.ITIMER_PROF, most_seconds * (6.0 if asked[0] in ("review", "demo") else 1.0))
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error")
            ran = CliRunner().invoke(group, placed)
    except Exception:  # noqa: BLE001  what is let through is what is looked for
        return "too long" if alarm.rang else traceback.format_exc()
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
    if alarm.rang:
        return f"more than {most_seconds} s"
    return _wrong(ran, asked)


def _wrong(ran: Any, asked: list[str]) -> str:
    fault = ran.exception
    if isinstance(fault, FuelsysError):
        return _wrong_refusal(fault, asked)
    if fault is not None and not isinstance(fault, SystemExit):
        return "".join(traceback.format_exception(fault))
    judged = {"check": (1, 3), "mesh": (1, 3), "fly": (1, 3), "filltest": (3,)}  # the codes that commands say
    if ran.exit_code not in (0, 2, *judged.get(asked[0], ())):
        return f"exit code {ran.exit_code}: {ran.output}"
    if ran.exit_code == 2:
        return "" if "Error:" in ran.stderr else f"exit code 2 without a word: {ran.output}"
    if not ran.stdout.strip() and asked[0] != "drill":
        return "no answer"
    none = re.search(r"\b(nan|inf|Infinity|NaN|None(?! left|:)|-0\.0|-0)\b(?! mm)", ran.stdout)
    if none and "--form" not in asked:
        return f'"{none[0]}" in the answer: {ran.stdout[max(0, none.start() - 200) : none.end() + 100]}'
    if "json" in asked:
        json.loads(ran.stdout, parse_constant=_no_number)
    return ""


def _no_number(text: str) -> float:
    raise ValueError(f"{text} in JSON")


def _wrong_refusal(fault: FuelsysError, asked: list[str]) -> str:
    for line in fault.lines:
        if "\n" in line or not line.isprintable() or len(line) > 2000:
            return f"not one printable line: {line!r}"
    one = getattr(fault, "faults", [fault])
    for each in one:
        if not each.mend:
            return f"nothing said to do: {each}"
        if not each.file and not each.field.startswith("--") and asked[0] not in ("rules", "mesh", "new"):
            return f"no file named: {each}"
    return ""


def faults(seeds: Iterator[int], seconds: float, keep: Path | None = None) -> tuple[int, list[str]]:
    """Spoil and ask until the time is up: how many, and what went wrong."""
    told, count = [], 0
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        sound.write_meshes(folder)
        for architecture in sound.ARCHITECTURES:  # a new installation compiles first
            for command in ("check", "flow"):
                wrong = ask(sound.design_of(architecture), [command, NAME], folder, 600.0)
                told += [f"sound {architecture}: {wrong}"] if wrong else []
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            seed = next(seeds)
            design, asked = spoilt(seed)
            try:
                wrong = ask(design, asked, folder)
            except ValueError as fault:  # JSON that is none
                wrong = str(fault)
            count += 1
            if wrong:
                told.append(f"seed {seed} ({' '.join(asked)}): {wrong}")
                if keep:
                    keep.mkdir(parents=True, exist_ok=True)
                    (keep / f"{seed}.toml").write_text(sound.text_of(design), encoding="utf-8")
                    (keep / f"{seed}.txt").write_text(told[-1], encoding="utf-8")
                    print(told[-1], flush=True)
    return count, told


def main() -> int:
    """Run for a time and print what broke."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path)
    asked = parser.parse_args()
    assert "check" in COMMANDS
    count, told = faults(iter(range(asked.seed, 1 << 62)), asked.seconds, asked.keep)
    if not asked.keep:
        print("\n".join(told))
    print(f"{count} designs, {len(told)} faults")
    return 1 if told else 0


if __name__ == "__main__":
    sys.exit(main())
