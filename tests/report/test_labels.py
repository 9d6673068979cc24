"""Labels and findings' numbers on the drawings: none covers another, measured on hard designs, and each is linked both ways."""

from __future__ import annotations

import re
from datetime import datetime
from pathlib import Path
from typing import Any

import designs
import numpy as np
import pytest
import solids
from commands import demo_study
from manifold3d import Manifold
from matplotlib.figure import Figure

from fuelsys import review
from fuelsys.load.designs.door import load_design
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.found.findings import Finding, Outcome
from fuelsys.model.found.study import Study
from fuelsys.report.charts.arrangement import arrangement
from fuelsys.report.charts.drawings import as_svg
from fuelsys.report.charts.plumbing import plumbing
from fuelsys.report.drawing import ink
from fuelsys.report.drawing.pins import Pin, pins
from fuelsys.report.drawing.shades import Shades
from fuelsys.report.drawing.tags import Tag
from fuelsys.report.drawing.tank_pictures import marks
from fuelsys.report.page.page import page
from fuelsys.report.shown import Shown

LITRES = Shades.of(0.0, 40.0)


def test_the_examples_findings_stand_at_their_places() -> None:
    """In one test, since what is drawn is what is measured, linked and looked up."""
    study = demo_study()
    findings = review.findings(study)
    pinned = pins(study.layout, findings)
    drawn = {name: {"Arrangement": figure} for name, figure in arrangements(study.layout, pinned).items()}
    drawn[""] = plumbing(study.layout, Shown(), pinned)
    for group in drawn.values():
        assert {title: overlaps(figure) for title, figure in group.items()} == {title: [] for title in group}
    html = page(study, findings, {}, as_svg(drawn), datetime(2026, 1, 1), "0", Shown(), False)
    linked_both_ways(html, [str(number) for number, one in enumerate(findings, 1) if one.open])
    stand_where_they_say(study, findings, pinned)


def linked_both_ways(html: str, numbers: list[str]) -> None:
    """Each number once on the drawings and once in the checklist, with a link from either to the other."""
    assert len(numbers) > 40
    to_drawing, to_finding = (re.findall(rf'href="#{name}-(\d+)"', html) for name in ("at", "finding"))
    placed, told = (re.findall(rf' id="{name}-(\d+)"', html) for name in ("at", "finding"))
    for found in (to_drawing, placed, told):
        assert sorted(found) == sorted(numbers)
    assert set(to_finding) == set(numbers)  # in every view


def stand_where_they_say(study: Study, findings: list[Finding], pinned: list[Pin]) -> None:
    at = {pin.tag.number: pin for pin in pinned}
    by_rule = {(one.rule.name, one.where): at[number] for number, one in enumerate(findings, 1) if one.open}
    assert by_rule["strainer-missing", "header.outlet"].fitting == "outlet"
    assert by_rule["unusable-large", "right"].fitting == "outlet"
    assert by_rule["warning-late", "header switch 5 min"].fitting == "switch 5 min"
    # The vent's line dips at (420, 1270, 1010) mm of the aircraft; its axes are the body's.
    dip = by_rule["vent-line-low-point", "right.vent to right overboard"]
    np.testing.assert_allclose(dip.point_m, [0.42, 1.27, 1.01], atol=1e-9)
    assert dip.tank == ""
    # A pump's finding that names the tank it draws from stands on a feed line, not on the tank's vent's.
    assert by_rule["fuel-boils-in-line", "header to pump"].line == "header feed"
    # Water lies at (450, 470.5, 12.3) mm of the right tank's mesh.
    water = by_rule["water-left-behind", "right"]
    assert water.point_m is not None
    np.testing.assert_allclose(study.tank("right").tank.mesh_m(water.point_m), [0.45, 0.4705, 0.0123], atol=1e-4)
    assert by_rule["mirror-tanks-differ", "left and right"].point_m is None


# --- hard designs ----------------------------------------------------------------------------------------------------


def mm(x: float, y: float, z: float) -> list[str]:
    return [f"{x:g} mm", f"{y:g} mm", f"{z:g} mm"]


