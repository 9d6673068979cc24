"""Feeds spoilt mesh and design files to the doors: each must be read or be refused in one line, in bounded time and memory.

Run: python tests/fuzz_doors.py --seconds 3600 [--seed 1] [--keep FOLDER]. What breaks is kept as a file; exit code 1.
A minute of it runs in CI (.ci/run), a few seconds among the tests (test_fuzz.py).
"""

from __future__ import annotations

import argparse
import importlib.util
import io
import random
import resource
import signal
import sys
import tempfile
import time
import traceback
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path

import meshfiles as made

from fuelsys.errors import FuelsysError
from fuelsys.load.designs.door import load_design
from fuelsys.load.formats import step
from fuelsys.load.formats.raw import Choice
from fuelsys.load.meshes import mesh as health
from fuelsys.load.meshes.door import load_cavity
from fuelsys.load.meshes.mending import mend
from fuelsys.report.meshfile import ply_text
from fuelsys.review import findings, study

MOST_SECONDS, MOST_BYTES = 10, 1024**3
STEP_SHARE = 0.01  # of the files: each costs a process of its own, a second and more, a hundred times what others do
NUMBERS = [
    b"nan",
    b"inf",
    b"-inf",
    b"1e300",
    b"1e-310",
    b"-1",
    b"0",
    b"4294967295",
    b"2147483648",
    b"99999999999",
    b"1e",
    b"0x10",
]
WORDS = [
    b"\x00",
    b"\xff\xfe",
    b"../../etc/passwd",
    b"%s%n",
    b"\n" * 50,
    b" " * 999,
    b"solid",
    b"endsolid",
    b"f 1 2 3 4 5 6 7 8\n",
]


def originals() -> dict[str, list[bytes]]:
    """Sound files of each ending."""
    box, faces = made.BOX_MM, made.TRIANGLES
    return {
        ".stl": [made.stl_text(box, faces), made.stl_binary(box, faces)],
        ".obj": [made.obj(box, faces), made.obj(box, made.QUADS), b"g wall\n".join(_lines(made.obj(box, faces)))],
        ".ply": [
            made.ply_text(box, faces),
            made.ply_binary(box, made.QUADS),
            made.ply_binary(box, faces, "float", "big"),
        ],
        ".off": [made.off(box, faces), made.off(box, made.QUADS)],
        ".glb": [
            made.glb(made.BOX, faces),
            made.glb(made.BOX, faces, [{"children": [1]}, {"children": [2]}, {"mesh": 0}]),
        ],
        ".3mf": [made.threemf(box, faces), _stored(made.threemf(box, faces))],
        **({".step": _step_files()} if importlib.util.find_spec("OCP") else {}),
        ".toml": [(Path(__file__).parents[1] / "meshes" / "taildragger.toml").read_bytes()],
    }


def _lines(data: bytes) -> list[bytes]:
    return data.splitlines(keepends=True)


def _stored(packed: bytes) -> bytes:
    """The same archive without packing, so that its text can be spoilt."""
    stream = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(packed)) as given, zipfile.ZipFile(stream, "w") as archive:
        for name in given.namelist():
            archive.writestr(name, given.read(name))
    return stream.getvalue()


def _step_files() -> list[bytes]:
    """A box, a drilled cube, and an assembly, of which one solid must be picked."""
    from stepfiles import box, drilled, wing, written

    return [written(box()), written(drilled()), wing()]


def _flip(data: bytearray, chance: random.Random) -> bytearray:
    for _ in range(chance.choice([1, 1, 2, 8, 64])):
        data[chance.randrange(len(data))] = chance.randrange(256)
    return data


def _cut(data: bytearray, chance: random.Random) -> bytearray:
    start = chance.randrange(len(data))
    return data[:start] if chance.random() < 0.5 else data[:start] + data[start + chance.randrange(1, 200) :]


def _repeat(data: bytearray, chance: random.Random) -> bytearray:
    start = chance.randrange(len(data))
    piece = data[start : start + chance.randrange(1, 400)]
    return data[:start] + piece * chance.choice([2, 3, 50, 5000]) + data[start:]


def _number(data: bytearray, chance: random.Random) -> bytearray:
    """Another number in the place of one that is written as text."""
    starts = [i for i in range(len(data) - 1) if data[i : i + 1].isdigit() and not data[i - 1 : i].isdigit()]
    if not starts:
        return _flip(data, chance)
    start = end = chance.choice(starts)
    while end < len(data) and data[end : end + 1] in b"0123456789.eE+-":
        end += 1
    return data[:start] + chance.choice(NUMBERS) + data[end:]


def _word(data: bytearray, chance: random.Random) -> bytearray:
    start = chance.randrange(len(data))
    return data[:start] + chance.choice(WORDS) + data[start:]


def _line(data: bytearray, chance: random.Random) -> bytearray:
    lines = data.split(b"\n")
    here, there = chance.randrange(len(lines)), chance.randrange(len(lines))
    if chance.random() < 0.5:
        lines[here], lines[there] = lines[there], lines[here]
    else:
        del lines[here]
    return bytearray(b"\n".join(lines))


def _integer(data: bytearray, chance: random.Random) -> bytearray:
    """Four bytes that read as a telling number."""
    start = chance.randrange(max(1, len(data) - 4))
    value = chance.choice([0, 1, 2**31 - 1, 2**31, 2**32 - 1, 2**24, len(data)])
    return data[:start] + value.to_bytes(4, chance.choice(["little", "big"])) + data[start + 4 :]


