"""What stays in a tank at every attitude, on sheets."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.study import TankStudy
from fuelsys.model.found.unusable import UnusableAt
from fuelsys.report.drawing import ink
from fuelsys.report.drawing import tank_pictures as pictures
from fuelsys.report.drawing.canvas import Axes, Figure
from fuelsys.report.drawing.ink import Hatch, Layers
from fuelsys.report.drawing.shades import Shades, paler
from fuelsys.report.drawing.tank_pictures import Cut, Picture, Place
from fuelsys.report.shown import Shown

HIGH_MM = 246.0  # an A4 page between its margins, less a heading
MOST_ON_A_SHEET = 11
WORST_ON_A_SHEET = 4  # the first sheet, which is printed beside the map
WORST_MM = 116.0
_LEGEND_MM = 27.0
_WORDS_MM = 54.0  # words beside a picture
_KINDS = {
    "residual": "residual: the outlet does not draw it",
    "trapped": "trapped: cut off",
    "held": "held back by the line",
}
_AXIS_MM = 17.0  # room for the ends of the aircraft's axis in one view

Frame = tuple[float, float, float, float]  # left, bottom, right, top


def centred(picture: Picture, cut: Cut, frame: Frame, scale: float) -> Place:
    """The place that puts a view into the middle of a frame."""
    low, high = picture.extent_m(cut)
    middle = np.array([frame[0] + frame[2], frame[1] + frame[3]]) / 2.0
    return Place(middle - (low + high) / 2.0 * 1e3 / scale, scale)


@dataclass(frozen=True)
class _Grid:
    """How the cells of a sheet lie: words beside the pictures in one column, above them in several."""

    columns: int
    rows: int
    width_mm: float
    words_mm: float
    head_mm: float
    row_mm: float
    scale: float
    split: float  # the side view's share of the room for both pictures

    def frame(self, index: int, top_mm: float) -> Frame:
        """The frame of one cell."""
        row, column = divmod(index, self.columns)
        left, top = column * (self.width_mm + 6.0), top_mm - row * self.row_mm
        return left, top - self.row_mm, left + self.width_mm, top

    def views(self, cell: Frame) -> tuple[Frame, Frame]:
        """Where the side and the rear view lie in a cell."""
        left, bottom, right, top = cell
        left, top = left + self.words_mm, top - self.head_mm
        middle = left + self.split * (right - left)
        return (left, bottom + 1.5, middle, top), (middle, bottom + 1.5, right, top)


def attitudes(study: TankStudy, shown: Shown, litres: Shades) -> list[Figure]:
    """What stays in the tank at every attitude, worst first, a few on the first sheet; none without an outlet."""
    unusable = study.capacity.unusable
    if unusable is None:
        return []
    order = sorted(unusable.at, key=lambda at: (at is not unusable.worst, -at.unusable_m3))
    rest = order[WORST_ON_A_SHEET:]
    each = ceil(len(rest) / ceil(len(rest) / MOST_ON_A_SHEET)) if rest else 1
    parts = [order[:WORST_ON_A_SHEET], *(rest[k : k + each] for k in range(0, len(rest), each))]
    return [
        _sheet(study.tank, part, unusable.worst, shown, litres, HIGH_MM if k else WORST_MM)
        for k, part in enumerate(parts)
    ]


def _sheet(
    tank: FittedTank, at: Sequence[UnusableAt], worst: UnusableAt, shown: Shown, litres: Shades, high_mm: float
) -> Figure:
    cuts = pictures.cuts(tank, shown)
    drawn = [Picture.of(tank, one.attitude) for one in at]
    texts = [_texts(one, shown, worst=one is worst) for one in at]
    grid = _grid(drawn, cuts, max(len(_beside_pictures(one)) for one in texts), high_mm)
    height = grid.rows * grid.row_mm + _LEGEND_MM
    figure, axes = ink.sheet(ink.WIDTH_MM, height)
    layers, signs = Layers(), []
    for index, (picture, one) in enumerate(zip(drawn, at, strict=True)):
        cell = grid.frame(index, height)
        _words(axes, texts[index], cell, grid, worst=one is worst)
        for cut, frame in zip(cuts, grid.views(cell), strict=True):
            place = centred(picture, cut, frame, grid.scale)
            pictures.draw_directions(axes, picture, cut, place, 1.0)
            pictures.draw(layers, picture, cut, place, shade_of(picture, shown, litres), fine=True)
            signs += [(mark.kind, at) for mark, at in pictures.placed_marks(picture, cut, place)]
        pictures.gravity(axes, cell[2] - 2.6, cell[1] + 2.0, 4.5)
    layers.draw(axes)
    pictures.draw_signs(axes, signs, 2.6)
    _legend(axes, tank, cuts, grid.scale)
    kinds = [kind for kind in _KINDS if any(kind in picture.kinds for picture in drawn)]
    swatches(axes, _LEGEND_MM - 8.5, kinds, shown, litres)
    return figure


def _grid(drawn: Sequence[Picture], cuts: Sequence[Cut], lines: int, high_mm: float) -> _Grid:
    """The arrangement of cells that gives the largest pictures."""
    extents = [[high - low for low, high in (picture.extent_m(cut) for cut in cuts)] for picture in drawn]
    side, rear = (max(float(size[k][0]) for size in extents) for k in (0, 1))
    high = max(float(size[1]) for pair in extents for size in pair)
    found = []
    for columns in (1, 2):
        rows = ceil(len(drawn) / columns)
        width = (ink.WIDTH_MM - 6.0 * (columns - 1)) / columns
        words = _WORDS_MM if columns == 1 else 0.0
        head = 1.5 if columns == 1 else 3 * ink.LINE_MM + 2.0
        room = (high_mm - _LEGEND_MM) / rows - head - 2.0
        scale = max(
            pictures.scale_for(side + rear, width - words - 2 * _AXIS_MM), pictures.scale_for(high, min(room, 60.0))
        )
        row = max(high * 1e3 / scale + head + 2.0, lines * ink.LINE_MM + 2.0 if columns == 1 else 0.0)
        spare = (width - words - (side + rear) * 1e3 / scale) / 2.0
        split = (side * 1e3 / scale + spare) / (width - words)
        found.append(_Grid(columns, rows, width, words, head, row, scale, split))
    return min(found, key=lambda grid: grid.scale)


def _texts(at: UnusableAt, shown: Shown, *, worst: bool) -> tuple[str, str, str, str]:
    """An attitude's name, its tilt, what stays in the tank there, and of what that is made."""
    where = "worst in flight" if worst else ("in flight" if at.attitude.phase == "flight" else "on the ground")
    parts = f"{shown.figure(at.residual_m3, 'volume')} residual, {shown.figure(at.trapped_m3, 'volume')} trapped"
    parts += f"; {shown.text(at.sustained_m3, 'volume')} if held for ever" if at.held else ""
    tilt = ink.minus(at.attitude.text.removeprefix(at.attitude.name).strip(" ()"))
    return at.attitude.name, tilt, f"{where}: {shown.text(at.unusable_m3, 'volume')}", parts


