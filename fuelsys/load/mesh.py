"""The mesh door: a file becomes one closed, outward cavity in body axes, or one line says what is wrong and where."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from fuelsys import units
from fuelsys.errors import FuelsysError, MeshError
from fuelsys.kernels import points, surface
from fuelsys.kernels.compiled import Floats, Ints
from fuelsys.load import axes, files
from fuelsys.model.cavity import Cavity

# A cavity outside these is more likely a wrong unit than a tank. Common practice, no source.
LEAST_PLAUSIBLE_M3, MOST_PLAUSIBLE_M3 = 0.2e-3, 2.0
_CLOSE = "Close the surface in CAD and export again."


@dataclass(frozen=True)
class Surface:
    """A welded surface in the file's own unit and axes, with what was done to it on the way."""

    file: str
    unit: str
    vertices: Floats
    faces: Ints
    notes: tuple[str, ...]

    def place(self, vertex: int) -> str:
        """Where a vertex is, in the file's own unit."""
        x, y, z = self.vertices[vertex]
        return f"({x:.6g}, {y:.6g}, {z:.6g}) {self.unit}"


def weld(vertices: Floats, faces: Ints) -> tuple[Floats, Ints, int]:
    """Join corners that are equal bit by bit, drop faces that thereby have no area: vertices, faces, number dropped."""
    bits = (vertices + 0.0).view(np.uint64)
    with np.errstate(over="ignore"):
        key = (bits * np.array([0x9E3779B97F4A7C15, 0xC2B2AE3D27D4EB4F, 0x165667B19E3779F9], dtype=np.uint64)).sum(
            axis=1
        )
        key ^= key >> np.uint64(29)
    _, first, back = np.unique(key, return_index=True, return_inverse=True)
    if not np.array_equal(vertices[first][back], vertices + 0.0):  # two corners share a key: compare in full
        _, first, back = np.unique(vertices + 0.0, axis=0, return_index=True, return_inverse=True)
    order = np.argsort(first, kind="stable")  # keep the file's order, so that messages name its first fault
    rank = np.empty_like(order)
    rank[order] = np.arange(order.size)
    welded = rank[back.reshape(-1)][faces]
    a, b, c = welded.T
    whole = (a != b) & (b != c) & (c != a)
    welded = welded[whole]
    used, renamed = np.unique(welded, return_inverse=True)
    kept = np.ascontiguousarray(vertices[first[order]][used] + 0.0)
    return kept, renamed.reshape(-1, 3).astype(np.int32), int((~whole).sum())


def _unit(mesh: files.MeshFile, unit: str | None) -> str:
    if unit is not None and unit not in units.UNITS["length"]:
        raise MeshError(
            f'found the unit "{unit}"',
            mend=f"Use one of {', '.join(units.UNITS['length'])}.",
            file=mesh.path.name,
            field="unit",
        )
    if mesh.unit is None and unit is None:
        raise MeshError(
            f"a {mesh.format} file does not say its unit",
            mend="State it, as the CAD export was set: mm, cm, m, in or ft.",
            file=mesh.path.name,
            field="unit",
        )
    if mesh.unit is not None and unit is not None and unit != mesh.unit:
        raise MeshError(
            f"the unit was stated as {unit}, but this {mesh.format} file is in {mesh.unit}",
            mend="Leave the unit out, or look again which file this is.",
            file=mesh.path.name,
            field="unit",
        )
    return unit or mesh.unit or ""


def read_surface(path: Path, unit: str | None) -> Surface:
    """Read a file's faces as one welded surface; MeshError for no faces and for coordinates that are not finite."""
    mesh = files.read(path)
    unit = _unit(mesh, unit)
    bodies = [body for body in mesh.bodies if len(body.faces)]
    if not bodies:
        raise MeshError(
            "there are no faces in it",
            mend="Export the tank's inside as a surface or solid, not as lines.",
            file=path.name,
        )
    offsets = np.cumsum([0, *(len(body.vertices) for body in bodies)])
    vertices = np.concatenate([body.vertices for body in bodies])
    faces = np.concatenate([body.faces + start for body, start in zip(bodies, offsets[:-1], strict=True)])
    odd = np.flatnonzero(~(np.abs(vertices) < 1e9).all(axis=1))
    if odd.size:
        found = ", ".join(f"{c:g}" for c in vertices[odd[0]])
        raise MeshError(
            f"{odd.size} corners have coordinates that are not finite or beyond reason, the first ({found})",
            mend="Export again; the file is damaged.",
            file=path.name,
        )
    vertices, faces, dropped = weld(vertices, faces)
    if not len(faces):
        raise MeshError("all its faces have no area", mend="Export the tank's inside as a solid.", file=path.name)
    notes = (f"{dropped} faces with two equal corners were left out; they enclose nothing",) if dropped else ()
    return Surface(path.name, unit, vertices, faces, notes)


