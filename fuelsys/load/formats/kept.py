"""Facets of STEP files, kept beside the compiled kernels: making them takes seconds, and each command needs them again."""

from __future__ import annotations

import hashlib
import json
import os
import tempfile
from contextlib import suppress
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import Any

import numpy as np

from fuelsys.arrays import Floats, Ints
from fuelsys.kernels.compiled import KEPT_IN

MOST_KEPT = 32  # files; the ones that were used longest ago go first
_MADE_BY = ("stepwork.py", "brep.py", "stepfile.py", "kept.py")  # facets depend on what these say
_HERE = Path(__file__).parent
_BROKEN = (OSError, ValueError, KeyError, EOFError)  # what a damaged file makes of itself


def key(data: bytes, tolerance_m: float, pick: str) -> str:
    """What facets depend on: the file, the tolerance, the solid that was picked, the library and our own way with it."""
    try:
        library = version("cadquery-ocp-novtk")
    except PackageNotFoundError:
        library = ""
    ours = [hashlib.sha256((_HERE / name).read_bytes()).hexdigest() for name in _MADE_BY]
    about = json.dumps([*ours, library, repr(tolerance_m), pick])
    return hashlib.sha256(about.encode() + b"\0" + data).hexdigest()


def found(name: str) -> tuple[dict[str, Any], Floats, Ints] | None:
    """Fields, vertices and faces kept under a key; None where there are none, or they are damaged."""
    path = _path(name)
    if path is None or not path.is_file():
        return None
    try:
        digest, _, body = path.read_bytes().partition(b"\n")
        if hashlib.sha256(body).hexdigest().encode() != digest:
            return None
        head, _, arrays = body.partition(b"\n")
        fields = json.loads(head)
        corners, n = np.frombuffer(arrays, np.float64, fields["vertices"] * 3), fields["vertices"] * 24
        faces = np.frombuffer(arrays, np.int32, fields["faces"] * 3, n)
    except _BROKEN:
        return None
    with suppress(OSError):
        os.utime(path)
    return fields, corners.reshape(-1, 3).copy(), faces.reshape(-1, 3).copy()


def keep(name: str, fields: dict[str, Any], vertices: Floats, faces: Ints) -> None:
    """Keep fields, vertices and faces under a key; where nothing can be kept, nothing is."""
    path = _path(name)
    if path is None:
        return
    head = json.dumps({**fields, "vertices": len(vertices), "faces": len(faces)}).encode()
    body = head + b"\n" + np.ascontiguousarray(vertices, np.float64).tobytes()
    body += np.ascontiguousarray(faces, np.int32).tobytes()
    with suppress(OSError):
        path.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.NamedTemporaryFile(dir=path.parent, delete=False) as part:
            part.write(hashlib.sha256(body).hexdigest().encode() + b"\n" + body)
        os.replace(part.name, path)
        old = sorted(path.parent.iterdir(), key=lambda one: one.stat().st_mtime)
        for one in old[:-MOST_KEPT]:
            one.unlink()


def _path(name: str) -> Path | None:
    return None if KEPT_IN is None else KEPT_IN / "facets" / name
