"""Whether a surface is one closed, outward cavity; where it is none, one line says what is wrong and where."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from fuelsys import units
from fuelsys.arrays import Floats, Ints
from fuelsys.errors import BodiesError, MeshError
from fuelsys.kernels import edges, points, surface
from fuelsys.kernels.crossings import Crossings, crossings
from fuelsys.load import bounds
from fuelsys.load.formats.raw import PICK, Raw, counted
from fuelsys.load.meshes.bodies import FILLS_MOST, sheet

# Faces that pass through each other by less only touch: single-precision corners are rounded by up to 0.06 um at 1 m.
SHALLOW_M = 1e-6
# Touching pairs whose surroundings are looked at, and how near: shares of the shortest side of the two faces.
LOOKED_AT, _NEAR = 20, (0.2, 0.01)
FLAT = "no volume: it is flat"
_FLAT = 1e-9  # of its size
_MOST_SEAM = 3000  # corners of open edges that are held against each other
_SEAM = 0.01  # of the smallest hole: corners nearer than this to another lie along a seam
_OVERLAP = (
    "Unite the overlapping parts into one solid in CAD and export again; `fuelsys mesh FILE` shows where they are."
)
_CLOSE = "Close the surface in CAD and export again; `fuelsys mesh FILE` shows where it is open."
_UNITE = "Unite the bodies that touch there into one solid, or remove the double face, and export again."
CHAMBERS = "Export each chamber's inside to a file of its own as a closed solid; chambers between which fuel passes, as one solid."
_TURN = "Make the normals consistent in CAD and export again; `fuelsys mesh FILE` shows where."


@dataclass(frozen=True)
class Surface:
    """A welded surface in the file's own unit and axes, with what was done to it on the way."""

    file: str
    unit: str
    vertices: Floats
    faces: Ints
    notes: tuple[str, ...]
    raw: Raw | None = None  # what it was made of, where that may hold several bodies to pick from

    def place(self, point: Floats) -> str:
        """A point (3,) of the file's own axes and unit in words."""
        x, y, z = point + 0.0
        return f"({x:.6g}, {y:.6g}, {z:.6g}) {self.unit}"


def sound(given: Surface, *, part: bool = False) -> Surface:
    """The surface, turned outward where it must be; MeshError where it is no cavity, nor, if asked so, a part of a tank.

    A part (a baffle, a pipe, a hollow float) may be thin, and mostly hollow.
    """
    along = edges.edges_of(given.faces)
    check_flat(given)
    _check_edges(given, along)
    _check_corners(given, along)
    parts, volumes = _shells(given)
    try:
        turned = _orient(given, parts, volumes, part=part)
    except MeshError as fault:
        _check_overlap(given, fault)
        raise
    if not part:
        _check_sheet(turned)
    _check_crossings(turned)
    return turned


def flat(vertices: Floats, faces: Ints) -> bool:
    """Whether all faces lie in one plane, as far as rounding lets one say.

    >>> corners = np.array([[0.0, 0, 0], [1, 0, 1], [0, 1, 0], [1, 1, 1]])
    >>> bent = corners * [[1, 1, 1], [1, 1, 1], [1, 1, 1], [1, 1, 2]]
    >>> flat(corners, np.array([[0, 1, 2], [3, 2, 1]])), flat(bent, np.array([[0, 1, 2], [3, 2, 1]]))
    (True, False)
    """
    if not len(faces):
        return False
    corners = vertices[np.unique(faces)]
    corners = corners - corners.mean(axis=0)
    across = np.linalg.eigh(corners.T @ corners)[1][:, 0]
    return float(np.ptp(corners @ across)) <= _FLAT * float(np.ptp(corners, axis=0).max())


def check_flat(given: Surface) -> None:
    """A surface in one plane holds nothing, whatever else is wrong with it."""
    if flat(given.vertices, given.faces):
        raise MeshError(FLAT, mend="Export the tank's inside as a solid.", file=given.file)


def seam(vertices: Floats, along: edges.Edges) -> float | None:
    """How far apart corners of open edges lie that an export should have made one; None where the edges are those of holes."""
    ends = along.ends[along.many == 1]
    rims = np.unique(ends)
    if not rims.size or rims.size > _MOST_SEAM:
        return None
    away = np.linalg.norm(vertices[rims][:, None] - vertices[rims][None], axis=2)
    np.fill_diagonal(away, np.inf)
    furthest = float(away.min(axis=1).max())
    _, label = edges.pieces(len(vertices), ends)
    pieces = (vertices[rims[label[rims] == k]] for k in np.unique(label[rims]).tolist())
    smallest = min(float(np.linalg.norm(np.ptp(piece, axis=0))) for piece in pieces)
    return furthest if 0.0 < furthest <= _SEAM * smallest else None


