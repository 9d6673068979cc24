"""Air past an empty line, and vents that lead out through other tanks: two boxes and their lines, by hand."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from flights import DENSITY, GRAVITY, box, built, engine, line, part

from fuelsys.analysis.lines.dry import dry_branches, ended_by, lets_air_in
from fuelsys.analysis.lines.plumbing import _leads
from fuelsys.analysis.lines.solving import Solving
from fuelsys.model.built.ends import ComponentEnd, PortEnd

SIZE = (400, 500, 200)
HEAD = DENSITY * GRAVITY


def two(folder: Path, sag_mm: float = 600.0, right_mm: float = 1000.0, tee_mm: float = 700.0, **more: Any) -> Solving:
    """Left by a filter and right straight into a tee at 700 mm and on to the engine; left's line sags behind the filter."""
    tanks = [
        box(n, (0, y, z), SIZE, {"outlet out": (200, 250, 10)})
        for n, y, z in (("left", 0, 1000), ("right", 2000, right_mm))
    ]
    parts = [part("bowl", "filter", (200, 600, 800)), part("tee", "tee", (200, 1000, tee_mm)), engine((200, 1000, 300))]
    lines = [
        line("l", "left.out", "bowl", bore=20.0), line("on", "bowl", "tee", bore=20.0, path=[(200, 800, sag_mm)]),
        line("r", "right.out", "tee", bore=20.0), line("e", "tee", "engine", bore=20.0),
    ]  # fmt: skip
    return Solving.of(built(folder, tanks, parts, lines, "1 L/h", "gravity", **more))


def margins(solving: Solving) -> dict[str, tuple[float, str, str]]:
    return {str(one.outlet): (one.margin_pa, str(one.junction), one.feeding) for one in dry_branches(solving)}


@pytest.mark.parametrize("sag_mm", [600.0, 750.0])
def test_how_near_air_comes_past_an_empty_line(sag_mm: float, tmp_path: Path) -> None:
    # At a litre an hour nothing is lost: at the tee the other's outlet, at 1010 mm, stands over the empty line's lowest point, that of all
    # of it down to where the lines meet.
    found = margins(two(tmp_path, sag_mm))
    assert set(found) == {"left.out", "right.out"}
    lowest = {"left.out": min(sag_mm, 700.0), "right.out": 700.0}
    for name, (margin, junction, feeding) in found.items():
        assert margin == pytest.approx(HEAD * (1010.0 - lowest[name]) / 1e3, rel=1e-3)
        assert junction == "tee"
        assert feeding == ("right" if name == "left.out" else "left")


@pytest.mark.parametrize(
    ("right_mm", "tee_mm", "lets"), [(1200.0, 700.0, False), (1200.0, 1050.0, True), (1000.0, 1050.0, False)]
)
def test_air_comes_past_what_lies_no_lower_than_the_fuel_that_feeds(
    right_mm: float, tee_mm: float, lets: bool, tmp_path: Path
) -> None:
    # With the tee at 1050 mm left gives down to that alone: then the line from an outlet at 1210 mm is empty down to it; one from 1010 mm
    # holds a column.
    solving = two(tmp_path, right_mm=right_mm, tee_mm=tee_mm)
    level = solving.layout.design.normal("flight")
    right, left = PortEnd("right", "out"), PortEnd("left", "out")
    assert lets_air_in(solving, ComponentEnd("engine"), right, (left,), level) == lets


def test_the_worst_attitude_is_told(tmp_path: Path) -> None:
    # Right wing down by 5 degrees the right tank, 2 m to the right of the left one, stands lower: what is told is the least margin.
    level = margins(two(tmp_path / "a"))
    tilts = [{"name": "level", "normal": True}, {"name": "slip", "roll": "5 deg"}]
    solving = two(tmp_path / "b", attitudes=tilts)
    found = {str(one.outlet): one for one in dry_branches(solving)}
    assert found["left.out"].attitude.name == "slip"  # what feeds it stands on the low side
    assert found["left.out"].margin_pa < level["left.out"][0]
    assert found["right.out"].attitude.name == "level"


def test_no_tank_is_ended_by_an_outlet_that_stands_alone(tmp_path: Path) -> None:
    solving = two(tmp_path)
    assert ended_by(solving, solving.layout.tank("left")) == {}


def outlets(folder: Path, high_mm: float, **more: Any) -> Solving:
    """One tank with a low and a high outlet into a tee under it."""
    tank = box("main", (0, 0, 1000), SIZE, {"outlet low": (200, 100, 10), "outlet high": (200, 400, high_mm)})
    lines = [
        line("l", "main.low", "tee", bore=20.0),
        line("h", "main.high", "tee", bore=20.0),
        line("e", "tee", "engine", bore=20.0),
    ]
    parts = [part("tee", "tee", (200, 250, more.pop("tee_mm", 700))), engine((200, 250, 300))]
    return Solving.of(built(folder, [tank], parts, lines, "1 L/h", "gravity", **more))


def test_a_bare_outlet_ends_the_other_where_air_comes_to_the_tee(tmp_path: Path) -> None:
    # The tee far below the low outlet: its column holds the air back. A tee above it: whatever is bare lets air in.
    low = outlets(tmp_path / "a", 100.0)
    assert ended_by(low, low.layout.tank("main")) == {}
    above = outlets(tmp_path / "b", 100.0, tee_mm=1050)
    found = ended_by(above, above.layout.tank("main"))
    assert found["high"].others == ("low",)
    assert found["high"].needs == ""


# --- vents that lead out through other tanks


def test_a_vent_leads_out_through_any_vent_of_a_tank_beyond(tmp_path: Path) -> None:
    tanks = [
        box(n, (0, y, 1000), SIZE, {"outlet out": (200, 250, 10)})
        for n, y in (("left", 0), ("right", 2000), ("shut", 4000))
    ]
    tanks[1]["vent"].append({"name": "second", "position": ["100 mm", "250 mm", "200 mm"], "bore": "8 mm"})
    tanks[1]["vent"].append({"name": "third", "position": ["300 mm", "250 mm", "200 mm"], "bore": "8 mm"})
    parts = [engine((0, 0, 0)), part("mast", "overboard", (0, 2000, 1400))]
    lines = [
        line("a", "left.out", "engine"),
        line("v", "left.vent", "right.vent", "vent"),
        line("w", "right.second", "mast", "vent"),
    ]
    layout = built(tmp_path, tanks, parts, lines, feed="gravity")
    vents = {f"{tank.name}.{one.name}": (tank, one) for tank in layout.tanks for one in tank.design.vent}
    wanted = {"left.vent": True, "right.second": True, "right.third": False, "shut.vent": False}
    assert {name: _leads(layout, *vents[name]) for name in wanted} == wanted
    # Back into the tank that it came from is no way out.
    assert not _leads(layout, *vents["left.vent"], frozenset(["right"]))