def port(name: str, x: float, y: float, z: float) -> dict[str, Any]:
    return {"name": name, "position": mm(x, y, z), "bore": "8 mm"}


def tank(name: str, mesh: str, position: list[str], **fittings: Any) -> dict[str, Any]:
    return {"name": name, "mesh": mesh, "unit": "mm", "axes": "aft, right, up", "position": position, **fittings}


def line(name: str, kind: str, start: str, end: str, *path: list[str]) -> dict[str, Any]:
    return {"name": name, "kind": kind, "from": start, "to": end, "bore": "8 mm", "path": list(path)}


def layout_of(folder: Path, meshes: dict[str, Manifold], **parts: Any) -> Layout:
    for name, solid in meshes.items():
        vertices, faces = solids.from_manifold(solid)
        rows = [
            *(" ".join(map(repr, corner.tolist())) for corner in vertices),
            *(f"3 {a} {b} {c}" for a, b, c in faces),
        ]
        (folder / name).write_text(f"OFF\n{len(vertices)} {len(faces)} 0\n" + "\n".join(rows) + "\n")
    file = folder / "hard.toml"
    text = {**designs.BASE, "component": [], "line": [], **parts}
    file.write_text("\n".join(f'"{key}" = {designs.toml(value)}' for key, value in text.items()), encoding="utf-8")
    return load_design(file)


def wide_and_flat(folder: Path) -> Layout:
    """A tank of 600 x 3600 x 90 mm with 30 fittings, many of them within a hand's breadth of one another."""
    fitted = {
        kind: [port(f"{kind} {k + 1}", *place) for k, place in enumerate(places)]
        for kind, places in {
            "outlet": [(500, 60, 0), (100, 60, 0), (300, 60, 0)],
            "vent": [(60, 3500, 90), (60, 3540, 90), (540, 3500, 90), (300, 100, 90)],
            "drain": [(560, 40, 0), (560, 1800, 0), (560, 3560, 0), (520, 40, 0), (480, 40, 0)],
            "inlet": [(600, 400 + 60 * k, 45) for k in range(8)],
            "return": [(0, 2000 + 40 * k, 60) for k in range(4)],
        }.items()
    }
    switches = [
        {"name": f"{m} min", "mark": mm(300 + 20 * k, 120, 10 + 10 * k)} for k, m in enumerate((5, 10, 15, 20, 25))
    ]
    filler = {"position": mm(300, 3400, 90), "bore": "58 mm"}
    names = {"return": "return", **{kind: kind for kind in fitted}}
    body = tank(
        "wing",
        "wing.off",
        mm(500, -1800, 900),
        switch=switches,
        filler=filler,
        **{names[k]: v for k, v in fitted.items()},
    )
    return layout_of(folder, {"wing.off": Manifold.cube([600, 3600, 90])}, tank=[body])


def eight_tanks(folder: Path) -> Layout:
    """Four tanks in each wing, 40 fittings, and a selector that all feed, 17 lines."""
    tanks, lines, ends = [], [], [{"name": "selector", "kind": "selector", "position": mm(100, 0, 300)}]
    ends += [{"name": "engine", "kind": "engine", "position": mm(-400, 0, 300)}]
    lines.append(line("selector to engine", "feed", "selector", "engine"))
    for k, name in enumerate(
        ["far left", "outer left", "mid left", "inner left", "inner right", "mid right", "outer right", "far right"]
    ):
        y = -2400 + 600 * k
        fittings = {
            "outlet": [port("outlet", 400, 60, 0)], "vent": [port("vent", 60, 500, 120)],
            "drain": [port("drain", 420, 40, 0)], "return": [port("return", 60, 300, 120)],
            "filler": {"position": mm(250, 450, 120), "bore": "58 mm"},
        }  # fmt: skip
        tanks.append(tank(name, "box.off", mm(300, y, 900), **fittings))
        ends.append({"name": f"{name} overboard", "kind": "overboard", "position": mm(800, y + 500, 850)})
        lines.append(line(f"{name} feed", "feed", f"{name}.outlet", "selector", mm(700, y / 2, 600)))
        lines.append(line(f"{name} vent", "vent", f"{name}.vent", f"{name} overboard"))
    return layout_of(folder, {"box.off": Manifold.cube([460, 560, 120])}, tank=tanks, component=ends, line=lines)


