"""Where a mesh's faults are: three views of its outline, with a sign and a number at each, and a key with places."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil, log10

import numpy as np

from fuelsys import units
from fuelsys.arrays import Floats, Ints
from fuelsys.kernels import edges, patching, surface
from fuelsys.load.meshes.soundness import FLAT
from fuelsys.model.found.mesh import Health, Kind
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Axes, Figure
from fuelsys.report.drawing.labels import Paper
from fuelsys.report.drawing.tank_pictures import scale_for, scale_text

MOST_NUMBERED = 24
MOST_DRAWN = 1000  # signs of a kind
MOST_AVOIDED = 200  # lines of a kind that numbers keep off
_SHARP = float(np.cos(np.radians(30.0)))
_MARGIN, _GAP, _CAPTION, _LINE = 8.0, 14.0, 5.0, 3.8  # mm
_TALL = 130.0  # room for the views, mm
_NEAR = 5.0  # faults of a kind that lie within this on paper share a number, mm
# Sign, whether it is filled, and colour of each kind; edges are drawn in their colour too.
SIGNS: dict[Kind | None, tuple[str, bool, str]] = {
    None: ("+", True, ink.INK),
    Kind.OPEN: ("o", False, ink.TRAPPED),
    Kind.CROWDED: ("s", True, ink.INK),
    Kind.TWISTED: ("^", False, ink.FUEL_LINE),
    Kind.PINCHED: ("D", True, ink.TRAPPED_LINE),
    Kind.CROSSING: ("X", True, ink.TRAPPED),
    Kind.THROUGH: ("X", False, ink.TRAPPED),
    Kind.GRAZING: ("P", False, ink.FUEL_LINE),
    Kind.DOUBLE: ("s", False, ink.INK),
    Kind.REPEATED: (".", True, ink.GREY),
    Kind.FLAT: (".", True, ink.GREY),
}
_LINES = {Kind.OPEN: "-", Kind.CROWDED: "-", Kind.TWISTED: "--"}


@dataclass(frozen=True)
class _View:
    """Axes that lie to the right and up on paper, and what it is called."""

    name: str
    across: int
    height: int

    @property
    def along(self) -> int:
        """The axis that is looked along."""
        return 3 - self.across - self.height


_PLAN, _SIDE, _END = _View("plan, from +z", 0, 1), _View("side, from −y", 0, 2), _View("end, from +x", 1, 2)


@dataclass(frozen=True)
class _Spot:
    """Faults of a kind that share a number, or a shell (None) where it is shells that keep a surface from being a cavity."""

    kind: Kind | None
    place_m: Floats
    text: str


def picture(given: Health, vertices_m: Floats, faces: Ints) -> Figure:
    """Three views of a surface, in metres, with the faults of its health."""
    if FLAT in given.why_not:
        given = replace(given, faults=(), rims=())  # all that is wrong follows from it
    spots = _spots(given, _scale(given))
    size = (given.high_m - given.low_m) * 1e3 / _scale(given)
    numbered = spots[:MOST_NUMBERED]
    head = [given.file, *ink.wrapped(f"{given.verdict[0].upper()}{given.verdict[1:]}.", ink.WIDTH_MM - 2 * _MARGIN)]
    key = _LINE * (len(numbered) + 3)
    lower = _MARGIN + key + _CAPTION
    upper = lower + size[2] + _GAP
    tall = upper + size[1] + _MARGIN + _LINE * len(head) + 4.0
    figure, axes = ink.sheet(ink.WIDTH_MM, tall)
    figure.set_facecolor("white")
    for k, line in enumerate(head):
        weight = "bold" if k == 0 else "normal"
        ink.write(
            axes, _MARGIN, tall - _MARGIN - _LINE * k, line, size=ink.HEAD_PT if k == 0 else ink.TEXT_PT, weight=weight
        )
    bones = _bones(vertices_m, faces)
    origins = ((_PLAN, _MARGIN, upper), (_SIDE, _MARGIN, lower), (_END, _MARGIN + size[0] + _GAP, lower))
    for view, left, bottom in origins if len(faces) else ():
        _draw(axes, given, view, np.array([left, bottom]), bones, numbered, tall)
    _write_key(axes, given, numbered, len(spots), _MARGIN + key - _LINE)
    return figure


def svg(given: Health, vertices_m: Floats, faces: Ints) -> str:
    """The picture as SVG."""
    return ink.svg_text(picture(given, vertices_m, faces))


def _scale(given: Health) -> float:
    """Millimetres of mesh to one of paper, at which the views have room."""
    size = given.high_m - given.low_m
    wide = scale_for(float(size[0] + size[1]), ink.WIDTH_MM - 2 * _MARGIN - _GAP)
    return max(wide, scale_for(float(size[1] + size[2]), _TALL), 1e-6)


def _spots(given: Health, scale: float) -> list[_Spot]:
    """Numbered places, the worst kinds first: each hole, and clusters of other faults."""
    unit = given.unit
    spots = []
    for rim in given.rims:
        across = units.from_si(rim.size_m, unit, "length")
        text = f"{Kind.OPEN.counted(rim.edges)}, {across:.{_digits(given)}f} {unit} across"
        spots.append(_Spot(Kind.OPEN, rim.place_m, text))
    for fault in sorted(given.faults, key=lambda fault: not fault.kind.fatal):
        if fault.kind is Kind.OPEN:
            continue
        places = fault.places_m
        goes = patching.gathered(places, _NEAR * scale * 1e-3)
        for first in np.unique(goes).tolist():
            spots.append(_Spot(fault.kind, places[first], fault.kind.counted(int((goes == first).sum()))))
    return sorted([*spots, *_shells(given)], key=lambda spot: not (spot.kind and spot.kind.fatal))


def _digits(given: Health) -> int:
    """Digits after the point of lengths, alike in all lines: to a thousandth of the whole or finer."""
    size = units.from_si(float((given.high_m - given.low_m).max()), given.unit, "length")
    return max(0, 4 - ceil(log10(max(size, 1e-9))))


def _shells(given: Health) -> list[_Spot]:
    """The closed shells of a surface that is no cavity because of them: bodies, a wall's two sides, a hollow wound outward."""
    if given.usable or len(given.shells) < 2:
        return []
    spots = []
    for number, shell in enumerate(given.shells, 1):
        if shell.volume_m3 is not None:
            faces = "outward" if shell.volume_m3 > 0.0 else "inward"
            text = f"shell {number} that faces {faces}, {abs(shell.volume_m3) * 1e3:.4g} L, its middle"
            spots.append(_Spot(None, (shell.low_m + shell.high_m) / 2.0, text))
    return spots


