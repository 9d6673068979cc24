"""What `import fuelsys` offers beside reading and checking: a mesh alone, tables, drawings, a mark's place, a grid, a review."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from fuelsys import units
from fuelsys.analysis.sweeping.map import unusable_map
from fuelsys.analysis.tank.place import place as placed
from fuelsys.arrays import Floats
from fuelsys.load.designs.door import chosen
from fuelsys.load.formats.raw import Choice
from fuelsys.load.meshes.door import load_cavity
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.findings import Finding
from fuelsys.model.found.place import Placement
from fuelsys.model.found.study import Study
from fuelsys.report.shown import Shown
from fuelsys.report.table import Table


def cavity(mesh: Path | str, unit: str | None = None, body: str = "") -> Cavity:
    """The inside of one tank from a mesh file: `.gross_m3`, `.vertices_m` (n, 3), `.faces` (m, 3), in the mesh's own axes.

    unit is the mesh's, "mm" or "in"; None where the format says it. body picks one of several by name or number. MeshError where
    the file holds no closed surface.

    >>> from importlib import resources
    >>> round(cavity(resources.files("fuelsys_meshes") / "header.stl", "mm").gross_m3, 6)
    0.007833
    """
    return load_cavity(Path(str(mesh)), unit, choice=Choice(body))


def tables(study: Study, found: Sequence[Finding] = (), *, length: str = "mm", volume: str = "L") -> dict[str, Table]:
    """The tables of a review by their keys: `.frame()` is a pandas DataFrame whose headings carry the unit, `.record()` SI.

    found are the findings, where their table is wanted. length and volume are the units shown; UnitError for others.
    """
    from fuelsys.report.page.contents import review_tables  # noqa: PLC0415  pictures are behind it

    grouped = review_tables(study, found, _shown(length, volume))
    return {table.key: table for group in grouped.values() for table in group}


@dataclass(frozen=True)
class Drawing:
    """A drawing as SVG, which a notebook shows by itself."""

    title: str
    svg: str

    def _repr_svg_(self) -> str:
        return self.svg


def drawings(study: Study, *, length: str = "mm", volume: str = "L") -> dict[str, dict[str, Drawing]]:
    """The drawings of a review, without maps, by tank ("" for the whole aircraft) and title."""
    from fuelsys.report.charts import drawings as charts  # noqa: PLC0415  half a second of libraries

    drawn = charts.as_svg(charts.figures(study, {}, _shown(length, volume)))
    return {tank: {title: Drawing(title, svg) for title, svg in group.items()} for tank, group in drawn.items()}


def place(layout: Layout, tank: str, x: str, y: str, reserve: str, *, guaranteed: bool = True) -> Placement:
    """Where a low-level mark must sit above (x, y) of a tank's mesh for so many minutes: `.mark_m` (3,) in its axes, and what that gives.

    Lengths and time are texts with units, "100 mm" and "20 min". guaranteed: at every flight attitude stated, not at the normal
    one alone. QuestionError where no height will do.
    """
    (fitted,) = chosen(layout, tank)
    at_m = (units.parse(x, "length"), units.parse(y, "length"))
    return placed(layout, fitted, at_m, units.parse(reserve, "time"), guaranteed=guaranteed)


def unusable_over(layout: Layout, tank: str, pitches_deg: Sequence[float], rolls_deg: Sequence[float]) -> Floats:
    """Fuel that stays behind in a tank at each pitch (p,) and roll (r,), held for ever: (p, r) in m³; nose up, right wing down positive."""
    (fitted,) = chosen(layout, tank)
    return unusable_map(fitted, np.radians(pitches_deg), np.radians(rolls_deg), file=layout.file)


def write_review(
    folder: Path | str, study: Study, found: Sequence[Finding], *, length: str = "mm", volume: str = "L"
) -> None:
    """Everything of a study in a folder, as `fuelsys review` writes it, but without the files that it was made of: it cannot be made again.

    OutputError where the folder holds what no review wrote.
    """
    from fuelsys.report.page.folder import write_review as write  # noqa: PLC0415  pictures are behind it

    write(Path(folder), study, found, _shown(length, volume))


def _shown(length: str, volume: str) -> Shown:
    for unit, kind in ((length, "length"), (volume, "volume")):
        units.scale(unit, kind)
    return Shown(volume, length)
