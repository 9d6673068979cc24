"""A tank cut open at an attitude: its outline, its section, the fuel that stays in it and the marks of its fittings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from fuelsys.analysis.tank.draining import Drained
from fuelsys.analysis.tank.unusable import outlets
from fuelsys.arrays import Flags, Floats
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.stated.attitude import Attitude
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.canvas import Axes
from fuelsys.report.drawing.ink import Hatch, Layers
from fuelsys.report.drawing.sections import REAR, SIDE, Fuel, Section, View, fuel_in, section, silhouette
from fuelsys.report.drawing.shades import letters_on, paler
from fuelsys.report.shown import Shown

SCALES = (0.5, 1, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100)
LEAST_DRAWN_M3 = 1e-6  # a pocket under a millilitre counts in the sums and is not drawn

# Marks: the sign of each kind, and whether it is filled.
SIGNS = {
    "outlet": ("v", True), "drain": ("v", False), "vent": ("^", False), "filler": ("D", False), "inlet": (">", True),
    "return": (">", False), "switch": ("o", True),
}  # fmt: skip


DIRECTIONS = {SIDE.name: ("fwd", "aft"), REAR.name: ("left", "right")}


@dataclass(frozen=True)
class Mark:
    """A fitting's place about the cavity's centre, with its name and its kind."""

    name: str
    kind: str
    point_m: Floats

    @property
    def words(self) -> str:
        """Its name as a person says it, with its kind.

        >>> Mark("from left", "inlet", np.zeros(3)).words, Mark("sump drain", "drain", np.zeros(3)).words
        ('inlet from left', 'sump drain')
        """
        return self.name if self.kind in self.name.split() else f"{self.kind} {self.name}"


def marks(tank: FittedTank) -> list[Mark]:
    """All fittings of a tank that have one place."""
    stated = tank.design
    placed = [(kind, one.name) for kind, some in stated.fittings.items() for one in some]
    return [Mark(name, kind, tank.spot(name).point_m) for kind, name in placed] + [
        Mark(f"switch {switch.name}", "switch", tank.spot(f"switch {switch.name}").point_m) for switch in stated.switch
    ]


def stick(tank: FittedTank) -> Floats | None:
    """The dipstick's ends (2, 3) about the cavity's centre."""
    if tank.design.dipstick is None:
        return None
    ends = np.array([tank.body_m(tank.design.dipstick.bottom_m), tank.body_m(tank.design.dipstick.top_m)])
    return np.asarray(ends - tank.cavity.centre_m)


@dataclass(frozen=True)
class Cut:
    """One view of a tank: the plane's depth about the cavity's centre, the section there, and the outline behind it."""

    view: View
    depth_m: float
    section: Section
    outline_m: tuple[Floats, ...]
    place: str


def cuts(tank: FittedTank, shown: Shown) -> tuple[Cut, Cut]:
    """Side and rear view, each cut through the first outlet; through the middle of a tank without one."""
    through = tank.spot(tank.design.outlet[0].name).point_m if tank.design.outlet else np.zeros(3)
    station, butt = (float(c) for c in (through + tank.cavity.centre_m)[:2])
    side = "" if abs(butt) < 5e-4 else (" left" if butt < 0 else " right")
    places = (
        f"butt line {shown.text(abs(butt), 'length')}{side}",
        f"station {ink.minus(shown.text(station, 'length'))}",
    )
    return tuple(_cut(tank, view, through, place) for view, place in zip((SIDE, REAR), places, strict=True))  # type: ignore[return-value]


def _cut(tank: FittedTank, view: View, through: Floats, place: str) -> Cut:
    depth = float(through @ view.along)
    basis = np.array([view.across, view.height])
    outline = tuple(course @ basis for course in silhouette(tank.cavity, view))
    return Cut(view, depth, section(tank.cavity, view.along, depth), outline, place)


@dataclass(frozen=True)
class Standing:
    """Fuel that stands at one level in the end: the faces (m,) of its pools, whether an outlet drains it, its centroid."""

    level_m: float
    drains: bool
    of_pool: Flags
    volume_m3: float
    centroid_m: Floats


def standing(drained: Drained) -> list[Standing]:
    """All fuel that stays behind, by level."""
    n = drained.n_seeds
    ends, drains, tilted = drained.end_m[:n], drained.drains[:n], drained.tilted
    sums = tilted.moments_by_seed(np.ascontiguousarray(ends))
    found = []
    for level, drain in sorted({(float(level), bool(drain)) for level, drain in zip(ends, drains, strict=True)}):
        seeds = (ends == level) & (drains == drain)
        held = sums[seeds].sum(axis=0)
        if held[0] > 0.0:
            found.append(Standing(level, drain, seeds[tilted.tree.face_seed], float(held[0]), held[1:4] / held[0]))
    return found


@dataclass(frozen=True)
class Picture:
    """A tank at an attitude, ready to be drawn from any cut."""

    tank: FittedTank
    attitude: Attitude
    left: tuple[Standing, ...]
    below: tuple[Standing, ...] = ()

    @classmethod
    def of(cls, tank: FittedTank, attitude: Attitude) -> Picture:
        """What stays in the tank after draining at the attitude; nothing is shown in a tank without an outlet.

        below is what of it the outlets alone would leave, where a line holds more back: it rises, or the flow asks for height.
        """
        openings = outlets(tank)
        if not openings:
            return cls(tank, attitude, ())
        drained = Drained.of(tank.cavity, attitude.up, openings)
        alone = Drained.of(tank.cavity, attitude.up, [replace(one, ways=(), heights_m=()) for one in openings])
        held = drained.left_m3 - alone.left_m3 >= LEAST_DRAWN_M3
        return cls(tank, attitude, tuple(standing(drained)), tuple(standing(alone)) if held else ())

    @property
    def volume_m3(self) -> float:
        """All that stays."""
        return sum(fuel.volume_m3 for fuel in self.left)

    @property
    def kinds(self) -> list[str]:
        """The kinds of fuel that stay."""
        held = ["held"] if self.below else []
        return [*dict.fromkeys("residual" if fuel.drains else "trapped" for fuel in self.left), *held]

    def extent_m(self, cut: Cut) -> tuple[Floats, Floats]:
        """Least and greatest (across, height) on the turned paper, about the cavity's centre."""
        placed = self.tank.cavity.vertices_m @ cut.view.turned(self.attitude.up)
        return placed.min(axis=0), placed.max(axis=0)