CHANGES: list[Callable[[bytearray, random.Random], bytearray]] = [_flip, _cut, _repeat, _number, _word, _line, _integer]


def spoilt(seed: int, sound: dict[str, list[bytes]]) -> tuple[str, bytes]:
    """An ending and the bytes of a file of that name, by seed."""
    chance = random.Random(seed)
    ending = ".step" if ".step" in sound and chance.random() < STEP_SHARE else chance.choice(_cheap(sound))
    source = (
        ending if chance.random() < 0.95 else chance.choice(_cheap(sound))
    )  # now and then what its name does not say
    data = bytearray(chance.choice(sound[source]))
    for _ in range(chance.choice([1, 1, 1, 2, 3, 6])):
        data = chance.choice(CHANGES)(data, chance) if data else data
    return ending, bytes(data)


def _cheap(sound: dict[str, list[bytes]]) -> list[str]:
    return [ending for ending in sound if ending != ".step"] or list(sound)


class TooLongError(Exception):
    """A file took longer than any may."""


def _alarm(_signal: int, _frame: object) -> None:
    raise TooLongError


def _work_of_others_s() -> float:
    """Processor time of the processes that were started and have ended."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def enter(ending: str, data: bytes, folder: Path, most_seconds: float = MOST_SECONDS) -> str:
    """Put a file through its door: "" or what was wrong with that."""
    path = folder / f"tank{ending}"
    path.write_bytes(data)
    signal.signal(signal.SIGPROF, _alarm)
    signal.setitimer(signal.ITIMER_PROF, most_seconds)  # of work, not of waiting for a busy machine
    others_s, before = _work_of_others_s(), _peak_bytes()
    try:
        if ending == ".toml":
            found = findings(study(load_design(path)))
            assert found
        else:
            pick = Choice("2" if data.count(b"MANIFOLD_SOLID_BREP") > 1 else "")
            unit = None if ending in (".glb", ".3mf", ".step") else "mm"
            if len(data) % 3 == 0:
                return _mended(path, unit, pick)
            cavity = load_cavity(path, unit, choice=pick)
            if not cavity.gross_m3 > 0.0:
                return f"a volume of {cavity.gross_m3}"
    except FuelsysError as fault:
        if any("did not finish" in line for line in fault.lines):
            return "the geometry library hangs"
        wrong = [line for line in fault.lines if "\n" in line or not line.isprintable() or len(line) > 2000]
        if wrong:
            return f"not one printable line: {wrong[0]!r}"
    except TooLongError:
        return f"more than {most_seconds} s"
    except Exception:  # noqa: BLE001  what the doors let through is what is looked for
        return traceback.format_exc()
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
    if _work_of_others_s() - others_s > most_seconds:
        return f"more than {most_seconds} s in the geometry library"
    more = _peak_bytes() - before
    return f"{more / 1e6:.0f} MB more" if more > MOST_BYTES else ""


def _peak_bytes() -> int:
    return max(resource.getrusage(who).ru_maxrss for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)) * 1024


def _mended(path: Path, unit: str | None, pick: Choice) -> str:
    """Examine and mend a mesh: what comes out sound must pass its door."""
    given, left_out = health.read(path, unit, pick)
    health.judge(given, left_out)
    mended = mend(given, 1e-3, 0.1, left_out=left_out)
    if mended.health.usable:
        out = path.with_name("mended.ply")
        out.write_text(ply_text(mended.surface.vertices, mended.surface.faces, (f"unit {given.unit}",)))
        load_cavity(out, given.unit)
    return ""


def faults(seeds: Iterator[int], seconds: float, keep: Path | None = None) -> tuple[int, list[str]]:
    """Spoil and enter files until the time is up: how many, and what went wrong."""
    sound, told, count = originals(), [], 0
    step._MOST_SECONDS = (
        6 * MOST_SECONDS
    )  # of waiting: a hang is ended after a minute, and counts as a fault by its work
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for mesh in (Path(__file__).parents[1] / "meshes").glob("*.stl"):
            (folder / mesh.name).write_bytes(mesh.read_bytes())
        for ending, files in sound.items():  # a new installation compiles first
            told += [f"sound {ending}: {wrong}" for data in files if (wrong := enter(ending, data, folder, 600.0))]
        crossing = made.BOX_MM.copy()
        crossing[6, 2] = -20.0  # a corner of the lid through the floor
        enter(".off", made.off(crossing, made.TRIANGLES), folder, 600.0)
        _mended(folder / "left.stl", "mm", Choice())
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            seed = next(seeds)
            ending, data = spoilt(seed, sound)
            wrong = enter(ending, data, folder)
            count += 1
            if wrong:
                told.append(f"seed {seed} ({ending}): {wrong}")
                if keep:
                    keep.mkdir(parents=True, exist_ok=True)
                    (keep / f"{seed}{ending}").write_bytes(data)
    return count, told


def main() -> int:
    """Run for a time and print what broke."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", type=Path)
    asked = parser.parse_args()
    count, told = faults(iter(range(asked.seed, 1 << 62)), asked.seconds, asked.keep)
    for line in told:
        print(line, flush=True)
    print(f"{count} files, {len(told)} faults, peak {_peak_bytes() / 1e6:.0f} MB")
    return 1 if told else 0


if __name__ == "__main__":
    sys.exit(main())