def full_of_findings(layout: Layout) -> list[Pin]:
    """A finding at every second fitting, at each line and at each component, and some that have no place."""
    found: list[Pin] = []

    def add(tank: str, point: np.ndarray | None, **where: str) -> None:
        found.append(Pin(Tag(len(found) + 1, list(Outcome)[len(found) % 3]), tank, point, **where))

    for fitted in layout.tanks:
        for mark in marks(fitted)[::2]:
            add(fitted.name, mark.point_m + fitted.cavity.centre_m, fitting=mark.name)
        add(fitted.name, fitted.cavity.centre_m)
        add(fitted.name, None)
    for line in layout.lines:
        add("", line.points_m[0], line=line.name)
    for component in layout.design.component:
        add("", np.array(component.position_m) @ layout.aircraft_turn)
    for _ in range(12):
        add("", None)
    return found


def overlaps(figure: Figure) -> list[tuple[str, str]]:
    """Words that cover one another by the renderer's measure, in the widest font that a page may be shown in."""
    figure.draw_without_rendering()
    texts = [text for axes in figure.axes for text in axes.texts if text.get_text()]
    boxes = np.array([text.get_window_extent().extents for text in texts])
    shared = np.minimum(boxes[:, None, 2:], boxes[None, :, 2:]) - np.maximum(boxes[:, None, :2], boxes[None, :, :2])
    # Boxes of letters include room for accents and descenders: a fifth of the height may be shared.
    high = boxes[:, 3] - boxes[:, 1]
    hidden = (shared[..., 0] > 1.0) & (shared[..., 1] > 0.2 * np.minimum(high[:, None], high))
    return [(texts[j].get_text(), texts[k].get_text()) for j, k in np.argwhere(np.triu(hidden, 1))]


def crossed(figure: Figure) -> tuple[int, int]:
    """How many leaders there are, and how many pairs of them cross, by the lines that were drawn."""
    ends = [
        np.column_stack([line.get_xdata(), line.get_ydata()])
        for axes in figure.axes
        for line in axes.lines
        if line.get_color() == ink.GREY and line.get_linewidth() == 0.35 and len(line.get_xdata()) == 2
    ]

    def left(a: np.ndarray, b: np.ndarray, of: np.ndarray) -> bool:
        return bool((b[0] - a[0]) * (of[1] - a[1]) > (b[1] - a[1]) * (of[0] - a[0]))

    def cross(one: np.ndarray, two: np.ndarray) -> bool:
        return left(*one, two[0]) != left(*one, two[1]) and left(*two, one[0]) != left(*two, one[1])

    return len(ends), sum(cross(one, two) for k, one in enumerate(ends) for two in ends[:k])


def arrangements(layout: Layout, pinned: list[Pin]) -> dict[str, Figure]:
    flight = layout.design.normal("flight")

    def drawn(of: FittedTank) -> Figure:
        return arrangement(of, flight, Shown(), LITRES, pinned)

    return {fitted.name: drawn(fitted) for fitted in layout.tanks}


@pytest.mark.parametrize("make", [wide_and_flat, eight_tanks])
def test_labels_of_hard_designs_do_not_cover_each_other(make: Any, tmp_path: Path) -> None:
    layout = make(tmp_path)
    pinned = full_of_findings(layout)
    drawn = {**dict(list(arrangements(layout, pinned).items())[:1]), **plumbing(layout, Shown(), pinned)}
    assert [(title, *pair) for title, figure in drawn.items() for pair in overlaps(figure)] == []
    # Without making room for one another 26 and 64 pairs crossed.
    told = [crossed(figure) for figure in drawn.values()]
    assert max(leaders for leaders, _ in told) >= 26, told
    assert all(pairs <= 6 for _, pairs in told), told