@dataclass(frozen=True)
class Place:
    """Where the cavity's centre lies on the paper, and the scale 1 : scale."""

    origin_mm: Floats
    scale: float

    def mm(self, points_m: Floats, turn: Floats) -> Floats:
        """Points (k, 3) about the cavity's centre -> paper (k, 2)."""
        return self.origin_mm + points_m @ turn * (1e3 / self.scale)


def hatch_of(kind: str, shade: str) -> Hatch | None:
    """The pattern that tells fuel of a kind: residual has none, trapped is hatched, held back by a line has upright lines."""
    if kind == "residual":
        return None
    return Hatch(45.0 if kind == "trapped" else 90.0, 1.1, letters_on(shade))


def draw(layers: Layers, picture: Picture, cut: Cut, place: Place, shade: str, *, fine: bool = False) -> None:
    """Outline, section, fuel of a shade, and surfaces of one view; fine lines for small pictures."""
    up = picture.attitude.up
    turn = cut.view.turned(up)

    def mm(courses: Sequence[Floats]) -> list[Floats]:
        return [place.mm(course, turn) for course in courses]

    walls = mm([cut.section.points_m[loop] for loop in cut.section.loops])
    layers.add(0, walls, fill=ink.AIR)
    width = 0.6 if fine else 0.9
    for fuel in picture.left:
        elsewhere = _elsewhere(picture, cut, fuel)
        kind = ("held" if picture.below else "residual") if fuel.drains else "trapped"
        pale = paler(shade)
        layers.add(
            1,
            mm(elsewhere.outlines_m),
            fill=pale,
            line=ink.TRAPPED_LINE,
            pt=width - 0.1,
            dash="--",
            hatch=hatch_of(kind, pale),
        )
        inside = fuel_in(cut.section, fuel.of_pool, up, fuel.level_m)
        layers.add(2, mm(inside.outlines_m), fill=shade, hatch=hatch_of(kind, shade))
        layers.add(3, mm(list(inside.surface_m)), line=ink.TRAPPED_LINE, pt=width, closed=False)
    drains = [fuel.of_pool for fuel in picture.left if fuel.drains]
    for fuel in picture.below:
        if any((fuel.of_pool & of_pool).any() for of_pool in drains):
            inside = fuel_in(cut.section, fuel.of_pool, up, fuel.level_m)
            layers.add(3, mm(inside.outlines_m), fill=shade)
            layers.add(3, mm(list(inside.surface_m)), line=ink.TRAPPED_LINE, pt=width - 0.3, closed=False)
    layers.add(4, mm(cut.outline_m), line=ink.GREY, pt=0.25 if fine else 0.35, closed=False)
    layers.add(5, walls, line=ink.INK, pt=0.5 if fine else 0.8)