def _beside_pictures(texts: tuple[str, str, str, str]) -> list[tuple[str, str]]:
    """The texts as lines of a narrow column, with their weights."""
    weights = ("bold", "normal", "bold", "normal")
    room = _WORDS_MM - 2.0
    return [(line, w) for text, w in zip(texts, weights, strict=True) for line in ink.wrapped(text, room, ink.SMALL_PT)]


def _words(axes: Axes, texts: tuple[str, str, str, str], cell: Frame, grid: _Grid, *, worst: bool) -> None:
    """An attitude's words, beside or above its pictures."""
    left, _, right, top = cell
    ink.stroke(axes, np.array([[left, top], [right, top]]), color=ink.INK, pt=1.4 if worst else 0.4)
    name, tilt, total, parts = texts
    lines = _beside_pictures(texts) if grid.words_mm else [(name, "bold"), (tilt, "normal"), (parts, "normal")]
    for k, (line, weight) in enumerate(lines):
        ink.write(axes, left, top - 4.0 - ink.LINE_MM * k, line, size=ink.SMALL_PT, weight=weight)
    if not grid.words_mm:
        ink.write(axes, right, top - 4.0, total, size=ink.SMALL_PT, weight="bold", ha="right")


def shade_of(picture: Picture, shown: Shown, litres: Shades) -> str:
    """The shade of all that stays in a picture."""
    return litres.color(shown.value(picture.volume_m3, "volume"))


