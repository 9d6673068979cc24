"""The health of a mesh and what mending changed, as tables; places stand in the file's own unit and axes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from fuelsys import units
from fuelsys.arrays import Floats
from fuelsys.load.formats.ply import DOUBT
from fuelsys.load.formats.step import Solid
from fuelsys.load.meshes.mending import Mended
from fuelsys.model.found.mesh import Fault, Health, Shell
from fuelsys.model.words import Doubt, warnings
from fuelsys.report.shown import Shown
from fuelsys.report.table import Cell, Column, Table

MOST_PLACES = 8  # of each kind of fault; the picture shows more
MOST_HOLES = 20
MOST_BODIES = 100
_XYZ = (Column("x", "length"), Column("y", "length"), Column("z", "length"))
_PICK = "Pick one by its name or number: --body NAME, or body in the design file's [[tank]]."
_IN_WORDS = {"in": "inches", "ft": "feet", "mm": "millimetres", "cm": "centimetres", "m": "metres"}
_HOLE = (
    "Each is one closed course of open edges, as --mend counts holes; where crowded edges or a one-sided piece leave none, all"
    " open edges that hang together. Across: from corner to corner; x, y, z: the corners' mean."
)
_OFTEN = Column("number", "count")


def _xyz(place_m: Floats) -> tuple[Cell, ...]:
    return tuple(float(c) for c in place_m)


def health(given: Health, volume_unit: str, key: str = "") -> list[Table]:
    """All tables of a mesh's health, their keys after a prefix; those that would be empty are left out."""
    shown = Shown(volume_unit, given.unit)
    tables = (_whole, _bodies, _shells, _faults, _places, _holes)
    made = [make(given, shown) for make in tables]
    return [replace(table, key=f"{key}{table.key}") for table in made if table.rows]


def _whole(given: Health, shown: Shown) -> Table:
    row: tuple[Cell, ...] = (
        ("with caution" if given.in_doubt else "yes") if given.usable else "no",
        float(given.triangles),
        float(given.corners),
        float(given.n_shells),
        given.volume_m3,
        given.area_m2,
        *_xyz(given.high_m - given.low_m),
    )
    columns = (
        Column("usable"),
        Column("triangles", "count"),
        Column("corners", "count", rank=2),
        Column("shells", "count"),
        Column("volume", "volume"),
        Column("area", "area", rank=2),
        Column("extent x", "length", rank=1),
        Column("extent y", "length", rank=1),
        Column("extent z", "length", rank=1),
    )
    notes = [f"{given.verdict[0].upper()}{given.verdict[1:]}."]
    if given.wall and given.wall.inner_m3 is not None:
        notes.append(f"Its inner shell encloses {shown.text(given.wall.inner_m3, 'volume')}.")
    notes.append(
        f"Lengths and places are in {_IN_WORDS.get(given.unit, given.unit)}, in the file's own axes and from its own origin."
    )
    return Table("mesh", f"Mesh {given.file}", columns, (row,), (*notes, *given.notes), shown)


def _bodies(given: Health, shown: Shown) -> Table:
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            float(body.number),
            units.shown(body.name)[1:-1],
            float(body.triangles),
            float(body.hollows),
            body.volume_m3,
            ", ".join(map(str, body.inside)),
            *_xyz((body.low_m + body.high_m) / 2.0),
            *_xyz(body.high_m - body.low_m),
        )
        for body in given.bodies[:MOST_BODIES]
    )
    columns = (
        Column("body", "count"),
        Column("name"),
        Column("triangles", "count"),
        Column("hollows", "count", rank=2),
        Column("volume", "volume"),
        Column("lies in"),
        *_XYZ,
        *(Column(f"extent {axis}", "length", rank=1) for axis in "xyz"),
    )
    notes = [_PICK, "Volume: less the hollows in it; none where it is open. x, y, z: the middle of its box."]
    if len(given.bodies) > MOST_BODIES:
        notes.append(f"The first {MOST_BODIES}; there are {len(given.bodies)}.")
    return Table("bodies", "Bodies, in the file's order", columns, rows, tuple(notes), shown)


def solids(found: Sequence[Solid], file: str, volume_unit: str) -> Table:
    """The true solids of a file, to pick one from."""
    shown = Shown(volume_unit, found[0].unit)
    scale = units.scale(found[0].unit)
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (
            float(s.number),
            units.shown(s.name)[1:-1],
            s.volume_m3,
            s.area_m2,
            *(round(c * scale, 9) + 0.0 for c in s.centroid),
        )
        for s in found
    )
    columns = (Column("solid", "count"), Column("name"), Column("volume", "volume"), Column("area", "area"), *_XYZ)
    notes = (_PICK, "Volumes and areas are those of the true solids, without facets; x, y, z: their centroids.")
    return Table("solids", f"Solids of {file}, in the file's order", columns, rows, notes, shown)


