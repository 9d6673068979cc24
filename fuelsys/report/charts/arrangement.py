"""A tank's arrangement: side and rear view with all fittings named, and findings' numbers at their places."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.stated.attitude import Attitude
from fuelsys.report.charts.unusable import Frame, centred, shade_of, swatches
from fuelsys.report.drawing import ink
from fuelsys.report.drawing import pins as pinning
from fuelsys.report.drawing import tank_pictures as pictures
from fuelsys.report.drawing.canvas import Axes, Figure
from fuelsys.report.drawing.ink import Layers
from fuelsys.report.drawing.keys import Key, letter
from fuelsys.report.drawing.labels import Paper
from fuelsys.report.drawing.pins import Pin
from fuelsys.report.drawing.sections import SIDE
from fuelsys.report.drawing.shades import Shades
from fuelsys.report.drawing.tags import Tag
from fuelsys.report.drawing.tank_pictures import Cut, Picture, Place
from fuelsys.report.shown import Shown

_LABELS_MM = 26.0  # room for names beside a picture
_FOOT_MM = 19.7  # words below an arrangement


def arrangement(
    tank: FittedTank, attitude: Attitude, shown: Shown, litres: Shades, pinned: Sequence[Pin] = ()
) -> Figure:
    """Side and rear view with every fitting named, the fuel that stays at the attitude, and findings' numbers at their places."""
    pinned = [pin for pin in pinned if pin.tank == tank.name]
    picture, cuts = Picture.of(tank, attitude), pictures.cuts(tank, shown)
    sizes = [high - low for low, high in (picture.extent_m(cut) for cut in cuts)]
    beside = pictures.scale_for(float(sizes[0][0] + sizes[1][0]), ink.WIDTH_MM - 4 * _LABELS_MM)
    beside = max(beside, pictures.scale_for(float(max(s[1] for s in sizes)), 95.0))
    stacked = pictures.scale_for(float(max(s[0] for s in sizes)), ink.WIDTH_MM - 2 * _LABELS_MM)
    stacked = max(stacked, pictures.scale_for(float(sum(s[1] for s in sizes)), 125.0))
    named = _named(tank, pinned)
    key = Key.of(named)
    foot = _FOOT_MM + key.height_mm
    frames = _beside(sizes, beside, foot) if beside <= stacked else _stacked(sizes, stacked, foot)
    scale = min(beside, stacked)
    figure, axes = ink.sheet(ink.WIDTH_MM, max(frame[3] for frame in frames))
    for cut, frame in zip(cuts, frames, strict=True):
        paper, place = _view(axes, picture, cut, frame, scale, shade_of(picture, shown, litres))
        _name_marks(
            axes, picture, cut, place, paper, [(letter(k), ()) for k in range(len(named))] if key.entries else named
        )
        _name_points(axes, picture, cut, place, paper, pinned)
        paper.settle(axes)
    key.draw(axes, 18.2)
    where = f"Scale {pictures.scale_text(scale)}. At {ink.minus(attitude.text)}"
    if picture.left:
        swatches(axes, 5.4, picture.kinds, shown, litres)
        where += ", drained from full through the outlet; the surfaces lie level"
    ink.footing(axes, 0.0, 0.8, [f"{where}."], ink.WIDTH_MM)
    pinning.placeless(axes, pinned, ink.WIDTH_MM, 13.6)
    return figure


def _beside(sizes: Sequence[Floats], scale: float, foot: float) -> list[Frame]:
    widths = [float(size[0]) * 1e3 / scale for size in sizes]
    high = foot + max(float(size[1]) for size in sizes) * 1e3 / scale + 17.0
    split = widths[0] + (ink.WIDTH_MM - sum(widths)) / 2.0
    return [(0.0, foot, split, high), (split, foot, ink.WIDTH_MM, high)]


