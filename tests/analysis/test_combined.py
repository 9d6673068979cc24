"""The worst of attitudes that come together: against a fine grid, and never less than the stated ones."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import numpy as np
import pytest
from designs import layout_of

from fuelsys.analysis.tank.combined import worst_combined
from fuelsys.analysis.tank.unusable import left_at, outlets
from fuelsys.model.stated.attitude import Attitude


@pytest.mark.parametrize("mesh", ["main.off", "pocket.off"])
@pytest.mark.parametrize("outlet", [(200, 250, -45), (150, 150, 0), (60, 60, 0)])
def test_none_of_a_fine_grid_is_worse(tmp_path: Path, mesh: str, outlet: tuple[float, float, float]) -> None:
    at = [f"{c} mm" for c in outlet]
    layout = layout_of(tmp_path, {"tank.0.mesh": mesh, "tank.0.outlet.0.position": at})
    tank, envelope = layout.tank("main"), layout.design.envelope
    found = worst_combined(tank, envelope)
    assert found is not None
    openings = outlets(tank)
    grid = product(np.arange(-10.0, 13.01, 1.0), np.arange(-6.0, 6.01, 1.0))
    fine = max(left_at(tank.cavity, Attitude.of_degrees(p, r), openings).unusable_m3 for p, r in grid)
    assert found.unusable_m3 >= fine * (1.0 - 1e-3)
    assert found.unusable_m3 >= max(
        left_at(tank.cavity, a, openings).unusable_m3 for a in envelope if a.phase == "flight"
    )
    assert -10.001 <= np.degrees(found.attitude.pitch_rad) <= 13.001
    assert -6.001 <= np.degrees(found.attitude.roll_rad) <= 6.001
