"""Looks at a mesh as it stands and says what it is and what is wrong with it, where the mesh door would stop at the first fault."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from fuelsys import units
from fuelsys.kernels import crossings, edges, points, surface
from fuelsys.kernels.compiled import Flags, Floats, Ints
from fuelsys.load import files, mesh
from fuelsys.load.bodies import Bodies, bodies, wall_of, why_no_body
from fuelsys.load.mesh import Surface
from fuelsys.model.health import Fault, Health, Kind, Rim

LISTED = 1000  # faults of a kind whose places are kept
# Faces that cross by less touch: that much is what rounding in files makes, and it matters to nobody.
SHALLOW_M = 1e-6
# A face is without area where its height is less than this share of the mesh's size: what rounding in double precision makes.
_NO_HEIGHT = 1e-13
_LOOKED_AT = 20  # touching pairs whose surroundings are looked at


def examine(path: Path, unit: str | None) -> Health:
    """The health of a mesh file; MeshError only where the file cannot be read or its unit is not known."""
    raw, file = files.read(path), files.label(path.name)
    unit = mesh.unit_of(raw, files.format_of(path), unit, file)
    corners = raw.vertices[raw.faces]
    repeated = (corners == np.roll(corners, 1, axis=1)).all(axis=2).any(axis=1)
    vertices, faces, _ = mesh.weld(raw.vertices, raw.faces)
    return judge(Surface(file, unit, vertices, faces, raw.notes), corners[repeated])


def judge(given: Surface, repeated: Floats | None = None) -> Health:
    """The health of a welded surface; repeated (k, 3, 3) are faces that were left out of it for their equal corners."""
    scale = units.scale(given.unit)
    vertices, faces, left_out = given.vertices, given.faces, np.zeros((0, 3, 3)) if repeated is None else repeated
    along = edges.edges_of(faces)
    found = [
        *_edge_faults(given, along),
        *_crossings(given, scale),
        *_faces(given, along),
        _fault(Kind.REPEATED, len(left_out), _longest_sides(left_out[:LISTED]), 1.0),
    ]
    faults = tuple(
        Fault(f.kind, f.count, f.lines_m * scale, f.at_least) for f in found if f.count
    )
    body = bodies(vertices * scale, faces, along)
    rims, n_rims = _rims(given, along, scale)
    wall = wall_of(body)
    everything = np.concatenate([vertices, left_out.reshape(-1, 3)]) * scale
    low, high = (everything.min(axis=0), everything.max(axis=0)) if len(everything) else (np.zeros(3), np.zeros(3))
    return Health(
        file=given.file,
        unit=given.unit,
        triangles=len(faces) + len(left_out),
        corners=len(vertices),
        area_m2=float(body.areas_m2.sum()),
        volume_m3=body.volume_m3,
        low_m=low,
        high_m=high,
        n_shells=body.number,
        shells=body.largest(),
        faults=faults,
        rims=rims,
        n_rims=n_rims,
        wall=wall,
        why_not=_why_not(given, faults, body, wall is not None),
        notes=given.notes,
    )