def seam_words(apart: float, unit: str, weld: str = "--weld") -> str:
    """What a seam is, and the option that joins it."""
    return f'Each open corner has another within {apart:.2g} {unit}: seams and not holes; try {weld} "{2.0 * apart:.2g} {unit}".'


def _check_edges(given: Surface, along: edges.Edges) -> None:
    """Every edge joins two faces, which are wound alike."""
    for odd, one, many, mend in (
        (along.many > 2, "edge joins three or more faces", "edges join three or more faces", _UNITE),
        (along.many == 1, "edge does not join two faces", "edges do not join two faces", _CLOSE),
        (along.turn != 0, "edge has its two faces", "edges have their two faces", _TURN),
    ):
        if odd.any():
            near = given.place(along.middles(given.vertices, odd)[0])
            apart = seam(given.vertices, along) if mend is _CLOSE else None
            words = mend if apart is None else seam_words(apart, given.unit, "`fuelsys mesh FILE --mend` with --weld")
            wound = " wound against each other" if mend is _TURN else ""
            raise MeshError(
                f"{counted(int(odd.sum()), one, many)}{wound}, the middle of the first near {near}",
                mend=words,
                file=given.file,
            )


def _check_corners(given: Surface, along: edges.Edges) -> None:
    """Every vertex has one fan of faces about it: the surface does not touch itself in a point."""
    odd = np.flatnonzero(edges.pinched(given.faces, along, len(given.vertices)))
    if odd.size:
        what = counted(odd.size, "corner joins parts of the surface", "corners join parts of the surface")
        raise MeshError(
            f"{what} that touch only there, the first near {given.place(given.vertices[odd[0]])}",
            mend="Unite the parts or move them apart in CAD and export again.",
            file=given.file,
        )


def _describe(given: Surface, faces: Ints, volume: float) -> str:
    litres = abs(volume) * units.scale(given.unit) ** 3 * 1e3
    return f"{litres:.4g} L near {given.place(given.vertices[int(faces.min())])}"


def _shells(given: Surface) -> tuple[list[Ints], Floats]:
    """The faces of each connected piece and what it encloses; every one encloses something."""
    number, label = surface.shells(len(given.vertices), given.faces)
    parts = surface.by_label(given.faces, label, number)
    volumes = surface.enclosed_volumes(given.vertices, given.faces, label, number)
    boxes = np.array([np.ptp(given.vertices[part.ravel()], axis=0) for part in parts])
    flat = np.abs(volumes) <= 1e-9 * boxes.max(axis=1) ** 3
    if flat.any():
        k = int(np.flatnonzero(flat)[0])
        raise MeshError(
            f"a surface encloses no volume ({_describe(given, parts[k], volumes[k])})",
            mend="Export the tank's inside as a solid.",
            file=given.file,
        )
    return parts, volumes


def _orient(given: Surface, parts: list[Ints], volumes: Floats, *, part: bool) -> Surface:
    """One body, facing outward; hollows inside it (a float's can) face inward."""
    outer, notes = int(np.argmax(np.abs(volumes))), given.notes
    if volumes[outer] < 0.0:
        given = replace(given, faces=np.ascontiguousarray(given.faces[:, ::-1]))
        parts, volumes = [np.ascontiguousarray(faces[:, ::-1]) for faces in parts], -volumes
        notes = (*notes, "the surface was inside out (its normals pointed inward); it has been turned")
    _check_hollows(given, parts, volumes, outer, most=1.0 if part else FILLS_MOST)
    if len(parts) > 1:
        what = counted(len(parts) - 1, "closed hollow inside the cavity holds", "closed hollows inside the cavity hold")
        notes = (*notes, f"{what} no fuel")
    return replace(given, notes=notes)


def _check_hollows(given: Surface, parts: list[Ints], volumes: Floats, outer: int, most: float) -> None:
    """Every part but the outer one is a hollow: it lies in the cavity and faces inward, and fills no more than most of it."""
    others = [k for k in range(len(parts)) if k != outer]
    if len(parts) > bounds.MOST_NESTED:
        raise MeshError(
            f"it has {len(parts):,} closed surfaces: which of more than {bounds.MOST_NESTED} lies in which is not checked",
            mend="A tank has a few: leave what is no part of it out of the export.",
            file=given.file,
        )

    def within(k: int, around: list[int]) -> bool:
        seen_from = given.vertices[parts[k][0, 0]]
        return points.inside(seen_from, given.vertices, np.concatenate([parts[i] for i in around]))

    apart = [k for k in others if not within(k, [outer])]
    if apart:
        raise several(given) or BodiesError(
            f"{counted(len(apart), 'more body lies', 'more bodies lie')} beside it", mend=PICK, file=given.file
        )
    _check_chambers(given, volumes, outer, most)
    for k in others:
        small = abs(volumes[k]) <= most * volumes[outer]
        if (small and volumes[k] > 0.0) or not within(k, [i for i in range(len(parts)) if i != k]):
            raise MeshError(
                f"a closed surface inside the cavity is no hollow in it ({_describe(given, parts[k], volumes[k])})",
                mend="A hollow's normals point into it, and nothing lies inside a hollow: turn it or take it out in CAD.",
                file=given.file,
            )
        if abs(volumes[k]) > most * volumes[outer]:
            raise MeshError(
                f"this looks like the tank's wall and not its inside: {_describe(given, parts[k], volumes[k])} of"
                f" {_describe(given, parts[outer], volumes[outer])} are hollow",
                mend="Export the inside as a solid; `fuelsys mesh FILE --mend --inside --into NEW.ply` takes the inner shell.",
                file=given.file,
            )


