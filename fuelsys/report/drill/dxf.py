"""A drill sheet as DXF, in mm at full size: the three views, and for each side that is drilled a template of its openings."""

from __future__ import annotations

import io
from typing import TYPE_CHECKING, Any

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.errors import QuestionError
from fuelsys.model.found.drill import SIDES, Fitting, Stop
from fuelsys.report.drawing.sections import silhouette
from fuelsys.report.drill import table as drill_table
from fuelsys.report.drill.sheet import Plan, Sheet
from fuelsys.report.drill.views import OUTSIDE, PITCH_MM, Flat, Ordinate, apart

if TYPE_CHECKING:
    from types import ModuleType

# Layers with their colours of the format's own list: what is the tank, what is drilled, what is written.
LAYERS = {
    "OUTLINE": 7, "FITTINGS": 1, "OPENINGS": 1, "TEMPLATE": 5, "FLOATS": 4, "MOVED": 30, "DIMENSIONS": 8, "TEXT": 7, "CHECK": 3,
}  # fmt: skip
_GAP_MM = 90.0  # between views, which have their dimensions there
_TEXT_MM = 3.0
_CROSS_MM = 6.0
_CHECK_MM = 100.0  # the whole file is in mm


def check_installed() -> None:
    """QuestionError where the library that writes DXF is not there: asked before long work."""
    _library()


def _library() -> ModuleType:
    try:
        import ezdxf  # noqa: PLC0415  an optional extra
    except ImportError as fault:
        raise QuestionError(
            "this installation cannot write DXF",
            mend='Install the extra "dxf": pip install "fuelsys[dxf]".',
            field="--into",
        ) from fault
    return ezdxf


def as_bytes(sheet: Sheet) -> bytes:
    """The drawing as a DXF file; the same sheet gives the same bytes."""
    ezdxf = _library()
    kept = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        document = ezdxf.new("R2010", units=ezdxf.units.MM)
        for name, color in LAYERS.items():
            document.layers.add(name, color=color)
        _draw(document.modelspace(), sheet)
        text = io.StringIO()
        document.write(text)
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = kept
    return text.getvalue().encode("utf-8")


def _draw(space: Any, sheet: Sheet) -> None:
    """Views in a row from the origin, the templates in a row below them, and a line to check the size by."""
    x = 0.0
    for flat in (sheet.view(k, 1.0, Plan()) for k in range(3)):
        _view(space, flat, np.array([x, 0.0]))
        x += float(flat.size_mm[0]) + 2.0 * _GAP_MM
    x, top = 0.0, -2.0 * _GAP_MM
    for side, view in OUTSIDE.items():
        openings = [fitting for fitting in sheet.drill.fittings if fitting.through == side and fitting.kind != "switch"]
        stems = [fitting for fitting in sheet.drill.fittings if fitting.through == side and fitting.kind == "switch"]
        if openings or stems:
            title = f"Template 1:1, {SIDES[side].wall} {view.name}, as from outside"
            flat = Flat(sheet.tank.cavity, sheet.drill, view, 1.0, sheet.shown, title, measured="none")
            _template(space, flat, [*openings, *stems], np.array([x, top - float(flat.size_mm[1])]))
            x += float(flat.size_mm[0]) + _GAP_MM
    check = np.array([[0.0, -_GAP_MM], [_CHECK_MM, -_GAP_MM]])
    space.add_line(*check.tolist(), dxfattribs={"layer": "CHECK"})
    for end in check:
        space.add_line(end - np.array([0.0, 2.0]), end + np.array([0.0, 2.0]), dxfattribs={"layer": "CHECK"})
    _write(space, f"check: {_CHECK_MM:g} mm", check[1] + np.array([4.0, -_TEXT_MM / 2.0]), "CHECK")
    _write(
        space,
        f"Drill sheet: tank {sheet.tank.name}, {sheet.aircraft}. Units mm, full size; inside of the tank.",
        check[0] - np.array([0.0, 12.0]),
    )


