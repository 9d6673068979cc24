"""Designs with a line, a valve or a pump more: which are offered, in which words, and what they are joined to and from where to where."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from numpy.testing import assert_allclose
from test_flight_cases import CURVE, rich

from fuelsys.analysis.flights import piped
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.fly import Flown, Part
from fuelsys.model.stated.components import CheckValve, Overboard, Pump


def ends(layout: Layout) -> set[tuple[str, str, str, str]]:
    return {(one.name, one.kind, str(one.start), str(one.end)) for one in layout.lines}


def added(before: Layout, after: Layout) -> set[tuple[str, str, str, str]]:
    assert [one.design for one in after.lines] == list(after.design.line)
    return ends(after) - ends(before)


def held(layout: Layout, *rows: tuple[float, float, float], back_to: str = "") -> Flown:
    """What left, right and tail hold [L], a minute apart."""
    attitude = layout.design.normal("flight")
    part = Part("f", 0.0, attitude, "cruise", 1e-5, 0.0, back_to)
    times = 60.0 * np.arange(len(rows))
    return Flown(("left", "right", "tail"), times, np.array(rows) * 1e-3, times, times, (), (), "air", (part,))


@pytest.mark.parametrize(
    ("rows", "from_s", "back_to", "behind"),
    [
        (((10, 10, 10), (9, 10.2, 10.2)), 0.0, "", ["right"]),  # the tail tank has no outlet, the left one lost
        (((10, 10, 10), (10.05, 10.2, 10)), 0.0, "", ["right"]),  # less than a tenth of a litre
        (((10, 10, 10), (10.2, 10.2, 10)), 0.0, "right", ["left"]),  # what is sent back to it comes for that
        (((10, 8, 10), (9, 10, 10), (9, 9, 10)), 30.0, "", []),  # it gained before things went wrong
        (((10, 10, 10), (9, 8, 10), (9, 9, 10)), 60.0, "", ["right"]),  # and here after
        (((10, 10, 10), (9, 10.2, 10)), 600.0, "", ["right"]),  # from a moment after its end: all of it is looked at
    ],
)
def test_a_check_valve_goes_where_fuel_ran_in(
    rows: tuple[tuple[float, float, float], ...], from_s: float, back_to: str, behind: list[str], tmp_path: Path
) -> None:
    layout = rich(tmp_path).layout
    found = list(piped.check_valves(layout, held(layout, *rows, back_to=back_to), from_s))
    lines = {"left": "l", "right": "r"}
    assert [words for words, _ in found] == [(f"a check valve in {lines[tank]}, behind {tank}.out",) for tank in behind]
    for tank, (_, changed) in zip(behind, found, strict=True):
        name = lines[tank]
        check = f"{name} check"
        assert added(layout, changed) == {(f"{name} 1", "feed", f"{tank}.out", check), (name, "feed", check, "tap")}
        first, rest = (one for one in changed.lines if one.name in (f"{name} 1", name))
        old = next(one for one in layout.lines if one.name == name)
        assert_allclose(first.points_m, [old.points_m[0], (old.points_m[0] + old.points_m[1]) / 2.0])
        assert_allclose(rest.points_m, [first.points_m[-1], *old.points_m[1:]])
        assert (first.design.bore_m, rest.design.bore_m) == (old.design.bore_m, old.design.bore_m)
        assert isinstance(changed.design.component[-1], CheckValve)
        assert changed.design.component[-1].name == check


@pytest.mark.parametrize(("driven", "by"), [("electric", "engine"), ("engine", "electric"), ("hand", None)])
def test_a_second_pump_is_driven_by_something_else(driven: str, by: str | None, tmp_path: Path) -> None:
    layout = rich(tmp_path).layout
    parts = tuple(
        one.model_copy(update={"driven": driven}) if one.name == "boost" else one for one in layout.design.component
    )
    layout = piped._with_lines(layout, layout.lines)
    layout = Layout(**{**vars(layout), "design": layout.design.model_copy(update={"component": parts})})
    ((words, changed),) = piped.pumps(layout, ["boost", "engine pump"])  # the engine's own has no curve to repeat
    told = {"engine": "by the engine", "electric": "by electric power", None: "by something else than the first"}[by]
    assert words == (f"a second pump like boost, driven {told}, in line behind it",)
    new = changed.design.component[-1]
    assert isinstance(new, Pump)
    assert (new.name, new.driven) == ("second boost", by)
    assert new.curve == next(one.curve for one in parts if isinstance(one, Pump) and one.name == "boost")
    assert len(CURVE) == len(new.curve or ())
    assert added(layout, changed) == {
        ("f4 1", "feed", "boost", "second boost"),
        ("f4", "feed", "second boost", "check"),
    }
    assert not list(piped.pumps(layout, ["engine pump"]))
    assert not list(piped.pumps(layout, []))


def test_a_vent_line_more(tmp_path: Path) -> None:
    layout = rich(tmp_path).layout
    found = list(piped.vents(layout, ["v2"], [("left",)]))
    assert [words for words, _ in found] == [
        ("a vent line that joins left.vent to right.vent",),
        ("a vent line that joins left.vent to tail.vent",),
        ("a second vent line beside v2, its end where what blocks that one cannot block it too",),
    ]
    joined = [changed for _, changed in found]
    assert added(layout, joined[0]) == {("vent more", "vent", "left.vent", "right.vent")}
    assert_allclose(joined[0].lines[-1].points_m, [[0.2, 0.25, 1.2], [0.2, 2.25, 1.2]])
    assert added(layout, joined[2]) == {("vent more", "vent", "vent valve", "v2 end")}
    assert isinstance(joined[2].design.component[-1], Overboard)
    old = next(one for one in layout.lines if one.name == "v2")
    assert_allclose(joined[2].lines[-1].points_m, old.points_m)
    # With its mate's air shut in as well nothing is joined to that; a line with no end in the open has no second beside it.
    both = [words[0] for words, _ in piped.vents(layout, ["v1"], [("left", "right")])]
    assert both == ["a vent line that joins left.vent to tail.vent", "a vent line that joins right.vent to tail.vent"]


def test_a_line_that_is_drawn_from_its_open_end(tmp_path: Path) -> None:
    layout = rich(tmp_path).layout
    old = next(one for one in layout.lines if one.name == "v3")
    turned = piped._line(layout, "v9", [old.end, old.start], old, old.points_m[::-1])
    lines = tuple(turned if one is old else one for one in layout.lines)
    (more,) = piped.vents(piped._with_lines(layout, lines), ["v9"], [])
    assert ("vent more", "vent", "v9 end", "right.vent") in ends(more[1])


def test_names_that_are_free(tmp_path: Path) -> None:
    layout = rich(tmp_path).layout
    assert [piped._free(layout, name) for name in ("new", "boost", "v1", "tail", "v.1")] == [
        "new", "boost 1", "v1 1", "tail 1", "v 1",
    ]  # fmt: skip
    once = next(changed for words, changed in piped.vents(layout, ["v2"], [("left",)]))
    assert piped._free(once, "vent more") == "vent more 1"
