"""Tanks whose outlets run by interconnect lines into the engine's tee: flown and counted as by feed lines, by closed forms."""

from __future__ import annotations

from pathlib import Path

import pytest
from flights import LITRE, box, built, engine, line, part
from numpy.testing import assert_allclose

from fuelsys import review
from fuelsys.analysis.flights.fly import fly
from fuelsys.analysis.flights.setting import World
from fuelsys.model.built.layout import Layout


def laid_out(folder: Path, below: float, kind: str, *, turned: bool = False) -> Layout:
    """Two boxes of 0.2 m2, 300 mm high, over a tee; the engine's line rises 50 mm over A's floor; B is so far below."""
    tanks = [
        box("A", (0, 0, 0), (500, 400, 300), {"outlet cross": (250, 400, 0)}),
        box("B", (0, 1000, -below), (500, 400, 300), {"outlet cross": (250, 0, 0)}),
    ]
    places = [engine((250, 600, -900)), part("tee", "tee", (250, 700, -400))]
    ends = [("tee", "A.cross"), ("tee", "B.cross")] if turned else [("A.cross", "tee"), ("B.cross", "tee")]
    lines = [line(f"join {n}", start, end, kind, 20.0) for n, (start, end) in enumerate(ends)]
    lines.append(line("on", "tee", "engine", "feed", 20.0, path=[(250, 650, 50.0)]))
    return built(folder, tanks, places, lines, "30 L/h", "gravity")


@pytest.mark.parametrize(("below", "second"), [(0.0, 10.0), (300.0, 60.0)])
def test_each_keeps_what_stands_below_the_hump_together_too(tmp_path: Path, below: float, second: float) -> None:
    """By gravity A keeps 50 mm of 0.2 m2; B as much beside it, and all its 60 L where the hump stands over its roof."""
    layout = laid_out(tmp_path, below, "interconnect")
    study = review.study(layout)
    (group,) = study.exchange.together
    assert [one.capacity.unusable and one.capacity.unusable.volume_m3 for one in study.tanks] == pytest.approx(
        [10.0 * LITRE, second * LITRE], rel=1e-9
    )
    assert_allclose(group.unusable_m3, (10.0 + second) * LITRE, rtol=1e-9)
    said = "Called interconnects, counted as feed lines since they lead from an outlet to the engine's feed: join 0, join 1."
    assert said in group.notes
    flown = fly(World.of(layout))
    assert flown.stopped
    assert_allclose(flown.held_m3[-1], [10.0 * LITRE, second * LITRE], atol=1e-6)


def test_it_is_the_same_flight_as_by_feed_lines_drawn_either_way(tmp_path: Path) -> None:
    named = fly(World.of(laid_out(tmp_path / "feed", 300.0, "feed")))
    for turned in (False, True):
        other = fly(World.of(laid_out(tmp_path / str(turned), 300.0, "interconnect", turned=turned)))
        assert_allclose(other.end_s, named.end_s, rtol=1e-12)
        assert_allclose(other.held_m3[-1], named.held_m3[-1], atol=1e-12)
