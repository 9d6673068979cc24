"""A small good design file as text, to be spoilt, and the lines that are told of a spoilt one."""

from __future__ import annotations

from pathlib import Path

import meshfiles as mf
import numpy as np

from fuelsys.errors import DesignError
from fuelsys.load.designs.door import load_design

GOOD = """\
[aircraft]
name = "two-seat taildragger"
datum = "firewall"
axes = "aft, right, up"
engine = "piston"
feed = "gravity"

[fuel]
kind = "avgas"
density = "0.72 kg/L"
reserve_phase = "cruise"

[flows]
takeoff = "36 L/h"
cruise = "21 L/h"

[[attitude]]
name = "parked"
phase = "ground"
normal = true
pitch = "11 deg"

[[attitude]]
name = "level"
phase = "flight"
normal = true

[[attitude]]
name = "climb"
phase = "flight"
pitch = "9 deg"

[[tank]]
name = "left"
mesh = "left.off"
unit = "mm"
axes = "aft, right, up"
position = ["350 mm", "-560 mm", "900 mm"]

[[tank.outlet]]
name = "outlet"
position = ["280 mm", "100 mm", "0 mm"]
bore = "8 mm"

[[tank.vent]]
name = "forward"
position = ["10 mm", "100 mm", "100 mm"]

[[tank.vent]]
name = "aft"
position = ["290 mm", "100 mm", "100 mm"]

[tank.dipstick]
top = ["150 mm", "100 mm", "100 mm"]
bottom = ["150 mm", "100 mm", "2 mm"]
zero = "bottom"

[[tank.switch]]
name = "low"
mark = ["150 mm", "100 mm", "30 mm"]
target = "20 min"

[[tank]]
name = "right"
mesh = "right.off"
unit = "in"
axes = "aft, right, up"
position = ["350 mm", "560 mm", "900 mm"]
outlet = [{ name = "outlet", position = ["11 in", "3 in", "0 in"], strainer = { mesh = "12 1/in" } }]

[[component]]
name = "filter"
kind = "filter"
position = ["200 mm", "0 mm", "120 mm"]
drain = true

[[line]]
name = "left feed"
kind = "feed"
from = "left.outlet"
to = "filter"
bore = "8 mm"
path = [["400 mm", "-560 mm", "800 mm"]]
"""


def told(folder: Path, text: str | bytes) -> list[str]:
    """Every line that is told of a design, [] where it is good."""
    (folder / "left.off").write_bytes(mf.off(mf.BOX_MM, mf.QUADS))
    # Bodies of 300 x 200 x 100 mm and of 12 x 6 x 4 in.
    (folder / "right.off").write_bytes(mf.off(mf.BOX_MM / np.array([25, 100 / 3, 25]), mf.QUADS))
    (folder / "open.off").write_bytes(mf.off(mf.BOX_MM, mf.QUADS[1:]))
    path = folder / "wing.toml"
    path.write_bytes(text.encode() if isinstance(text, str) else text)
    try:
        load_design(path)
    except DesignError as fault:
        return fault.lines
    return []
