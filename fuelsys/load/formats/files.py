"""Mesh files as they stand: corners and faces read raw, nothing cleaned up, nothing judged."""

from __future__ import annotations

import importlib
import os
import stat
from collections.abc import Callable
from pathlib import Path

import numpy as np

from fuelsys.errors import MeshError, NoFileError
from fuelsys.load import bounds
from fuelsys.load.formats.raw import WHOLE, Choice, Raw, check_coordinates

GIVE = "Give the mesh file that the CAD system exported."
# Ending -> format and the room's module that reads it, its function being read_stl and so on. The modules are
# imported when such a file is given, for one reason: the libraries behind some of them take a second or more to load.
READERS = {
    ".stl": ("STL", "stl"),
    ".obj": ("OBJ", "obj"),
    ".ply": ("PLY", "ply"),
    ".off": ("OFF", "off"),
    ".3mf": ("3MF", "scenes"),
    ".glb": ("GLB", "glb"),
    ".step": ("STEP", "step"),
    ".stp": ("STEP", "step"),
}
UNIT_WITHIN = ("3MF", "STEP")  # they say their unit themselves; GLB says none, its standard does
TRUE_SOLIDS = ("STEP",)  # their readers make the facets, and take a person's choice of solid and tolerance


def reader(ending: str) -> Callable[..., Raw]:
    """The function that reads files of an ending."""
    kind, module = READERS[ending]
    found: Callable[..., Raw] = getattr(
        importlib.import_module(f"fuelsys.load.formats.{module}"), f"read_{kind.lower()}"
    )
    return found


_MOST_SHOWN = 600  # characters of a path: what is longer fits in no line


def label(path: Path | str) -> str:
    """A path as text that can be printed, whatever bytes it is made of; the middle of an endless one is left out.

    >>> label("left\\udcff.stl")
    'left\\\\xff.stl'
    """
    text = os.fsencode(path).decode("utf-8", "backslashreplace")
    text = "".join(c if c.isprintable() else f"\\x{ord(c):02x}" for c in text)
    return text if len(text) <= _MOST_SHOWN else f"{text[: _MOST_SHOWN // 2]} ... {text[-_MOST_SHOWN // 2 :]}"


def format_of(path: Path) -> str:
    """The format that a file's ending stands for; MeshError where it is none."""
    if path.suffix.lower() in READERS:
        return READERS[path.suffix.lower()][0]
    ending = label(path.suffix)
    found = f'the ending "{ending}" is not that of a mesh format' if ending else "the name has no ending"
    known = ", ".join(dict.fromkeys(name for name, _ in READERS.values()))
    raise MeshError(found, mend=f"Export as one of {known}.", file=label(path.name))


def _not_waiting(path: str, flags: int) -> int:
    """Opens without waiting for whoever writes into a pipe."""
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))


def _check_regular(found: os.stat_result, mend: str, file: str, most_bytes: int) -> None:
    if not stat.S_ISREG(found.st_mode):
        what = "this is a folder" if stat.S_ISDIR(found.st_mode) else "this is not a regular file"
        raise MeshError(what, mend=mend, file=file)
    if found.st_size > most_bytes:
        size = f"the file has {found.st_size / 1e6:.5g} MB"
        raise MeshError(size, mend=f"At most {most_bytes / 1e6:.5g} MB are read.", file=file)


def contents(path: Path, mend: str, most_bytes: int = bounds.MOST_MESH_BYTES) -> bytes:
    """The bytes of a regular file; MeshError where there is none, it cannot be read or it is too large."""
    file = label(path.name or path)
    try:
        _check_regular(path.stat(), mend, file, most_bytes)  # before it is opened: some devices act on that
        with open(path, "rb", opener=_not_waiting) as stream:
            found = os.fstat(stream.fileno())
            _check_regular(found, mend, file, most_bytes)  # what was opened, if another has taken the name since
            data = stream.read(found.st_size + 1)
            after = os.fstat(stream.fileno())
        if len(data) != found.st_size or after.st_mtime_ns != found.st_mtime_ns:
            raise MeshError("the file changed while it was read", mend="Ask again when it is written.", file=file)
        return data
    except (FileNotFoundError, NotADirectoryError, ValueError) as fault:  # ValueError: a name with a null in it
        raise NoFileError(
            "there is no such file", mend=f"Check the path; looked for {label(path)}.", file=file
        ) from fault
    except OSError as fault:
        raise MeshError(
            f"the file cannot be read ({fault.strerror})", mend="Check the path and its permissions.", file=file
        ) from fault


def read(path: Path, choice: Choice = WHOLE) -> Raw:
    """Read a mesh file; MeshError where it is not one of the formats or cannot be read as what its name says.

    Of true solids one is picked and facetted here; of facets all are read, for picking.py to pick from.
    """
    kind = format_of(path)
    data = contents(path, GIVE)
    try:
        if not data:
            raise MeshError("the file is empty", mend="Export the surface again.")
        if choice.tolerance_m is not None and kind not in TRUE_SOLIDS:
            found = f"a tolerance was stated, but {kind} files hold facets, whose tolerance the export decided"
            raise MeshError(found, mend=f"Leave it out; it is for {', '.join(TRUE_SOLIDS)}.", field="tolerance")
        with np.errstate(all="ignore"):  # what is not finite is refused below, by its place
            raw = reader(path.suffix.lower())(data, *([choice] if kind in TRUE_SOLIDS else []))
        check_coordinates(raw.vertices)
        if not len(raw.faces):
            _check_content(data, kind, path)
    except MeshError as fault:
        _check_content(data, kind, path)
        raise type(fault)(fault.found, mend=fault.mend, file=label(path.name), field=fault.field) from fault
    except Exception as fault:  # whatever a library's reader throws at a damaged file
        _check_content(data, kind, path)
        raise MeshError(
            f"the file cannot be read as {kind}",
            mend=f"Export it again as {kind}, or give it the ending of what it is.",
            file=label(path.name),
        ) from fault
    return raw


def looks_like(data: bytes) -> str:
    """The format that a file's content begins as, "" where none is plain.

    >>> looks_like(b"ply\\nformat ascii 1.0"), looks_like(b"v 0 0 0\\nv 1 0 0\\nv 0 1 0\\nf 1 2 3"), looks_like(b"solid")
    ('PLY', 'OBJ', '')
    """
    starts = {b"ply": "PLY", b"glTF": "GLB", b"PK\x03\x04": "3MF", b"ISO-10303-21": "STEP", b"OFF": "OFF"}
    for start, kind in starts.items():
        if data.startswith(start):
            return kind
    triangles = int.from_bytes(data[80:84], "little")
    if triangles and len(data) == 84 + 50 * triangles:
        return "STL"
    lines = [line.split()[0] for line in data.splitlines() if line.split()]
    if lines[:2] == [b"solid", b"facet"]:
        return "STL"
    return "OBJ" if {b"v", b"f"} <= set(lines) else ""


def _check_content(data: bytes, kind: str, path: Path) -> None:
    """Of a file that cannot be read as what its ending says: is it plainly of another format?"""
    found = looks_like(data)
    if found in ("", kind):
        return
    ending = next(ending for ending, (name, _) in READERS.items() if name == found)
    raise MeshError(
        f"its content is {found} and not {kind}, as its ending says",
        mend=f"Give it the ending {ending}.",
        file=label(path.name),
    )