def _elsewhere(picture: Picture, cut: Cut, fuel: Standing) -> Fuel:
    """The same fuel cut through its own middle, where the picture's section shows little of it or nothing."""
    up = picture.attitude.up
    there = section(picture.tank.cavity, cut.view.along, float(fuel.centroid_m @ cut.view.along))
    middle = fuel_in(there, fuel.of_pool, up, fuel.level_m)
    here = fuel_in(cut.section, fuel.of_pool, up, fuel.level_m)
    hidden = middle.area_m2(cut.view.along) > 1.5 * here.area_m2(cut.view.along)
    return middle if hidden and fuel.volume_m3 >= LEAST_DRAWN_M3 else Fuel((), np.zeros((0, 2, 3)))


def placed_marks(picture: Picture, cut: Cut, place: Place) -> list[tuple[Mark, Floats]]:
    """The fittings, each with its place on the paper."""
    turn = cut.view.turned(picture.attitude.up)
    return [(mark, place.mm(mark.point_m, turn)) for mark in marks(picture.tank)]


def draw_signs(axes: Axes, placed: Sequence[tuple[str, Floats]], size_pt: float) -> None:
    """The signs of fittings: each one's kind and place."""
    for kind in dict.fromkeys(kind for kind, _ in placed):
        marker, filled = SIGNS[kind]
        x, y = np.array([at for one, at in placed if one == kind]).T
        axes.plot(
            x, y, linestyle="none", marker=marker, markersize=size_pt, markerfacecolor=ink.INK if filled else "white",
            markeredgecolor="white" if filled else ink.INK, markeredgewidth=0.4 if filled else 0.6, clip_on=False,
            scalex=False, scaley=False,
        )  # fmt: skip


def draw_directions(axes: Axes, picture: Picture, cut: Cut, place: Place, reach_mm: float = 2.0) -> list[Floats]:
    """The aircraft's own axis through the tank, with its ends named; -> the middles of the names."""
    turn = cut.view.turned(picture.attitude.up)
    half = np.abs(picture.tank.cavity.vertices_m @ cut.view.across).max() * 1e3 / place.scale + reach_mm
    way = cut.view.across @ turn
    ends = place.origin_mm + np.array([-half, half])[:, None] * way
    ink.stroke(axes, ends, color=ink.GREY, pt=0.35, dash=(8, 2, 1.5, 2))
    tilt = float(np.degrees(np.arctan2(way[1], way[0])))
    middles = []
    for end, name, sense in zip(ends, DIRECTIONS[cut.view.name], (-1.0, 1.0), strict=True):
        ha = "left" if sense > 0 else "right"
        x, y = end + sense * 0.8 * way
        ink.write(axes, x, y, name, size=ink.SMALL_PT, color=ink.GREY, ha=ha, va="center", rotation=tilt)
        middles.append(end + sense * (0.8 + ink.width_of(name, ink.SMALL_PT) / 2.0) * way)
    return middles


def gravity(axes: Axes, x_mm: float, y_mm: float, length_mm: float = 6.0) -> None:
    """An arrow along apparent gravity: straight down, as the pictures are turned."""
    ink.stroke(axes, np.array([[x_mm, y_mm + length_mm], [x_mm, y_mm + 1.0]]), pt=0.7)
    head = np.array([[x_mm, y_mm], [x_mm - 0.8, y_mm + 2.0], [x_mm + 0.8, y_mm + 2.0]])
    ink.shape(axes, [head], fill=ink.INK)
    ink.write(axes, x_mm + 1.2, y_mm + length_mm - 2.0, "g", size=ink.SMALL_PT)


def scale_for(size_m: float, room_mm: float) -> float:
    """The largest of the usual scales at which a size fits."""
    return next((scale for scale in SCALES if size_m * 1e3 / scale <= room_mm), size_m * 1e3 / room_mm)


def scale_text(scale: float) -> str:
    """A scale as it is written on a drawing.

    >>> scale_text(8), scale_text(0.5)
    ('1 : 8', '2 : 1')
    """
    return f"1 : {scale:g}" if scale >= 1 else f"{1 / scale:g} : 1"
