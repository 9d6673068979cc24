"""A fill test drawn: what was read against the total, the model as drawn and corrected, and how far each is off."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.found.filltest import FillFit, FillTest
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Figure, MaxNLocator
from fuelsys.report.drawing.ink import Chart
from fuelsys.report.shown import Shown
from fuelsys.report.tables.fill_words import called

_HIGH_MM = 148.0
_TOP_BOX = (16.0, 72.0, 106.0, 66.0)
_LOW_BOX = (16.0, 11.0, 106.0, 50.0)
_WORDS_MM = 128.0
_DASH = (4.0, 2.0)


def fit(test: FillTest, found: FillFit, shown: Shown) -> Figure:
    """Readings over totals with both models, and below how far from the drawn model they lie."""
    assert found.curve is not None
    top = Chart.of(ink.WIDTH_MM, _HIGH_MM, _TOP_BOX)
    low = Chart.on(top.figure, top.paper, _LOW_BOX)
    along, drawn, corrected, within = found.curve
    volume, length = shown.value(1.0, "volume"), shown.value(1.0, "length")
    read = along * length
    most = 1.04 * volume * max(float(corrected.max()), float(drawn.max()), *(row.total_m3 for row in test.readings))
    for chart in (top, low):
        chart.axes.set_xlim(0.0, most)
        chart.axes.grid(color=ink.FAINT, linewidth=0.3)
    top.axes.fill_betweenx(
        read, (corrected - within) * volume, (corrected + within) * volume, color=ink.FUEL, linewidth=0.0
    )
    top.axes.plot(drawn * volume, read, color=ink.GREY, linewidth=1.0, linestyle=(0.0, _DASH))
    top.axes.plot(corrected * volume, read, color=ink.FUEL_LINE, linewidth=1.2)
    top.axes.set_ylim(0.0, 1.04 * float(read[-1]))
    top.name_axes("", shown.named(f"stick from its {test.zero}", "length"))
    low.name_axes(shown.named("total in the tank", "volume"), shown.named("off the drawn model", "length"))
    low.axes.axhline(0.0, color=ink.GREY, linewidth=1.0, linestyle=(0.0, _DASH))
    _differences(low, found, volume, length)
    _points(top, low, test, found, (volume, length))
    _words(top, test, found, shown)
    return top.figure


def _differences(low: Chart, found: FillFit, volume: float, length: float) -> None:
    """The corrected model less the drawn one, at equal totals, as lengths on the stick; with its band."""
    assert found.curve is not None
    along, drawn, corrected, within = found.curve
    rising = np.argsort(drawn)
    totals, places = drawn[rising], along[rising]
    inside = (corrected >= totals[0]) & (corrected <= totals[-1])
    slope = np.gradient(drawn, along)
    steep = np.abs(slope) > 0.02 * np.abs(slope).max()
    shown = inside & steep
    off = (along - np.interp(corrected, totals, places))[shown] * length
    band = (within / np.maximum(np.abs(slope), 1e-12))[shown] * length
    x = corrected[shown] * volume
    low.axes.fill_between(x, off - band, off + band, color=ink.FUEL, linewidth=0.0)
    low.axes.plot(x, off, color=ink.FUEL_LINE, linewidth=1.2)


def _points(top: Chart, low: Chart, test: FillTest, found: FillFit, scales: tuple[float, float]) -> None:
    """The readings: dots that were used, rings that were left out, crosses with their line that do not belong.

    Where a line puts all totals off, the readings stand at the totals without it, and pale ones at those noted.
    """
    volume, length = scales
    suspected = {one.line for one in found.suspects}
    offs: list[float] = []
    for row in (one for one in test.readings if not (one.place or one.attitude)):
        if row.read_m is None:
            continue
        read = row.read_m * length
        total_m3 = row.total_m3 if row.mended_m3 is None else row.mended_m3
        style: dict[str, Any] = {
            "marker": "o",
            "markersize": 3.4,
            "color": ink.INK,
            "markeredgewidth": 0.8,
            "linestyle": "none",
        }
        if row.mended_m3 is not None:
            top.axes.plot(row.total_m3 * volume, read, **{**style, "color": ink.TRAPPED_PALE})
        if row.why:
            style |= {"markerfacecolor": "none"}
        if row.line in suspected:
            style |= {"marker": "x", "markersize": 6.0, "color": ink.TRAPPED, "markeredgewidth": 1.6}
            at = top.mm(row.total_m3 * volume, read)
            words = f"line {row.line}"
            ink.write(
                top.paper,
                at[0] - 2.0,
                at[1] + 1.4,
                words,
                size=ink.SMALL_PT,
                color=ink.TRAPPED_LINE,
                ha="right",
                ground="white",
            )
        top.axes.plot((row.total_m3 if row.line in suspected else total_m3) * volume, read, **style)
        off = _off_drawn(found, total_m3, row.read_m)
        if off is not None:
            low.axes.plot(total_m3 * volume, off * length, **style)
            offs.append(off * length)
    low.axes.yaxis.set_major_locator(MaxNLocator(6))
    _limits(low, offs, found, length)


def _off_drawn(found: FillFit, total_m3: float, read_m: float) -> float | None:
    """A reading less what the drawn model reads at a total; None beyond the stick."""
    assert found.curve is not None
    along, drawn = found.curve[:2]
    rising = np.argsort(drawn)
    if not drawn.min() <= total_m3 <= drawn.max():
        return None
    return read_m - float(np.interp(total_m3, drawn[rising], along[rising]))


def _limits(low: Chart, offs: Sequence[float], found: FillFit, length: float) -> None:
    """Limits that hold the readings that belong; what is far off stands at the edge of the upper plot alone."""
    usual = np.array([off for off in offs if abs(off) <= 6.0 * max(found.before_m * length, 1e-9)] or [0.0])
    least, most = min(0.0, float(usual.min())), max(0.0, float(usual.max()))
    room = 0.12 * (most - least) + 0.3 * found.noise_m * length + 1e-6
    low.axes.set_ylim(least - room, most + room)


def _words(top: Chart, test: FillTest, found: FillFit, shown: Shown) -> None:
    """What the lines mean, and the correction, beside the plots."""
    paper, y = top.paper, _HIGH_MM - 4.0
    ink.write(
        paper, 0.0, y, ink.minus(f"Fill test, tank {test.tank}, {test.attitude.text}"), size=ink.HEAD_PT, weight="bold"
    )
    y -= 10.0
    signs = (("corrected, with 95 %", ink.FUEL_LINE, ""), ("as drawn", ink.GREY, _DASH))
    for words, colour, dash in signs:
        course: Floats = np.array([[_WORDS_MM, y + 1.0], [_WORDS_MM + 7.0, y + 1.0]])
        if not dash:
            ink.shape(paper, [ink.box(_WORDS_MM, y - 0.6, _WORDS_MM + 7.0, y + 2.6)], fill=ink.FUEL)
        ink.stroke(paper, course, color=colour, pt=1.2, dash=dash)
        ink.write(paper, _WORDS_MM + 9.0, y, words, size=ink.SMALL_PT)
        y -= 5.0
    kinds = [("read", "o", ink.INK, ink.INK)]
    if any(row.why and row.read_m is not None for row in test.readings):
        kinds.append(("read, left out", "o", ink.INK, "none"))
    if found.suspects:
        kinds.append(("does not belong", "x", ink.TRAPPED, ink.TRAPPED))
    if any(row.mended_m3 is not None for row in test.readings):
        kinds.append(("at totals as noted", "o", ink.TRAPPED_PALE, ink.TRAPPED_PALE))
    for words, marker, colour, inner in kinds:
        paper.plot(_WORDS_MM + 3.5, y + 1.0, marker=marker, markersize=4.0, color=colour, markerfacecolor=inner)
        ink.write(paper, _WORDS_MM + 9.0, y, words, size=ink.SMALL_PT)
        y -= 5.0
    kept = next(one for one in found.tried if one.kept)
    lines = [f"Correction: {called(kept)}."]
    for one in found.found:
        kind = {"scale": "share", "pitch": "angle", "roll": "angle"}.get(one.name, "length")
        lines.append(
            f"{one.name}: {shown.figure(one.value, kind)} ± {shown.figure(one.within, kind)} {shown.written(kind)}"
        )
    rivals = [called(one) for one in found.tried if one.rival]
    if rivals:
        lines.append(f"The readings cannot tell it from {' nor from '.join(rivals)}.")
    if found.capacity.fillable_m3:
        drawn, corrected, within = (shown.figure(value, "volume") for value in found.capacity.fillable_m3)
        lines.append(f"Fillable: {corrected} ± {within} {shown.written('volume')}, drawn {drawn}.")
    y -= 3.0
    for words in lines:
        for line in ink.wrapped(ink.minus(words), ink.WIDTH_MM - _WORDS_MM, ink.SMALL_PT):
            ink.write(paper, _WORDS_MM, y, line, size=ink.SMALL_PT)
            y -= ink.LINE_MM
        y -= 1.5
