"""Tanks at one level: boxes whose floors, roofs, outlets and vents stand at round heights, every figure by hand."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from flights import LITRE, box, built, engine, line

from fuelsys.analysis.flights.levelled import Levelled
from fuelsys.analysis.lines.solving import Solving

# Each 400 x 500 mm: 2 L a centimetre. The wing stands from 1000 mm up, its outlet 5 mm over its floor; the header's 10 mm.
SIZE = (400, 500, 200)


def pair(folder: Path, header_mm: float = 1000.0, spill_mm: dict[str, float] | None = None) -> Levelled:
    """A wing that feeds into a header by a wide line between their floors, the header the engine; a vent may lead out low."""
    ports = {"wing": {"outlet out": (200, 250, 5)}, "header": {"outlet out": (200, 250, 10), "inlet in": (200, 0, 0)}}
    tanks = [box(n, (0, y, z), SIZE, ports[n]) for n, y, z in (("wing", 0, 1000.0), ("header", 1000, header_mm))]
    lines = [line("w", "wing.out", "header.in", bore=30.0), line("h", "header.out", "engine", bore=30.0)]
    parts: list[Any] = [engine((200, 1250, 0))]
    for name, high in (spill_mm or {}).items():
        tank = next(one for one in tanks if one["name"] == name)
        tank["vent"].append({"name": "low", "position": ["10 mm", "250 mm", f"{high} mm"], "bore": "8 mm"})
        parts.append({"name": f"{name} mast", "kind": "overboard", "position": ["0 mm", "0 mm", "500 mm"]})
        lines.append(line(f"{name} v", f"{name}.low", f"{name} mast", "vent"))
    layout = built(folder, tanks, parts, lines, "1 L/h", "gravity")
    return Levelled(Solving.of(layout), layout.tanks, layout.design.normal("flight"))


def litres(found: dict[str, float]) -> dict[str, float]:
    return {name: round(value / LITRE, 6) for name, value in found.items()}


def test_what_a_tank_holds_under_a_level(tmp_path: Path) -> None:
    found = pair(tmp_path, 900.0)
    for level_m, wing, header in (
        (0.9, 0, 0),
        (0.95, 0, 10),
        (1.0, 0, 20),
        (1.05, 10, 30),
        (1.1, 20, 40),
        (1.2, 40, 40),
        (1.3, 40, 40),
    ):
        assert (found.held_m3("wing", level_m), found.held_m3("header", level_m)) == pytest.approx(
            (wing * LITRE, header * LITRE), abs=1e-12
        )
    for held, level_m in ((0.0, 1.0), (10.0, 1.05), (40.0, 1.2), (41.0, 1.2), (-1.0, 1.0)):
        assert found.level_of("wing", held * LITRE) == pytest.approx(level_m, abs=1e-9)
    assert found.common_m(20 * LITRE) == pytest.approx(1.0)
    assert found.common_m(40 * LITRE) == pytest.approx(1.05)


def test_what_stands_at_one_level(tmp_path: Path) -> None:
    found = pair(tmp_path, 900.0)
    most = {"wing": 36 * LITRE, "header": 38 * LITRE}
    # 50 mm in the wing are 150 in the header; a header that is all but full gives the rest to the wing.
    assert litres(found.together(40 * LITRE, most)) == {"wing": 10.0, "header": 30.0}
    assert litres(found.together(60 * LITRE, most)) == pytest.approx({"wing": 22.0, "header": 38.0}, abs=2e-3)
    assert litres(found.together(74 * LITRE, most)) == pytest.approx({"wing": 36.0, "header": 38.0}, abs=2e-3)
    assert litres(found.beside("wing", 10 * LITRE, most)) == {"wing": 10.0, "header": 30.0}
    assert litres(found.beside("wing", 30 * LITRE, most)) == {"wing": 30.0, "header": 38.0}
    assert litres(found.beside("header", 15 * LITRE, most)) == {"wing": 0.0, "header": 15.0}


def test_the_least_that_each_keeps(tmp_path: Path) -> None:
    found = pair(tmp_path, 900.0)
    # The wing's 20 L run into the header's 10 L until both stand at 1025 mm: 5 and 25; the header keeps its own.
    assert litres(found.kept_m3({"wing": 20 * LITRE, "header": 10 * LITRE})) == {"wing": 5.0, "header": 10.0}
    assert litres(found.kept_m3({"wing": 10 * LITRE, "header": 10 * LITRE})) == {"wing": 0.0, "header": 10.0}
    assert litres(found.kept_m3({"wing": 2 * LITRE, "header": 40 * LITRE})) == {"wing": 2.0, "header": 31.0}
    # A vent that lets fuel out at 1030 mm lets all of them down to it.
    low = pair(tmp_path / "low", 900.0, {"wing": 30.0})
    assert litres(low.kept_m3({"wing": 20 * LITRE, "header": 38 * LITRE})) == {"wing": 6.0, "header": 26.0}


def test_the_least_that_stays_aboard(tmp_path: Path) -> None:
    # Where the wing runs over at 1030 mm it is full to there, or is pressed on from there: 6 L at least; the header at 950 mm has 10 L.
    held = {"wing": 20 * LITRE, "header": 30 * LITRE}
    assert pair(tmp_path / "a", 900.0).stays_m3(held) == pytest.approx(50 * LITRE)
    assert pair(tmp_path / "b", 900.0, {"wing": 30.0}).stays_m3(held) == pytest.approx(6 * LITRE)
    assert pair(tmp_path / "c", 900.0, {"header": 50.0}).stays_m3(held) == pytest.approx(10 * LITRE)
    assert pair(tmp_path / "d", 900.0, {"wing": 30.0}).stays_m3(
        {"wing": 1 * LITRE, "header": 2 * LITRE}
    ) == pytest.approx(3 * LITRE)


@pytest.mark.parametrize(("header_mm", "none"), [(804.0, True), (804.99, True), (806.0, False), (1000.0, False)])
def test_nothing_runs_back_into_a_tank_whose_outlets_stand_above_the_others_roof(
    header_mm: float, none: bool, tmp_path: Path
) -> None:
    # The wing's outlet stands at 1005 mm; the header's roof is 200 mm over its floor.
    found = pair(tmp_path, header_mm)
    assert found.takes_none("wing", "header") == none
    assert not found.takes_none("header", "wing")


def test_which_tank_runs_into_which(tmp_path: Path) -> None:
    found = pair(tmp_path)
    assert found.runs_into("wing", "header")
    assert not found.runs_into("header", "wing")
    assert not found.runs_into("wing", "wing")


@pytest.mark.parametrize(
    ("header_mm", "stands_mm"), [(1000.0, 10.0), (997.0, 7.0), (994.0, 5.0), (900.0, 5.0), (1050.0, 60.0)]
)
def test_what_all_hold_when_the_engine_first_gets_air(header_mm: float, stands_mm: float, tmp_path: Path) -> None:
    # The header ends 10 mm over its own floor, and the wing's fuel stands as high as that, where its outlet is not higher.
    own = {"wing": 1.0 * LITRE, "header": 2.0 * LITRE}
    assert pair(tmp_path, header_mm).left_m3(own) == pytest.approx((0.2 * stands_mm + 2.0) * LITRE, abs=1e-3 * LITRE)
    # A tank that keeps more for itself, behind a wall say, is counted with that.
    assert pair(tmp_path, header_mm).left_m3(own | {"wing": 20.0 * LITRE}) == pytest.approx(
        22.0 * LITRE, abs=1e-3 * LITRE
    )
