"""How full a tank is poured whose vent leads into another tank: up to the filler's lip, not to the vent's line."""

from __future__ import annotations

from pathlib import Path

import pytest
from designs import layout_of
from plumbing_changes import line, mm

from fuelsys.analysis.tank.filling import filled, room_m3


def test_a_vent_into_another_tank_does_not_stop_the_pouring(tmp_path: Path) -> None:
    vent = {"name": "inner", "position": mm(200, 250, 150), "bore": "8 mm"}
    parts = {"tank.0.vent.1": vent, "line.9": line("inner vent", "vent", "main.inner", "header.vent")}
    found = {}
    for name, changes in (("without", {}), ("with", parts)):
        (folder := tmp_path / name).mkdir()
        layout = layout_of(folder, changes)
        ground = layout.design.normal("ground")
        found[name] = filled(layout, layout.tank("main"), ground), room_m3(layout, layout.tank("main"), ground)
    (plain, usual), (drowned, room) = found["without"], found["with"]
    assert plain is not None
    assert drowned is not None
    assert drowned.volume_m3 == pytest.approx(plain.volume_m3, abs=1e-12)
    assert room == pytest.approx(usual, abs=1e-12)
