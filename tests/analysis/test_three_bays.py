"""A tank of three bays with walls of 50 and 100 mm between them, 200 x 500 mm each: where its pools part, by hand."""

from __future__ import annotations

from pathlib import Path

import pytest
import solids
from flights import LITRE, box, built, engine, line

from fuelsys import review
from fuelsys.analysis.tank.capacity import capacity
from fuelsys.analysis.tank.standing import Standing
from fuelsys.model.built.layout import Layout


def bays(folder: Path, *outlets_mm: float) -> Layout:
    """Bays from 0 to 200, 220 to 420 and 440 to 640 mm, 150 mm high, with outlets on some floors."""
    side = [
        (0, 0),
        (200, 0),
        (200, 50),
        (220, 50),
        (220, 0),
        (420, 0),
        (420, 100),
        (440, 100),
        (440, 0),
        (640, 0),
        (640, 150),
        (0, 150),
    ]
    solid = solids.prism([(float(z), float(x)) for x, z in side[::-1]], 500.0, "y")
    ports = {f"outlet o{x:.0f}": (x, 250.0, 0.0) for x in outlets_mm}
    tank = box("main", (0, 0, 1000), (640, 500, 150), ports, solid=solid)
    lines = [line(f"l{x:.0f}", f"main.o{x:.0f}", "tee", bore=20.0) for x in outlets_mm] + [
        line("e", "tee", "engine", bore=20.0)
    ]
    parts = [engine((100, 250, 0)), {"name": "tee", "kind": "tee", "position": ["300 mm", "250 mm", "500 mm"]}]
    return built(folder, [tank], parts, lines, "1 L/h", "gravity")


@pytest.mark.parametrize(
    ("outlets", "wanted"),
    [
        # At 50 mm 5 and 5 L, and 10 behind the wall of 100 mm; at 100 mm 20.5 in front of it and 10 behind it.
        ((100.0,), [(20.0, 5.0, False), (30.5, 10.0, False)]),
        # With an outlet behind the higher wall too 5 L stand there at 50 mm; at 100 mm its 10 L are the less of both pools, for what is in
        # front has 20.5 less the 5 that stay behind.
        ((100.0, 540.0), [(15.0, 5.0, False), (30.5, 10.0, True)]),
        ((300.0,), [(20.0, 5.0, False), (30.5, 10.0, False)]),
        ((540.0,), [(30.5, 20.5, False)]),
    ],
)
def test_where_pools_part(outlets: tuple[float, ...], wanted: list[tuple[float, float, bool]], tmp_path: Path) -> None:
    layout = bays(tmp_path, *outlets)
    found = list(Standing.of(layout, layout.tank("main"), layout.design.normal("flight")).partings())
    told = [(one.below_m3 / LITRE, one.pool_m3 / LITRE, one.feed) for one in found]
    assert [one[2] for one in told] == [one[2] for one in wanted]
    for one, by_hand in zip(told, wanted, strict=True):
        assert one[:2] == pytest.approx(by_hand[:2], abs=1e-6)


def test_the_centre_of_what_can_be_used_of_a_small_tank(tmp_path: Path) -> None:
    # 200 x 200 x 100 mm, the outlet 20 mm over its floor: 0.8 L stay, their centre at 10 mm; what is above has its centre in its middle.
    tank = box("main", (0, 0, 1000), (200, 200, 100), {"outlet out": (100, 100, 20)})
    layout = built(tmp_path, [tank], [engine((0, 0, 0))], [line("a", "main.out", "engine")], "1 L/h", "gravity")
    found = capacity(layout, layout.tank("main"))
    assert found.filled is not None
    top_m = 1.0 + found.filled.volume_m3 / 0.04
    assert found.unusable is not None
    assert found.unusable.volume_m3 == pytest.approx(0.8 * LITRE)
    assert found.usable_centre_m == pytest.approx([0.1, 0.1, (1.02 + top_m) / 2.0])
    assert review.study(layout).tank("main").capacity.usable_m3 == pytest.approx(0.04 * (top_m - 1.02))
