"""Paper, colours and letters of all drawings: figures measured in millimetres, and their SVG as a page takes it."""

from __future__ import annotations

import hashlib
import io
import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, NamedTuple

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.report.drawing.canvas import Axes, Figure, FontProperties, Path, PathPatch, Text, findfont, get_font, mpl

MM_PER_IN = 25.4
MM_PER_PT = MM_PER_IN / 72.0
_KEPT_ID = "place-"  # of a shape's id that stays in an SVG: a test finds by it where something was drawn
AT, FINDING = "at-", "finding-"  # ids of a finding's number on a drawing and on the page, less the number
_FONT_UNITS = 64.0  # of the font library in a point, at 72 dots to the inch
WIDTH_MM = 176.0  # between the margins of an A4 page

# Chosen to stay apart for colour-blind eyes (blue against orange) and in grey print (each of another lightness).
INK = "#1d2429"
GREY = "#5d666c"  # 4.5 : 1 against white and more, as letters need (WCAG 2.1, 1.4.3)
FAINT = "#cfd4d6"
AIR = "#f6f4ee"
FUEL = "#a9cfe6"
FUEL_LINE = "#1f5f8b"
FUEL_PALE = "#e3eff7"
TRAPPED = "#c65a1e"
TRAPPED_LINE = "#7d3000"
TRAPPED_PALE = "#f4d3bd"
CAUTION_PALE = "#f4d9a8"

# No letters under 8 pt: the pictures are printed at their size, and read in a workshop.
TEXT_PT = 8.5
SMALL_PT = 8.0
HEAD_PT = 9.5
LINE_MM = 3.5  # from line to line of small letters

_FACES = ("Helvetica Neue", "Helvetica", "Arial", "Liberation Sans", "DejaVu Sans")
_FAMILY = ", ".join([*(f"'{face}'" if " " in face else face for face in _FACES), "sans-serif"])
_UNITS = r"US gal|imp gal|mL|L|mm|cm|m|in|ft|kPa|psi|kg|lb|lbf|N|g|W|K|min|s|h|%|°"
_FIGURE = re.compile(rf"(?<=[\d–]) (?=(?:{_UNITS})(?:[²³/]|\b|(?<=[%°])))")


def sheet(width_mm: float, height_mm: float) -> tuple[Figure, Axes]:
    """An empty figure whose axes are its paper: millimetres from the lower left corner."""
    figure = Figure(figsize=(width_mm / MM_PER_IN, height_mm / MM_PER_IN), facecolor="none")
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set(xlim=(0.0, width_mm), ylim=(0.0, height_mm))
    axes.set_axis_off()
    return figure, axes


@dataclass(frozen=True)
class Chart:
    """A figure with one plot in a box (left, bottom, width, height) of mm, and the paper over it to write on."""

    figure: Figure
    axes: Axes
    paper: Axes
    box_mm: tuple[float, float, float, float]

    @classmethod
    def of(cls, width_mm: float, height_mm: float, box_mm: tuple[float, float, float, float]) -> Chart:
        """An empty chart with plain left and bottom axes."""
        figure, paper = sheet(width_mm, height_mm)
        paper.set_zorder(2)
        return cls.on(figure, paper, box_mm)

    @classmethod
    def on(cls, figure: Figure, paper: Axes, box_mm: tuple[float, float, float, float]) -> Chart:
        """A plot in a box of a figure and its paper, on which other plots may stand too."""
        left, bottom, width, height = box_mm
        width_mm, height_mm = (float(size) * MM_PER_IN for size in figure.get_size_inches())
        axes = figure.add_axes((left / width_mm, bottom / height_mm, width / width_mm, height / height_mm))
        axes.set_facecolor("none")
        axes.tick_params(labelsize=TEXT_PT, colors=INK, width=0.5, length=2.5, pad=2.0)
        axes.spines[["top", "right"]].set_visible(False)
        for spine in axes.spines.values():
            spine.set(linewidth=0.5, color=INK)
        return cls(figure, axes, paper, box_mm)

    def name_axes(self, x: str, y: str) -> None:
        """What the axes show, with units."""
        self.axes.set_xlabel(x, fontsize=TEXT_PT, color=INK, labelpad=2.0)
        self.axes.set_ylabel(y, fontsize=TEXT_PT, color=INK, labelpad=2.0)

    def mm(self, x: float, y: float) -> Floats:
        """A place of the plot on the paper (2,), by the limits as they stand."""
        left, bottom, width, height = self.box_mm
        (x0, x1), (y0, y1) = self.axes.get_xlim(), self.axes.get_ylim()
        return np.array([left + (x - x0) / (x1 - x0) * width, bottom + (y - y0) / (y1 - y0) * height])