def _shells(given: Health, shown: Shown) -> Table:
    rows = tuple(_shell(k, shell) for k, shell in enumerate(given.shells, 1))
    columns = (
        Column("shell", "count"),
        Column("triangles", "count", rank=3),
        Column("faces"),
        Column("volume", "volume"),
        Column("area", "area"),
        Column("handles", "count", rank=2),
        Column("lies in"),
        Column("across", "length", rank=1),
        *_XYZ,
    )
    notes = [
        "Handles: openings that lead through and round again, as those in its ribs do; 0 for a plain body.",
        "Across: the diagonal of its box; x, y, z: the middle of the box.",
    ]
    if given.n_shells > len(given.shells):
        notes.append(f"The {len(given.shells)} shells of the largest area; there are {given.n_shells}.")
    return Table(
        "shells", "Shells: pieces that hang together by edges, largest first", columns, rows, tuple(notes), shown
    )


def _shell(number: int, shell: Shell) -> tuple[Cell, ...]:
    if shell.volume_m3 is None:
        faces = f"open ({shell.open_edges} edges)" if shell.open_edges else "not in one sense"
    else:
        faces = "outward" if shell.volume_m3 > 0.0 else "inward"
    within = "not checked" if shell.within is None else ", ".join(str(k + 1) for k in shell.within)
    return (
        float(number),
        float(shell.triangles),
        faces,
        None if shell.volume_m3 is None else abs(shell.volume_m3),
        shell.area_m2,
        None if shell.handles is None else float(shell.handles),
        within,
        float(np.linalg.norm(shell.size_m)),
        *_xyz((shell.low_m + shell.high_m) / 2.0),
    )


def _faults(given: Health, shown: Shown) -> Table:
    rows = tuple(
        (
            *_named(fault),
            *_xyz(fault.places_m[0]),
            ("usable: " if given.harmless(fault.kind) else "") + fault.kind.meaning,
        )
        for fault in given.faults
    )
    columns = (Column("fault"), _OFTEN, *_XYZ, Column("meaning"))
    notes = (
        "The place of an edge is its middle; of faces that meet, where they do; of another face, the middle of its longest side.",
    )
    return Table("faults", "Faults, and where the first of each is", columns, rows, notes, shown)


def _named(fault: Fault) -> tuple[Cell, ...]:
    name = fault.kind.one if fault.count == 1 else fault.kind.many
    return (f"{name}, or more" if fault.at_least else name, float(fault.count))


def _places(given: Health, shown: Shown) -> Table:
    rows = tuple(
        (fault.kind.one, float(k), *_xyz(place))
        for fault in given.faults
        if fault.count > 1
        for k, place in enumerate(fault.places_m[:MOST_PLACES], 1)
    )
    title = f"Places of the faults, the first {MOST_PLACES} of each"
    return Table("places", title, (Column("fault"), Column("no.", "count"), *_XYZ), rows, (), shown)


def _holes(given: Health, shown: Shown) -> Table:
    rows = tuple((float(rim.edges), rim.size_m, *_xyz(rim.place_m)) for rim in given.rims[:MOST_HOLES])
    columns = (Column("open edges", "count"), Column("across", "length"), *_XYZ)
    more = given.n_rims - len(rows)
    notes = (f"And {more} smaller ones.",) if more else ()
    return Table("holes", "Holes and slits, largest first", columns, rows, (_HOLE, *notes), shown)


def origin(mended: Mended, begins: str, file: str) -> str:
    """What a mended file says of itself, so that the doubt is not forgotten."""
    within = f"{mended.within_m3 * 1e6:.3g} mL" if mended.within_m3 < 1e-3 else f"{mended.within_m3 * 1e3:.5g} L"
    reasons = [mended.health.caution, *warnings(mended.surface.notes)]
    caution = "; ".join(reason for reason in reasons if reason)
    caution = f"{DOUBT}{caution}" if caution else ""
    return f"{begins} {units.shown(file)[1:-1]}, its volume within {within}{caution}"


def changes(mended: Mended, file: str, volume_unit: str) -> Table:
    """What mending did."""
    shown = Shown(volume_unit, mended.surface.unit)
    rows = tuple((c.what, float(c.count), *_xyz(c.places_m[0]), c.within_m3) for c in mended.changes)
    columns = (Column("change"), _OFTEN, *_XYZ, Column("volume within", "volume"))
    within = shown.text(mended.within_m3, "volume").removeprefix("under ")
    notes: tuple[str, ...] = (
        f"Volume {shown.text(mended.health.volume_m3 or 0.0, 'volume')}, within {within} of what it would be if",
        "- all corners at a welded seam truly lie within the stated distance of where they now are, and",
        "- what is missing in a hole stays in the ball that just holds its rim; of a slit, within that distance of its line.",
    )
    if mended.health.caution:
        notes = (Doubt(f"{mended.health.caution}. Close the large holes in CAD and export again."), *notes)
    return Table("changes", f"Changes to {file}, and where the first of each is", columns, rows, notes, shown)