def _check_edges(given: Surface) -> None:
    sides = np.concatenate([given.faces[:, [0, 1]], given.faces[:, [1, 2]], given.faces[:, [2, 0]]]).astype(np.int64)
    low, high = sides.min(axis=1), sides.max(axis=1)
    key, back, count = np.unique(low << 32 | high, return_inverse=True, return_counts=True)

    def place(edges: np.ndarray[tuple[int], np.dtype[np.int64]]) -> str:
        return given.place(int((key[edges] >> 32).min()))

    crowded = np.flatnonzero(count > 2)
    if crowded.size:
        raise MeshError(
            f"{crowded.size} edges join three or more faces, the first near {place(crowded)}",
            mend="Unite the bodies that touch there into one solid, or remove the double face, and export again.",
            file=given.file,
        )
    open_ = np.flatnonzero(count == 1)
    if open_.size:
        raise MeshError(
            f"{open_.size} edges do not join two faces, the first near {place(open_)}", mend=_CLOSE, file=given.file
        )
    turn = np.bincount(back.reshape(-1), np.where(sides[:, 0] < sides[:, 1], 1.0, -1.0), len(key))
    twisted = np.flatnonzero(turn != 0)
    if twisted.size:
        raise MeshError(
            f"at {twisted.size} edges the two faces are wound against each other, the first near {place(twisted)}",
            mend="Make the normals consistent in CAD and export again.",
            file=given.file,
        )


def _describe(given: Surface, faces: Ints, volume: float) -> str:
    litres = abs(volume) * units.scale(given.unit) ** 3 * 1e3
    return f"{litres:.4g} L near {given.place(int(faces.min()))}"


def _orient(given: Surface) -> Surface:
    """One body, facing outward; hollows inside it (a float's can) face inward."""
    number, label = surface.shells(len(given.vertices), given.faces)
    parts = [given.faces[label == k] for k in range(number)]
    volumes = np.array([surface.enclosed_volume(given.vertices, part) for part in parts])
    boxes = np.array([np.ptp(given.vertices[part.ravel()], axis=0) for part in parts])
    flat = np.abs(volumes) <= 1e-9 * np.maximum(boxes.max(axis=1), 1e-300) ** 3
    if flat.any():
        k = int(np.flatnonzero(flat)[0])
        raise MeshError(
            f"a surface encloses no volume ({_describe(given, parts[k], volumes[k])})",
            mend="Export the tank's inside as a solid.",
            file=given.file,
        )
    outer = int(np.argmax(np.abs(volumes)))
    notes, faces = given.notes, given.faces
    if volumes[outer] < 0.0:
        faces, volumes = np.ascontiguousarray(faces[:, ::-1]), -volumes
        notes = (*notes, "the surface was inside out (its normals pointed inward); it has been turned")
    apart = [
        k
        for k in range(number)
        if k != outer
        and (
            volumes[k] > 0.0
            or not points.inside(given.vertices[parts[k][0, 0]], given.vertices, _facing_out(parts[outer], given))
        )
    ]
    if apart:
        listed = "; ".join(_describe(given, parts[k], volumes[k]) for k in [outer, *apart][:6])
        raise MeshError(
            f"there are {len(apart) + 1} separate bodies in it: {listed}",
            mend="Export each tank's inside to a file of its own, without the other parts.",
            file=given.file,
        )
    if number > 1:
        notes = (*notes, f"{number - 1} closed hollows inside the cavity hold no fuel")
    return Surface(given.file, given.unit, given.vertices, faces, notes)


def _facing_out(part: Ints, given: Surface) -> Ints:
    return part if surface.enclosed_volume(given.vertices, part) > 0.0 else np.ascontiguousarray(part[:, ::-1])


def load_cavity(
    path: Path,
    unit: str | None,
    axes_text: str = "aft, right, up",
    origin_m: Floats | None = None,
    name: str | None = None,
) -> Cavity:
    """A mesh file as a cavity in body axes, origin_m (3,) being where the mesh's own origin lies; MeshError if it is none."""
    try:
        turn = axes.rotation(axes_text)
    except FuelsysError as fault:
        raise MeshError(fault.found, mend=fault.mend, file=path.name, field="axes") from fault
    given = read_surface(path, unit)
    _check_edges(given)
    given = _orient(given)
    vertices_m = given.vertices * units.scale(given.unit) @ turn + (0.0 if origin_m is None else origin_m)
    cavity = Cavity.of(vertices_m, given.faces, name or path.stem, given.notes)
    if not LEAST_PLAUSIBLE_M3 <= cavity.gross_m3 <= MOST_PLAUSIBLE_M3:
        warning = f"a cavity of {cavity.gross_m3 * 1e3:.4g} L is unusual for a light aircraft's tank: is the unit {given.unit} right?"
        cavity = Cavity.of(vertices_m, given.faces, name or path.stem, (*given.notes, warning))
    return cavity