def swatches(axes: Axes, y_mm: float, kinds: Sequence[str], shown: Shown, litres: Shades) -> None:
    """What patterns and shades of the fuel mean, in two lines above a height."""
    shade, x, y = litres.colors[len(litres.colors) // 3], 0.0, y_mm + 4.2
    for kind in kinds:
        x = _swatch(axes, x, y, _KINDS[kind], shade, hatch=pictures.hatch_of(kind, shade))
    x = _swatch(axes, 0.0, y_mm, "pale: off this section", paler(shade), line=ink.TRAPPED_LINE, dash="--")
    ink.write(axes, x, y_mm, f"{shown.named('stays', 'volume')}:", size=ink.SMALL_PT)
    x += ink.width_of(f"{shown.named('stays', 'volume')}:", ink.SMALL_PT) + 2.0
    for step, color in zip(litres.steps, [*litres.colors, ""], strict=True):
        ink.write(axes, x, y_mm, f"{step:g}", size=ink.SMALL_PT)
        x += ink.width_of(f"{step:g}", ink.SMALL_PT) + 0.8
        if color:
            ink.shape(axes, [ink.box(x, y_mm - 0.4, x + 4.0, y_mm + 2.2)], fill=color, line=ink.INK, pt=0.3)
            x += 4.8


def _swatch(
    axes: Axes,
    x: float,
    y: float,
    text: str,
    fill: str,
    *,
    line: str = ink.INK,
    dash: str = "-",
    hatch: Hatch | None = None,
) -> float:
    """A swatch with its words; -> where the next one stands."""
    ink.shape(axes, [ink.box(x, y - 0.4, x + 6.0, y + 2.2)], fill=fill, line=line, pt=0.4, dash=dash, hatch=hatch)
    ink.write(axes, x + 7.2, y, text, size=ink.SMALL_PT)
    return x + 7.2 + ink.width_of(text, ink.SMALL_PT) + 5.0


def _legend(axes: Axes, tank: FittedTank, cuts: Sequence[Cut], scale: float) -> None:
    """What the colours and signs mean, along the foot of a sheet."""
    ink.stroke(axes, np.array([[0.0, _LEGEND_MM - 0.5], [ink.WIDTH_MM, _LEGEND_MM - 0.5]]), color=ink.INK, pt=0.4)
    where = f"Left: from the left side, cut at {cuts[0].place}. Right: from behind, cut at {cuts[1].place}."
    note = "Drained from full. Each picture is turned so that the surfaces lie level: apparent gravity (g) points straight down."
    y = ink.footing(axes, 0.0, 0.8, [f"{where} Scale {pictures.scale_text(scale)}. {note}"], ink.WIDTH_MM) + 1.2
    x = 1.0
    for kind in dict.fromkeys(mark.kind for mark in pictures.marks(tank)):
        pictures.draw_signs(axes, [(kind, np.array([x, y + 1.0]))], 3.6)
        ink.write(axes, x + 2.0, y, kind, size=ink.SMALL_PT)
        x += 2.0 + ink.width_of(kind, ink.SMALL_PT) + 5.0
