"""A flight with one thing wrong, the flight's fields at the door, and the command as a person meets it."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any

import designs
import pytest
from click.testing import CliRunner
from json_keys import broken, form
from numpy.testing import assert_allclose

from fuelsys import review
from fuelsys.analysis.flights import piped
from fuelsys.analysis.flights.cases import together
from fuelsys.analysis.flights.events import Steps
from fuelsys.analysis.flights.failures import failures
from fuelsys.analysis.flights.fly import fly
from fuelsys.analysis.flights.setting import World
from fuelsys.analysis.lines.demand import with_demand
from fuelsys.errors import DesignError, QuestionError
from fuelsys.model.found.fly import Failing
from fuelsys_cli.fly import command, severity

MESHES = Path(__file__).parents[2] / "meshes"
HOUR = 3600.0


def wrong(folder: Path, changes: dict[str, Any] | None = None) -> dict[str, Failing]:
    world = World.of(with_demand(designs.layout_of(folder, changes or {})))
    return {one.words: one for one in failures(world, fly(world))}


def test_a_flow_that_swings_too_fast_is_not_flown_for_ever(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("fuelsys.analysis.flights.fly._MOST_STEPS", 3)
    with pytest.raises(QuestionError, match=r"swings too fast to be followed from \d+\.\d min on") as caught:
        fly(World.of(with_demand(designs.layout_of(tmp_path))), pace=Steps(1e6, 1e-10))
    assert "by hand" in str(caught.value)


def test_each_failure_of_the_bench(tmp_path: Path) -> None:
    found = wrong(tmp_path)
    for name in ("shut-off shut", "header does not feed"):
        assert found[name].flown is not None
        assert found[name].flown.end_s == 0.0
        assert found[name].before_s is None
        assert found[name].marked
    # The header alone: 8.632 L usable, 18 L/h burnt and 20 returned to the main tank; the lamp at 6.48 L.
    alone = found["main does not feed"]
    assert alone.flown is not None
    assert_allclose(alone.flown.end_s, 8.632 / 38.0 * HOUR, rtol=1e-5)
    assert_allclose(alone.before_s, (6.48 - 0.28) / 38.0 * HOUR, rtol=1e-5)
    assert alone.marked
    # A lamp that tells nothing leaves the next one, at 3.504 L.
    assert_allclose(
        found['header lamp "20 min" dark, or lit throughout'].before_s, (3.504 - 0.28) / 18.0 * HOUR, rtol=1e-5
    )
    usual = found["filter half blocked"].flown
    less = found["3 % less fuel than dipped"].flown
    assert usual is not None
    assert less is not None
    assert_allclose(usual.end_s - less.end_s, 0.03 * usual.held_m3[0].sum() / 18e-3 * HOUR, rtol=1e-5)
    order = [round((one.least_s or 0.0) / 6.0) for one in found.values() if one.flown and one.flown.stopped]
    assert order == sorted(order)
    asked = [severity(found[name]) for name in ("shut-off shut", "main does not feed", "filter half blocked")]
    assert asked == [1, 3, 0]
    assert severity(Failing("x", None, "a curve")) == 3


def test_what_cannot_be_told_says_what_it_needs(tmp_path: Path) -> None:
    found = wrong(tmp_path, {"component.3.curve": designs.REMOVE, "component.1.drop": designs.REMOVE})
    assert (found["boost pump stands still"].flown, found["boost pump stands still"].needs) == (
        None,
        "the curve of boost pump",
    )
    assert found["filter half blocked"].needs == "drop and drop_at of filter"
    assert list(found.values())[-1].flown is None


SEGMENT = {"name": "f", "attitude": "cruise", "flow": "cruise"}


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"attitude": "crusie"}, 'flight f.attitude: there is no attitude "crusie". Is "cruise" meant?'),
        ({"flow": "idle"}, 'flight f.flow: there is no flow "idle".'),
        ({"shut": ["filter"]}, 'flight f.shut: there is no valve "filter". Name one of: "shut-off".'),
        ({"pumps": ["hand pump"]}, 'there is no pump "hand pump".'),
        ({"loaded": {"left": "3 L"}}, 'flight f.loaded: there is no tank "left".'),
        ({"loaded": {"main": "3"}}, "without a unit"),
        ({"selectors": {"tap": "main"}}, 'there is no selector "tap". Name one of: none.'),
    ],
)
def test_a_flights_fields_are_checked_at_the_door(changes: dict[str, Any], told: str, tmp_path: Path) -> None:
    with pytest.raises(DesignError) as caught:
        designs.layout_of(tmp_path, {"flight": [{**SEGMENT, **changes}]})
    (line,) = caught.value.lines
    assert told in line


@pytest.fixture
def own(tmp_path: Path) -> Path:
    for path in MESHES.iterdir():
        if path.suffix in (".toml", ".stl"):
            shutil.copy(path, tmp_path / path.name)
    return tmp_path / "taildragger.toml"


def test_the_command_and_its_picture(own: Path) -> None:
    picture = own.with_name("flight.svg")
    done = CliRunner().invoke(command, [str(own), "--form", "json", "--picture", str(picture)], catch_exceptions=False)
    events, lamps, left = json.loads(done.stdout)["tables"]
    assert [row["lamp"] for row in lamps["rows"]] == ["20 min", "10 min", "5 min"]
    assert left["rows"][-1]["left_m3"] == pytest.approx(sum(row["left_m3"] for row in left["rows"][:-1]))
    assert events["rows"][-1]["what_happens"].startswith("the engine stops")
    text = picture.read_text(encoding="utf-8")
    for row in lamps["rows"]:
        assert f'lamp "{row["lamp"]}"' in text.replace("&quot;", '"')
    assert re.search(r"until the engine stops at 275\.\d min", text)


def test_two_things_wrong_by_one_cause(own: Path, tmp_path: Path) -> None:
    # Of the example: both wings' vents iced, the header breathing by the left one's;
    # its pump and all lamps; a strainer in each wing and a filter are three pairs.
    world = World.of(review.read(own))
    told = {case.upset.words: case.upset for case in together(world)}
    iced = told["ice: left vent and right vent blocked"].blocked
    assert world.airless(frozenset(), {}, iced) == (("left", "header"), ("right",))
    dark = told["no electric power: pump stands still, no lamp lights"]
    assert {tank for tank, _ in dark.stuck} == {"header"}
    assert len(dark.stuck) == 3
    assert sum(words.startswith("dirt: ") for words in told) == 3
    assert len(told) == 5


def test_without_electric_power_nothing_warns_and_the_exit_code_says_so(tmp_path: Path) -> None:
    # The bench's engine pump draws through the boost pump that stands still; the fuel ends, and no lamp tells it.
    folder = tmp_path / "bench"
    folder.mkdir()
    designs.layout_of(folder)
    done = CliRunner().invoke(
        command, [str(folder / "bench.toml"), "--form", "json", "--failures"], catch_exceptions=False
    )
    assert done.exit_code == 1
    single, both, changes = json.loads(done.stdout)["tables"]
    assert broken(form((single, both, changes))) == {}
    row = next(row for row in both["rows"] if row["wrong"].startswith("no electric power: boost pump"))
    assert row["mark"] == "NO WARNING"
    told = next(one for one in changes["rows"] if one["wrong"] == row["wrong"])
    assert told["cheapest_change_that_catches_it"] == "a battery of its own for the lamps"
    # Each that is marked has its change, or what was flown for one; a change's minutes are enough.
    marked = [one["wrong"] for one in (*single["rows"], *both["rows"]) if one["mark"]]
    assert [one["wrong"] for one in changes["rows"]] == marked
    assert all(one["then_s"] is None or one["then_s"] >= 600.0 for one in changes["rows"])


def test_parts_of_a_flight_follow_one_another(own: Path) -> None:
    parts = '\n[[flight]]\nname = "up"\nattitude = "climb"\nflow = "takeoff"\nduration = "10 min"\n'
    parts += '\n[[flight]]\nname = "on"\nattitude = "cruise"\nflow = "cruise"\nduration = "1 h"\n'
    own.write_text(own.read_text(encoding="utf-8") + parts, encoding="utf-8")
    done = CliRunner().invoke(command, [str(own), "--form", "json"], catch_exceptions=False)
    events = json.loads(done.stdout)["tables"][0]["rows"]
    assert [row["time_s"] for row in events if row["what_happens"].startswith("begins")] == [0.0, 600.0]
    burnt = 36e-3 / 6.0 + 21e-3
    assert_allclose(events[0]["in_all_m3"] - events[-1]["in_all_m3"], burnt, rtol=1e-6)
    assert events[-1]["what_happens"] == "the flight ends"


def test_what_is_missing_is_one_line(own: Path) -> None:
    text = own.read_text(encoding="utf-8").replace('return_flow = "60 L/h"\n', "")
    own.write_text(text, encoding="utf-8")
    with pytest.raises(Exception, match="it needs the engine's return_flow") as caught:
        CliRunner().invoke(command, [str(own)], catch_exceptions=False)
    assert "\n" not in str(caught.value)


def test_a_second_vent_line_beside_one_with_a_dot_in_its_name(tmp_path: Path) -> None:
    line = {
        "name": "main.vent to mast",
        "kind": "vent",
        "from": "main.vent",
        "to": "overboard",
        "bore": "8 mm",
        "path": [],
    }
    layout = designs.layout_of(tmp_path, {"line.0": line})
    (name,) = (one.name for one in layout.lines if one.kind == "vent" and layout.network.overboard(one.end))
    assert "." in name
    more = [changed for words, changed in piped.vents(layout, [name], []) if "second vent line" in str(words[0])]
    assert [len(one.network.ways("vent")) for one in more] == [len(layout.network.ways("vent")) + 1]
