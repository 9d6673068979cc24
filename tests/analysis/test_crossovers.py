"""The highest point on the lowest path along vent lines: of several paths that count, whichever comes first in the file."""

from __future__ import annotations

from math import inf
from pathlib import Path
from typing import Any

import pytest
from flights import box, built, engine, line, part

from fuelsys.analysis.flights.crossovers import _overboard_m, _tops
from fuelsys.model.built.layout import Layout

SIZE = (400, 500, 200)


def vented(folder: Path, order: tuple[int, ...] = (0, 1, 2, 3, 4), far: bool = False) -> Layout:
    """Left's vent to right's by a tee: one path rises to 1500 mm, one to 1300; from the tee to the mast at 1400 mm, the end low."""
    tanks = [
        box(n, (0, y, 1000), SIZE, {"outlet out": (200, 250, 10)})
        for n, y in (("left", 0), ("right", 2000), ("third", 4000))
    ]
    parts = [engine((0, 0, 0)), part("tee", "tee", (200, 1000, 1250)), part("mast", "overboard", (200, 1000, 1100))]
    drawn: list[Any] = [
        line("high", "left.vent", "tee", "vent", path=[(200, 500, 1500)]), line("low", "left.vent", "tee", "vent", path=[(200, 600, 1300)]),
        line("on", "tee", "right.vent", "vent"), line("out", "tee", "mast", "vent", path=[(200, 1000, 1400)]),
        line("third", "third.vent", "mast" if far else "right.vent", "vent", path=[(200, 3000, 1220)]),
    ]  # fmt: skip
    lines = [line("a", "left.out", "engine"), *(drawn[k] for k in order)]
    return built(folder, tanks, parts, lines, feed="gravity")


@pytest.mark.parametrize("order", [(0, 1, 2, 3, 4), (1, 0, 2, 3, 4), (4, 3, 2, 1, 0), (2, 3, 4, 0, 1)])
def test_the_lowest_of_several_paths_counts(order: tuple[int, ...], tmp_path: Path) -> None:
    layout = vented(tmp_path, order)
    level = layout.design.normal("flight")
    found = {str(end): (round(top * 1e3, 6), line.name) for end, (top, line) in _tops(layout, "left", level).items()}
    # On to right, and over the mast's line, both behind the lower of the two; through another tank nothing goes on.
    assert found == {"tee": (1300.0, "low"), "right.vent": (1300.0, "low"), "mast": (1400.0, "low")}
    # From right the tee is low, and out it goes by the mast; what is beyond left is not looked at.
    found = {str(end): round(top * 1e3, 6) for end, (top, _) in _tops(layout, "right", level).items()}
    assert found == {"tee": 1250.0, "left.vent": 1300.0, "mast": 1400.0, "third.vent": 1220.0}
    tops = {name: _tops(layout, name, level) for name in ("left", "right", "third")}
    wanted = {"left": 1.4, "right": 1.4, "third": inf}  # through right no further
    assert {name: _overboard_m(layout, one) for name, one in tops.items()} == pytest.approx(wanted)


def test_an_end_overboard_leads_no_further(tmp_path: Path) -> None:
    layout = vented(tmp_path, far=True)
    level = layout.design.normal("flight")
    found = {str(end): round(top * 1e3, 6) for end, (top, _) in _tops(layout, "third", level).items()}
    assert found == {"mast": 1220.0}


@pytest.mark.parametrize("roll", [10.0, -10.0])
def test_heights_are_those_of_the_attitude(roll: float, tmp_path: Path) -> None:
    layout = vented(tmp_path)
    level = layout.design.normal("flight")
    tilted = type(level)("slip", "flight", roll_rad=roll * 3.141592653589793 / 180.0)
    ups = {line.name: max(point @ tilted.up for point in line.points_m) for line in layout.lines}
    found = {str(end): top for end, (top, _) in _tops(layout, "left", tilted).items()}
    tee = min(ups["high"], ups["low"])
    assert found == pytest.approx({"tee": tee, "right.vent": max(tee, ups["on"]), "mast": max(tee, ups["out"])})