@dataclass(frozen=True)
class _Bones:
    """Edges of a surface (e, 2, 3), and the normals (e, 2, 3) of their two faces; NaN where there are not two."""

    lines_m: Floats
    normals: Floats

    def seen(self, view: _View) -> Floats:
        """Edges that show from a side: sharp ones, those of one face or many, and those where the surface turns away."""
        facing = self.normals[:, :, view.along] > 1e-9
        sharp = ~(np.einsum("ij,ij->i", self.normals[:, 0], self.normals[:, 1]) > _SHARP)
        return self.lines_m[sharp | (facing[:, 0] != facing[:, 1])]


def _bones(vertices_m: Floats, faces: Ints) -> _Bones:
    along = edges.edges_of(faces)
    areas = surface.vector_areas(vertices_m, faces)
    unit = areas / np.maximum(np.linalg.norm(areas, axis=1, keepdims=True), 1e-300)
    normals = np.full((len(along.many), 2, 3), np.nan)
    two = along.many == 2
    normals[two] = unit[along.pairs // 3]
    normals[two & (along.turn != 0), 1] *= -1.0
    return _Bones(vertices_m[along.ends], normals)


def _draw(
    axes: Axes, given: Health, view: _View, origin: Floats, bones: _Bones, numbered: list[_Spot], tall: float
) -> None:
    """One view: faint edges, faults as lines and signs, numbers beside them."""
    scale = _scale(given)
    flat = [view.across, view.height]

    def paper(points_m: Floats) -> Floats:
        return np.asarray(origin + (points_m[..., flat] - given.low_m[flat]) * 1e3 / scale)

    page = Paper((1.0, 1.0, ink.WIDTH_MM - 1.0, tall - 1.0))
    names = "xyz"
    caption = f"{view.name}: {names[view.across]} to the right, {names[view.height]} up"
    wide = ink.width_of(caption, ink.SMALL_PT) / 2.0
    page.keep_off(origin + np.array([wide, 1.5 - _CAPTION]), wide, 1.5)
    ink.shape(axes, _once(paper(bones.seen(view))), line=ink.FAINT, pt=0.5, closed=False)
    for fault in given.faults:
        _, _, color = SIGNS[fault.kind]
        lines = paper(fault.lines_m[:MOST_DRAWN])
        if fault.kind in _LINES:
            ink.shape(axes, list(lines), line=color, pt=0.9, dash=_LINES[fault.kind], closed=False)
            for line in lines[:MOST_AVOIDED]:
                page.avoid(line)
        elif fault.kind is not Kind.OPEN:
            for at in np.unique(np.round(lines.mean(axis=1), 1), axis=0):
                _sign(axes, at, fault.kind, 3.5)
    for spot in numbered:
        page.keep_off(paper(spot.place_m), 1.2)
        _sign(axes, paper(spot.place_m), spot.kind, 4.5)
    for number, spot in enumerate(numbered, 1):
        page.label(axes, paper(spot.place_m), str(number), size=ink.TEXT_PT)
    ink.write(axes, origin[0], origin[1] - _CAPTION + 0.5, caption, size=ink.SMALL_PT, color=ink.GREY)


def _once(lines_mm: Floats) -> list[Floats]:
    """Lines on paper (k, 2, 2), each drawn once and none that is a point."""
    steps = np.round(lines_mm / 0.05).astype(np.int64)
    swap = (steps[:, 0] > steps[:, 1])[:, 0] | ((steps[:, 0] == steps[:, 1])[:, 0] & (steps[:, 0] > steps[:, 1])[:, 1])
    steps[swap] = steps[swap][:, ::-1]
    steps = np.unique(steps[(steps[:, 0] != steps[:, 1]).any(axis=1)].reshape(-1, 4), axis=0)
    return list(steps.reshape(-1, 2, 2) * 0.05)


def _sign(axes: Axes, at_mm: Floats, kind: Kind | None, size_pt: float) -> None:
    marker, filled, color = SIGNS[kind]
    axes.plot(
        *at_mm, marker=marker, markersize=size_pt, markerfacecolor=color if filled else "none", markeredgecolor=color,
        markeredgewidth=0.8, clip_on=False, scalex=False, scaley=False,
    )  # fmt: skip


def _write_key(axes: Axes, given: Health, numbered: list[_Spot], all_spots: int, top: float) -> None:
    """Sign, number, fault and place, one a line; and what the picture's lines are."""
    digits = _digits(given)
    for k, spot in enumerate(numbered, 1):
        y = top - _LINE * k
        _sign(axes, np.array([_MARGIN + 1.5, y + 0.8]), spot.kind, 4.5)
        at = ", ".join(f"{units.from_si(float(c), given.unit, 'length') + 0.0:.{digits}f}" for c in spot.place_m)
        text = f"{spot.text}, near ({at}) {given.unit}"
        ink.write(axes, _MARGIN + 4.0, y, f"{k}", size=ink.TEXT_PT, weight="bold")
        ink.write(axes, _MARGIN + 9.0, y, ink.minus(text), size=ink.TEXT_PT)
    more = f" {all_spots - len(numbered)} more places have no number." if all_spots > len(numbered) else ""
    scale = scale_text(float(f"{_scale(given):.3g}"))
    words = f"Scale {scale}, in the file's own axes. Grey: sharp edges and outlines of the mesh.{more}"
    ink.write(axes, _MARGIN, top - _LINE * (len(numbered) + 1.3), words, size=ink.SMALL_PT, color=ink.GREY)