def _stacked(sizes: Sequence[Floats], scale: float, foot: float) -> list[Frame]:
    heights = [float(size[1]) * 1e3 / scale + 17.0 for size in sizes]
    upper = foot + heights[1]
    return [(0.0, upper, ink.WIDTH_MM, upper + heights[0]), (0.0, foot, ink.WIDTH_MM, upper)]


def _named(tank: FittedTank, pinned: Sequence[Pin]) -> list[tuple[str, list[Tag]]]:
    """The fittings and the dipstick by name, in the order of their marks, each with the findings that stand at it."""
    found = [(mark.words, _tags(pinned, mark.name)) for mark in pictures.marks(tank)]
    return [
        *found,
        *([(pinning.DIPSTICK, _tags(pinned, pinning.DIPSTICK))] if pictures.stick(tank) is not None else []),
    ]


def _tags(pinned: Sequence[Pin], fitting: str) -> list[Tag]:
    return [pin.tag for pin in pinned if pin.fitting == fitting]


def _view(axes: Axes, picture: Picture, cut: Cut, frame: Frame, scale: float, shade: str) -> tuple[Paper, Place]:
    """One view in its frame, without names; -> what is taken on its paper, and where it lies."""
    left, bottom, right, top = frame
    place = centred(picture, cut, (left, bottom, right, top - 5.0), scale)
    title = "Side" if cut.view is SIDE else "Rear"
    ink.write(axes, left, top - 3.0, title, size=ink.HEAD_PT, weight="bold")
    ink.write(
        axes, left + ink.width_of(title, ink.HEAD_PT) + 3.0, top - 3.0, f"{cut.view.name.partition(',')[0]}; cut at {cut.place}",
        size=ink.SMALL_PT, color=ink.GREY,
    )  # fmt: skip
    paper = Paper((left + 1.0, bottom + 0.5, right - 9.0, top - 5.0), waits=True)
    for middle in pictures.draw_directions(axes, picture, cut, place):
        paper.keep_off(middle, 3.0, 1.2)
    layers = Layers()
    pictures.draw(layers, picture, cut, place, shade)
    layers.draw(axes)
    pictures.gravity(axes, right - 5.0, bottom + 1.5)
    return paper, place


def _name_marks(
    axes: Axes,
    picture: Picture,
    cut: Cut,
    place: Place,
    paper: Paper,
    named: Sequence[tuple[str, Sequence[Tag]]],
) -> None:
    """Signs and names of the fittings and of the dipstick, clear of the section's outline and of one another."""
    turn = cut.view.turned(picture.attitude.up)
    for loop in cut.section.loops:
        paper.avoid(place.mm(cut.section.points_m[np.append(loop, loop[:1])], turn))
    stick = pictures.stick(picture.tank)
    if stick is not None:
        course = place.mm(stick, turn)
        ink.stroke(axes, course, pt=1.0, dash=(3, 1))
        paper.avoid(course)
    placed = pictures.placed_marks(picture, cut, place)
    pictures.draw_signs(axes, [(mark.kind, at) for mark, at in placed], 4.5)
    for _, at in placed:
        paper.keep_off(at, 0.9)
    for k in sorted(range(len(placed)), key=lambda k: -float(placed[k][1][1])):
        paper.label(axes, placed[k][1], named[k][0], ground="#ffffffc0", tagged=named[k][1])
    if stick is not None:
        paper.label(axes, course.mean(axis=0), named[-1][0], ground="#ffffffc0", tagged=named[-1][1])


def _name_points(axes: Axes, picture: Picture, cut: Cut, place: Place, paper: Paper, pinned: Sequence[Pin]) -> None:
    """Findings' numbers at points of the tank that are no fittings."""
    turn = cut.view.turned(picture.attitude.up)
    centre = picture.tank.cavity.centre_m
    points = [
        (place.mm(pin.point_m - centre, turn), pin.tag) for pin in pinned if pin.point_m is not None and not pin.fitting
    ]
    pinning.at_points(axes, paper, points)