def _view(space: Any, flat: Flat, corner: Floats) -> None:
    """One view with its fittings and dimensions."""
    _outline(space, flat, corner, "OUTLINE")
    _write(
        space,
        f"{flat.title or flat.heading}, {flat.seen}",
        corner + np.array([0.0, float(flat.size_mm[1]) + 30.0]),
        high=5.0,
    )
    for fitting in flat.drill.fittings:
        at = flat.mm(fitting.point_m[None])[0] + corner
        _fitting(space, flat, fitting, at)
        if fitting.was_m is not None:
            was = flat.mm(fitting.was_m[None])[0] + corner
            space.add_line(was, at, dxfattribs={"layer": "MOVED"})
            space.add_circle(was, 1.5, dxfattribs={"layer": "MOVED"})
        if fitting.clearance_m:
            space.add_circle(at, fitting.clearance_m * 1e3, dxfattribs={"layer": "FLOATS"})
    for k, (near, far) in enumerate((flat.bands(0), flat.bands(1))):
        length, across = flat.size_mm[k], flat.size_mm[1 - k]
        for band, edge, sense in ((near, 0.0, -1.0), (far, float(across), 1.0)):
            run = len(band) * PITCH_MM * 1.3
            middle = float(length) / 2.0
            places = (
                apart(band, min(0.0, middle - run / 2.0), max(float(length), middle + run / 2.0))
                if band
                else np.zeros(0)
            )
            for one, place in zip(band, places.tolist(), strict=True):
                _ordinate(space, one, place, k, edge, sense, corner)


def _ordinate(space: Any, one: Ordinate, place: float, k: int, edge: float, sense: float, corner: Floats) -> None:
    """A dimension beside a view, with its line from the fitting."""

    def at(along: float, off: float) -> Floats:
        pair = (along, edge + sense * off) if k == 0 else (edge + sense * off, along)
        return np.array(pair) + corner

    turn, end = at(one.along_mm, 5.0), at(place, 15.0)
    for begin in [there + corner for there in one.at_mm] or [at(one.along_mm, 2.0)]:
        space.add_lwpolyline([begin, turn, end], dxfattribs={"layer": "DIMENSIONS"})
    rotation, right = (90.0 if k == 0 else 0.0), sense < 0.0
    _write(space, one.text, at(place, 16.0), "DIMENSIONS", rotation=rotation, right=right)


def _template(space: Any, flat: Flat, fittings: list[Fitting], corner: Floats) -> None:
    """One side as it is seen from outside, with what is drilled in it."""
    _outline(space, flat, corner, "TEMPLATE")
    _write(space, flat.title, corner + np.array([0.0, float(flat.size_mm[1]) + 6.0]), high=5.0)
    for fitting in fittings:
        at = flat.mm(fitting.point_m[None])[0] + corner
        for arm in _CROSS_MM * np.eye(2):
            space.add_line(at - arm, at + arm, dxfattribs={"layer": "TEMPLATE"})
        if fitting.bore_m:
            space.add_circle(at, fitting.bore_m * 500.0, dxfattribs={"layer": "OPENINGS"})
        bore = f"bore {flat.shown.short(fitting.bore_m, 'length')}" if fitting.bore_m else "bore not stated"
        held = any(isinstance(note, Stop) for note in drill_table.notes(fitting, flat.drill, flat.shown))
        words = f"{fitting.number} {fitting.name}, {bore}{f', {drill_table.STOP}' if held else ''}"
        _write(space, words, at + np.array([_CROSS_MM, _CROSS_MM]))


def _fitting(space: Any, flat: Flat, fitting: Fitting, at: Floats) -> None:
    """A point at a fitting's place, its bore where it is seen as one, its number and name."""
    space.add_point(at, dxfattribs={"layer": "FITTINGS"})
    for arm in _CROSS_MM * np.eye(2):
        space.add_line(at - arm, at + arm, dxfattribs={"layer": "FITTINGS"})
    if fitting.bore_m and fitting.through and SIDES[fitting.through].axis == flat.axes[2]:
        space.add_circle(at, fitting.bore_m * 500.0, dxfattribs={"layer": "OPENINGS"})
    _write(space, f"{fitting.number} {fitting.name}", at + np.array([1.5, 1.5]))


def _outline(space: Any, flat: Flat, corner: Floats, layer: str) -> None:
    for course in flat.flat_mm(silhouette(flat.cavity, flat.view)):
        space.add_lwpolyline((course + corner).tolist(), dxfattribs={"layer": layer})


def _write(
    space: Any,
    text: str,
    at: Floats,
    layer: str = "TEXT",
    *,
    high: float = _TEXT_MM,
    rotation: float = 0.0,
    right: bool = False,
) -> None:
    """Letters at a place, from their lower left corner, or up to it."""
    written = space.add_text(text, height=high, rotation=rotation, dxfattribs={"layer": layer})
    if right:
        from ezdxf.enums import TextEntityAlignment  # noqa: PLC0415  an optional extra

        written.set_placement(at, align=TextEntityAlignment.BOTTOM_RIGHT)
    else:
        written.set_placement(at)