def write(
    axes: Axes,
    x_mm: float,
    y_mm: float,
    text: str,
    *,
    size: float = TEXT_PT,
    color: str = INK,
    ha: str = "left",
    va: str = "baseline",
    weight: str = "normal",
    rotation: float = 0.0,
    ground: str = "none",
    finding: int = 0,
) -> None:
    """Letters at a place on the paper, on a ground of their own where lines run below them; finding links to one and back."""
    linked: dict[str, Any] = {"url": f"#{FINDING}{finding}", "gid": f"{AT}{finding}"} if finding else {}
    behind = None if ground == "none" else {"facecolor": ground, "edgecolor": "none", "pad": 0.8}
    axes.text(
        x_mm, y_mm, text, fontsize=size, color=color, ha=ha, va=va, fontweight=weight, bbox=behind,
        rotation=rotation, rotation_mode="anchor", clip_on=False, parse_math=False, **linked,
    )  # fmt: skip


@lru_cache(maxsize=2048)
def width_of(text: str, size: float = TEXT_PT, weight: str = "normal") -> float:
    """How wide a text is, in mm, in the widest of the fonts that a page may show it in."""
    font = get_font(findfont(FontProperties(family="DejaVu Sans", weight=weight)))
    font.set_size(size, 72.0)
    font.set_text(text)
    return float(font.get_width_height()[0]) / _FONT_UNITS * MM_PER_PT


def minus(text: str) -> str:
    """Hyphens before digits as minus signs.

    >>> minus("pitch -6.0°")
    'pitch −6.0°'
    """
    return re.sub(r"(?<![\w.])-(?=\d)", "−", text)


def unbroken(text: str) -> str:
    """A text in which no line ends between a figure and its unit: the spaces there do not break.

    >>> unbroken("47.9 L in 2 tanks, 12.5 US gal/h").split(" ")
    ['47.9\\xa0L', 'in', '2', 'tanks,', '12.5\\xa0US\\xa0gal/h']
    """
    return re.sub("(US|imp) gal", "\\1\N{NO-BREAK SPACE}gal", _FIGURE.sub("\N{NO-BREAK SPACE}", text))


def wrapped(text: str, width_mm: float, size: float = TEXT_PT) -> list[str]:
    """A text in lines that fit a width, figures together with their units."""
    lines: list[str] = []
    for word in unbroken(text).split(" "):
        if lines and width_of(f"{lines[-1]} {word}", size) <= width_mm:
            lines[-1] += f" {word}"
        elif word:
            lines.append(word)
    return [line.replace("\N{NO-BREAK SPACE}", " ") for line in lines]


def as_on_a_page(figure: Figure) -> None:
    """Letters in the typeface in which a page shows the same drawing, where the system has it."""
    for text in figure.findobj(Text):
        text.set_fontfamily(list(_FACES))


def footing(axes: Axes, x_mm: float, y_mm: float, notes: Sequence[str], width_mm: float, color: str = GREY) -> float:
    """Notes in small letters, each from a new line, their last line at a place; -> where the next line above would stand."""
    lines = [line for note in notes for line in wrapped(note, width_mm, SMALL_PT)]
    for k, line in enumerate(reversed(lines)):
        write(axes, x_mm, y_mm + LINE_MM * k, line, size=SMALL_PT, color=color)
    return y_mm + LINE_MM * len(lines)


def stroke(
    axes: Axes, points_mm: Floats, *, color: str = INK, pt: float = 0.6, dash: str | tuple[float, ...] = ""
) -> None:
    """One open course (k, 2)."""
    style = (0.0, dash) if isinstance(dash, tuple) else dash or "-"
    axes.plot(
        points_mm[:, 0], points_mm[:, 1], color=color, linewidth=pt, linestyle=style, solid_capstyle="round",
        solid_joinstyle="round", dash_capstyle="butt", clip_on=False, scalex=False, scaley=False,
    )  # fmt: skip


def shape(
    axes: Axes,
    outlines_mm: Sequence[Floats],
    *,
    fill: str = "none",
    line: str = "none",
    pt: float = 0.0,
    dash: str = "-",
    closed: bool = True,
    place: str = "",
    hatch: Hatch | None = None,
) -> None:
    """Several courses (k, 2) as one shape, filled together by the non-zero rule; place is its id in an SVG, less a prefix.

    hatch lies over the fill.
    """
    if outlines_mm:
        path = _path(outlines_mm, closed)
        style = {"facecolor": fill, "edgecolor": line, "linewidth": pt, "linestyle": dash}
        named = {"gid": f"{_KEPT_ID}{place}"} if place else {}
        axes.add_artist(PathPatch(path, joinstyle="round", clip_on=False, **style, **named))
        if hatch is not None:
            lines = PathPatch(
                _path(hatch.lines(outlines_mm), closed=False), fill=False, edgecolor=hatch.color, linewidth=0.4
            )
            axes.add_artist(lines)
            lines.set_clip_path(path, axes.transData)