def _check_chambers(given: Surface, volumes: Floats, outer: int, most: float) -> None:
    """Several hollows that fill most of it together are a wall's chambers."""
    held = np.abs(np.delete(volumes, outer))
    if held.size > 1 and held.max() <= most * volumes[outer] < held.sum():
        to_l = units.scale(given.unit) ** 3 * 1e3
        raise MeshError(
            f"this looks like the tank's wall with {held.size} chambers and not its inside:"
            f" {' and '.join(f'{volume * to_l:.4g} L' for volume in held)} of {volumes[outer] * to_l:.4g} L are hollow",
            mend=CHAMBERS,
            file=given.file,
        )


def _check_sheet(given: Surface) -> None:
    """A body without thickness is the sheet that a tank is made of, and not its inside."""
    scale = units.scale(given.unit)
    area_m2 = float(np.linalg.norm(surface.vector_areas(given.vertices, given.faces), axis=1).sum()) * scale**2
    volume_m3 = surface.enclosed_volume(given.vertices, given.faces) * scale**3
    wall = sheet(volume_m3, area_m2, float(np.ptp(given.vertices, axis=0).min()) * scale)
    if wall:
        raise MeshError(wall.text, mend="Export the tank's inside as a solid.", file=given.file)


def _check_crossings(given: Surface) -> None:
    """The surface does not pass through itself: what lies in both parts would count twice."""
    found = crossings(given.vertices, given.faces, SHALLOW_M / units.scale(given.unit), first=LOOKED_AT)
    at = found.crossing_at[0] if found.n_crossing else passes_through(given, found)
    if at is not None:
        what = "the surface passes through itself along edges"
        if found.n_crossing:
            what = f"{counted(found.n_crossing, 'pair of faces passes', 'pairs of faces pass')} through each other"
        near = f"({at[0]:.6g}, {at[1]:.6g}, {at[2]:.6g}) {given.unit}"
        raise MeshError(f"{what}, the first near {near}", mend=_OVERLAP, file=given.file)


def _check_overlap(given: Surface, fault: MeshError) -> None:
    """Bodies that pass through each other may be parts of one tank: then none of them is its inside."""
    if not isinstance(fault, BodiesError):
        _check_crossings(given)
        return
    meets = crossings(given.vertices, given.faces, SHALLOW_M / units.scale(given.unit), first=1)
    if meets.n_crossing:
        x, y, z = meets.crossing_at[0]
        found = f"{fault.found}; some pass through each other, the first near ({x:.6g}, {y:.6g}, {z:.6g}) {given.unit}"
        mend = f"Unite in CAD what makes up one tank, and export again. {PICK}"
        raise BodiesError(found, mend=mend, file=given.file) from fault


def passes_through(given: Surface, meets: Crossings) -> Floats | None:
    """Of places where faces only touch, the first beside which a point is enclosed twice, or from without.

    Where an edge of one part lies in a face of another no two faces cross, and yet the parts may pass through each other.
    """
    sense = np.sign(surface.enclosed_volume(given.vertices, given.faces))
    for place, pair in zip(meets.grazing_at[:LOOKED_AT], meets.grazing, strict=False):
        corners = given.vertices[given.faces[pair]]
        shortest = float(np.linalg.norm(corners - np.roll(corners, 1, axis=1), axis=2).min())
        one, two = surface.vector_areas(given.vertices, given.faces[pair])
        one, two = (area / max(float(np.linalg.norm(area)), 1e-300) for area in (one, two))  # a sliver's may be nothing
        wedges = (one + two, one - two, two - one, -one - two)  # the middles of those between the two planes
        for way in wedges:
            for near in _NEAR:
                times = sense * points.winding(place + near * shortest * way, given.vertices, given.faces)
                if not -0.5 < times < 1.5:
                    return np.asarray(place)
    return None


def several(given: Surface) -> MeshError | None:
    """The refusal of a file with several bodies, which lists them; None where it has only one."""
    from fuelsys.load.meshes.picking import listing  # noqa: PLC0415  for files of several bodies

    found = listing(given.raw, given.unit) if given.raw else None
    return found.several(given.file) if found and len(found.bodies) > 1 else None
