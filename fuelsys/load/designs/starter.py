"""A design file to fill in, begun from a mesh: every field with a line on what it is, what the mesh tells filled in."""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from fuelsys import units
from fuelsys.arrays import Floats
from fuelsys.errors import FuelsysError, MeshError
from fuelsys.kernels import surface
from fuelsys.load import axes as axes_words
from fuelsys.load.designs.starter_text import FLIGHT, HEAD, TAIL, TANK
from fuelsys.load.formats import files
from fuelsys.load.formats.raw import WHOLE, Choice, is_number
from fuelsys.load.formats.step import TOLERANCE_M
from fuelsys.load.meshes.door import odd_volume, read_surface
from fuelsys.load.meshes.soundness import Surface
from fuelsys.model.words import warnings

_USUAL_AXES = "aft, right, up"  # an example; what the other examples are made by until a mesh's own are given


def starter(mesh: Path, unit: str | None, axes: str | None, folder: Path | None = None, choice: Choice = WHOLE) -> str:
    """A design file's text for a mesh, to be written to a folder (the mesh's own if None); MeshError if it is no cavity.

    axes: None leaves them to fill in, since no mesh says which way it lies.
    """
    return starters([mesh], unit, axes, folder, choice)[0]


def starters(
    meshes: Sequence[Path], unit: str | None, axes: str | None, folder: Path | None = None, choice: Choice = WHOLE
) -> tuple[str, tuple[str, ...]]:
    """The same for several tanks, one mesh file each, and how large each is, with what is in doubt of it.

    Of several, the unit is for those whose format does not say it.
    """
    tanks, names, told = [], list[str](), list[str]()
    for mesh in meshes:
        says_itself = len(meshes) > 1 and files.format_of(mesh) in files.UNIT_WITHIN
        given = read_surface(mesh, None if says_itself else unit, choice)
        name = _tank_name(mesh, choice.body)
        names.append(name if name not in names else f"{name} {len(names) + 1}")
        tanks.append(TANK.substitute(_of_tank(given, axes, mesh, folder, choice), name=_text(names[-1])))
        told += _told(names[-1], given)
    listed = ", ".join(files.label(mesh.name) for mesh in meshes)
    head = HEAD.substitute(file=listed, length_units=", ".join(units.UNITS["length"]))
    return head + "".join(tanks) + TAIL + FLIGHT.substitute(name=_text(names[0])), tuple(told)


def _told(name: str, given: Surface) -> list[str]:
    """How large a tank is, and why that may be wrong."""
    x, y, z = np.ptp(given.vertices, axis=0)
    size = f"{units.shown(name)[1:-1]}: {_held_m3(given) * 1e3:.4g} L gross as meshed, x {x:.4g}, y {y:.4g}, z {z:.4g} {given.unit}"
    return [size, *warnings((*given.notes, *odd_volume(_held_m3(given), given.unit, given.file)))]


def _held_m3(given: Surface) -> float:
    return surface.enclosed_volume(given.vertices, given.faces) * units.scale(given.unit) ** 3


def _of_tank(given: Surface, axes: str | None, mesh: Path, folder: Path | None, choice: Choice) -> dict[str, str]:
    """What a mesh fills in of its tank."""
    try:
        up = axes_words.rotation(axes or _USUAL_AXES) @ np.array([0.0, 0.0, 1.0])
    except FuelsysError as fault:
        raise MeshError(fault.found, mend=fault.mend, file=given.file, field="axes") from fault
    low, high = given.vertices.min(axis=0), given.vertices.max(axis=0)
    spans = (f"{a} {x:.6g} to {y:.6g} {given.unit}" for a, x, y in zip("xyz", low, high, strict=True))
    return {
        "volume": f"{_held_m3(given) * 1e3:.4g} L",
        "spans": ", ".join(spans),
        "lowest": ("" if axes else "if z points up, ") + _point(given.vertices[np.argmin(given.vertices @ up)], given),
        "middle": _point((low + high) / 2.0, given),
        "high": _point((low + high) / 2.0 + up * (np.ptp(given.vertices @ up) / 2.0), given),
        "full_float": _point(_float_at_full(low, high, up), given),
        "mesh": _text(_path(mesh, folder)),
        "unit": _text(given.unit),
        "body": f"body = {_text(choice.body)}" if choice.body else '#body = "1"',
        "tolerance": _tolerance(mesh, choice),
        "axes": _text(axes or _blank_axes(high - low, given.unit)),
    }


def _blank_axes(spans: Floats, unit: str) -> str:
    """What stands in place of a mesh's axes until they are given: its three spans, by which a person tells which is which."""
    x, y, z = (f"{span:.4g}" for span in spans)
    return f"FILL IN: where x ({x} {unit} long), y ({y} {unit}) and z ({z} {unit}) of the mesh point, such as {_USUAL_AXES}"


def _float_at_full(low: Floats, high: Floats, up: Floats) -> Floats:
    """An example for a float whose arm hangs from the middle of the roof to the tank's middle: turned by 60 degrees."""
    height = up * (float((high - low) @ np.abs(up)) / 2.0)
    aside = np.roll(up, 1) * float(np.linalg.norm(height))
    full: Floats = (low + high) / 2.0 + height - 0.5 * height + 0.75**0.5 * aside
    return full


def _tolerance(mesh: Path, choice: Choice) -> str:
    """The tolerance that was asked for or, of a true solid, the one that was taken; else only an example."""
    tolerance_m = TOLERANCE_M if choice.tolerance_m is None else choice.tolerance_m
    blank = "" if files.format_of(mesh) in files.TRUE_SOLIDS else "#"
    return f'{blank}tolerance = "{tolerance_m * 1e3:g} mm"'


def _point(point: Floats, given: Surface) -> str:
    return "[" + ", ".join(f'"{c + 0.0:.6g} {given.unit}"' for c in point) + "]"


def _tank_name(mesh: Path, body: str) -> str:
    """The body's name, else the file's without its ending; a dot would part a tank from its port."""
    name = body.rpartition("/")[2] if body and not is_number(body) else files.label(mesh.stem)
    return name.replace(".", "-").strip() or "tank"


def _path(mesh: Path, folder: Path | None) -> str:
    path = Path(os.path.relpath(mesh, folder)) if folder else Path(mesh.name)
    try:
        path.as_posix().encode("utf-8")
    except UnicodeEncodeError as fault:
        found = "its path is not UTF-8 text, and a design file cannot name it"
        raise MeshError(found, mend="Rename the file or its folder.", file=files.label(mesh.name)) from fault
    return path.as_posix()


def _text(text: str) -> str:
    """A TOML text in quotes: JSON's escapes are TOML's, but for one character."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")