class Hatch(NamedTuple):
    """Lines over a shape: their direction in degrees from the horizontal, how far they lie apart, and their colour."""

    degrees: float
    apart_mm: float
    color: str

    def lines(self, outlines_mm: Sequence[Floats]) -> list[Floats]:
        """Lines (2, 2) across the circle round each outline, all on one raster."""
        along = np.array([np.cos(np.radians(self.degrees)), np.sin(np.radians(self.degrees))])
        aside = np.array([-along[1], along[0]])
        found = []
        for outline in outlines_mm:
            middle = (outline.min(axis=0) + outline.max(axis=0)) / 2.0
            reach = float(np.hypot(*np.ptp(outline, axis=0))) / 2.0 + self.apart_mm
            first, last = (int((middle @ aside + side * reach) // self.apart_mm) for side in (-1.0, 1.0))
            ends = along * (middle @ along) + np.array([[-reach], [reach]]) * along
            found += [ends + aside * (k * self.apart_mm) for k in range(first, last + 1)]
        return found


@dataclass
class Layers:
    """Shapes kept back so that those of one layer and one style become a single path: a sheet of pictures draws fast."""

    kept: dict[tuple[int, str, str, float, str, bool, Hatch | None], list[Floats]] = field(default_factory=dict)

    def add(
        self,
        layer: int,
        outlines_mm: Sequence[Floats],
        *,
        fill: str = "none",
        line: str = "none",
        pt: float = 0.0,
        dash: str = "-",
        closed: bool = True,
        hatch: Hatch | None = None,
    ) -> None:
        """Courses of a layer; higher layers lie on top. Pictures of one sheet must not overlap one another."""
        self.kept.setdefault((layer, fill, line, pt, dash, closed, hatch), []).extend(outlines_mm)

    def draw(self, axes: Axes) -> None:
        """Draw all layers."""
        for (_, fill, line, pt, dash, closed, hatch), outlines in sorted(self.kept.items(), key=lambda one: one[0][0]):
            shape(axes, outlines, fill=fill, line=line, pt=pt, dash=dash, closed=closed, hatch=hatch)


def box(left: float, bottom: float, right: float, top: float) -> Floats:
    """A rectangle's corners (4, 2)."""
    return np.array([[left, bottom], [right, bottom], [right, top], [left, top]])


def _path(outlines: Sequence[Floats], closed: bool) -> Path:
    points, codes = [], []
    for outline in outlines:
        ring = np.concatenate([outline, outline[:1]]) if closed else outline
        points.append(ring)
        codes += [Path.MOVETO, *[Path.LINETO] * (len(ring) - 1)]
        if closed:
            codes[-1] = Path.CLOSEPOLY
    return Path(np.concatenate(points), codes)


def svg_text(figure: Figure) -> str:
    """A figure as SVG that stands alone or in a page: letters as text, sizes in mm, ids that no other drawing has."""
    buffer = io.StringIO()
    nothing = {"Date": None, "Creator": None, "Format": None, "Type": None}
    with mpl.rc_context({"svg.fonttype": "none", "svg.hashsalt": "fuelsys"}):
        figure.savefig(buffer, format="svg", metadata=nothing)
    text = buffer.getvalue()
    text = text[text.index("<svg") :]
    text = re.sub(r"<metadata>.*?</metadata>\s*", "", text, flags=re.DOTALL)
    text = re.sub(rf'<g id="(?!{_KEPT_ID}|{AT})[^"]*"', "<g", text)
    text = re.sub(r"'DejaVu Sans'[^;\"<>]*", _FAMILY, text)
    text = text.replace("xlink:href", "href").replace(' xmlns:xlink="http://www.w3.org/1999/xlink"', "")
    text = re.sub(r'(width|height)="([\d.]+)pt"', lambda m: f'{m[1]}="{float(m[2]) * MM_PER_PT:.3f}mm"', text)
    text = re.sub(r' d="[^"]*"', _short_path, text)
    own = hashlib.sha256(text.encode()).hexdigest()[:8]
    return re.sub(rf'(id="|url\(#|href="#)(?!{AT}|{FINDING})', rf"\g<1>d{own}-", text)


def _short_path(match: re.Match[str]) -> str:
    """A path's numbers to a hundredth of a point, on one line."""
    return re.sub(r"(\.\d\d)\d+", r"\1", " " + " ".join(match[0].split()))
