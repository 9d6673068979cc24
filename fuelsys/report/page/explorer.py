"""The attitude explorer of the page: what its script computes with, and the answers that it must find before it shows any.

The script does the kernels' own arithmetic in the browser (explorer_kernel.js), on the meshes that are packed here. It takes
itself away where one answer of the page comes out otherwise there.

The page's one script. `report/page/explorer.py` packs each tank's mesh (vertices as eight-byte floats, faces; deflated, base64), outlets,
marks and answers; `explorer_kernel.js` is the kernels said again, `explorer.js` draws. Four things keep it honest:

1. **The same arithmetic.** Signed plan areas, mean covers, lowest neighbours, rays from hanging tips, saddles in the same order,
   draining, marks, lines that hold the surface up. A change to a kernel is a change to both; `tests/report/test_explorer.py`
   compares some
   2,400 random states of the example's tanks and of awkward bodies to 1e-9 of the tank, in node.
2. **It examines itself.** When the page opens it computes residual, trapped, trip, latest trip and reset at every stated attitude anew
   and takes itself away, with a sentence, where one is off by more than 1e-9 of the tank.
3. **One state, named.** A tank drained from full at one attitude: the level over each seed is the larger of the falling surface's
   and its own end's. Less than what stays behind cannot come about so, and is said. Outlets with pools of their own are shown at one
   level, and said not to be determined; a switch between the two bounds is "wet or dry".
4. **No minutes where nothing flows.** They count above the unusable fuel, or above what stays behind here where that is more.

Texts of the design reach the page as text (`textContent`, canvas), its data as JSON without `<`, `>` and `&`. What is printed has
none of it: its style is for screens only. Above 70,000 triangles it is left out unless `--explorer` asks for it. Fuel in a cut is
filled as signed strips between each directed piece of the cut and the level, together by the non-zero rule: no loops are chained,
and holes come out right. Never fill the clipped triangles one by one as one path: ten times slower. An acceleration is the pitch
and roll that turn the surface alike (`map_chart.turned_like`); the buttons hand over the exact way up.

Measured (`tests/benchmarks/explorer_frames.py`, Chromium without a graphics card, two cores that others used too). The
example's page is 1.197 MB, 1.007 MB without it. A frame (all that the script does, median of 60):

(The table: tests/benchmarks/MEASURED.md.)

Not tried: other browsers, a real telephone, a screen reader.
"""

from __future__ import annotations

import base64
import json
import zlib
from importlib import resources
from math import degrees
from typing import Any

import numpy as np
from jinja2 import Environment, StrictUndefined
from markupsafe import Markup

from fuelsys.analysis.tank.draining import Opening
from fuelsys.analysis.tank.outflow import outflow
from fuelsys.analysis.tank.unusable import outlets
from fuelsys.arrays import Floats
from fuelsys.model.built.cavity import Cavity, Spot
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.built.way import Climb
from fuelsys.model.found.study import Study, TankStudy
from fuelsys.model.stated.attitude import Attitude
from fuelsys.report.charts.map import turned_like
from fuelsys.report.drawing.ink import minus
from fuelsys.report.drawing.tank_pictures import marks, stick
from fuelsys.report.shown import Shown

# More triangles in all than these make the page heavy and a telephone slow; they are left out unless they are asked for.
MOST_TRIANGLES = 70_000
_SHORT_INDEX = 1 << 16
_ESCAPED = {"<": "\\u003c", ">": "\\u003e", "&": "\\u0026", "\u2028": "\\u2028", "\u2029": "\\u2029"}


def section(study: Study, shown: Shown, asked: bool | None = None) -> Markup:
    """The explorer's part of the page, or why it is left out; nothing where it is not wanted or no tank has an outlet.

    asked is None where nobody said: then the number of triangles decides.
    """
    tanks = [tank for tank in study.tanks if tank.capacity.unusable is not None and _done_there(tank.tank)]
    if not tanks or asked is False:
        return Markup("")
    triangles = sum(len(tank.tank.cavity.faces) for tank in tanks)
    left_out = asked is None and triangles > MOST_TRIANGLES
    environment = Environment(autoescape=True, undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True)
    text = environment.from_string(resource("explorer.html.jinja")).render(
        left_out=left_out,
        triangles=f"{triangles:,}".replace(",", "\u202f"),
        most=f"{MOST_TRIANGLES:,}".replace(",", "\u202f"),
        data="" if left_out else Markup(in_script(data(study.layout, tanks, shown))),
        scripts=[] if left_out else [Markup(resource(name)) for name in ("explorer_kernel.js", "explorer.js")],
    )
    return Markup(text)


def _done_there(tank: FittedTank) -> bool:
    """Where one outlet ends what another gives, here or in a tank that this one gives through, the drain is the worst of several: not
    done in the browser."""
    return not tank.ends and all(_done_there(other) for by in tank.gives.values() for _, other in by)


def style() -> str:
    """The explorer's part of the style sheet."""
    return resource("explorer.css")


def in_script(value: Any) -> str:
    r"""JSON that can stand within an element of a page: no text in it can end that element or begin another.

    >>> print(in_script({"name": "</script>"}).replace(chr(92), "!"))
    {"name":"!u003c/script!u003e"}
    """
    text = json.dumps(value, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return "".join(_ESCAPED.get(letter, letter) for letter in text)


def data(layout: Layout, tanks: list[TankStudy], shown: Shown) -> dict[str, Any]:
    """All that the script needs: SI, lists instead of arrays; None for what never happens."""
    design = layout.design
    return {
        "units": {kind: shown.scale(kind) for kind in ("volume", "length")},
        "reserve": {"phase": design.fuel.reserve_phase, "flow": shown.flow_text(design.reserve_flow_m3_s)},
        "attitudes": [_attitude(attitude) for attitude in design.envelope],
        "tanks": [_tank(layout, tank) for tank in tanks],
    }


def _attitude(attitude: Attitude) -> dict[str, Any]:
    pitch, roll = turned_like(attitude)
    return {
        "name": attitude.name,
        "heading": minus(attitude.heading),
        "flight": attitude.phase == "flight",
        "normal": attitude.normal,
        "up": attitude.up.tolist(),
        "pitch": degrees(pitch),
        "roll": degrees(roll),
    }


def _tank(layout: Layout, study: TankStudy) -> dict[str, Any]:
    tank, left = study.tank, study.capacity.unusable
    assert left is not None
    leaves = outflow(layout, tank)
    return {
        "name": tank.name,
        "gross": tank.cavity.gross_m3,
        "fillable": None if study.capacity.filled is None else study.capacity.filled.volume_m3,
        "unusable": left.volume_m3,
        "centre": tank.cavity.centre_m.tolist(),
        "outflow": {
            "share": leaves.share_m3_s, "alone": leaves.alone_m3_s, "returned": leaves.returned_m3_s, "held": leaves.held_m3,
        },
        "outlets": [named(spot(one.spot), one.spot.name) | opening(one) for one in outlets(tank)],
        "switches": [
            named(spot(tank.spot(f"switch {switch.name}")), switch.name)
            | {"tolerance": switch.tolerance_m or 0.0, "differential": switch.differential_m}
            for switch in tank.design.switch
        ],
        "stick": _stick(tank),
        "marks": [{"name": mark.name, "kind": mark.kind, "point": mark.point_m.tolist()} for mark in marks(tank)],
        "answers": [
            {
                "residual": at.residual_m3,
                "trapped": at.trapped_m3,
                "switches": [
                    [trip.trip_m3, trip.latest_m3, trip.reset_m3] for trip in (one.at[index] for one in study.switches)
                ],
            }
            for index, at in enumerate(left.at)
        ],
        "mesh": mesh(tank.cavity),
    }  # fmt: skip


def named(fields: dict[str, Any], name: str) -> dict[str, Any]:
    """Fields with a name."""
    return {"name": name, **fields}


def spot(of: Spot) -> dict[str, Any]:
    """A spot about the cavity's centre, and its face."""
    return {"point": of.point_m.tolist(), "face": of.face}


def opening(of: Opening) -> dict[str, Any]:
    """What holds the surface up over an outlet."""
    heights = [height if np.isfinite(height) else None for height in of.heights_m]
    into = [{"tank": one.name, "end": spot(one.end), "off": one.off_m.tolist()} for one in of.into]
    return {"cover": of.cover_m, "ways": [_way(way) for way in of.ways], "heights": heights, "into": into}


def _way(climb: Climb) -> dict[str, Any]:
    """A way's pieces of points, its steps between numbered ends, and the last of all its points."""
    ends = {end: number for number, end in enumerate(climb.way.order)}
    pieces: list[Floats] = np.split(climb.points_m, climb.firsts[1:])
    return {
        "pieces": [piece.tolist() for piece in pieces],
        "steps": [[ends[step.start], ends[step.end]] for step in climb.way.steps],
        "start": ends[climb.way.start],
        "end": ends[climb.way.end],
        "last": climb.points_m[-1].tolist(),
    }


def _stick(tank: FittedTank) -> dict[str, Any] | None:
    ends = stick(tank)
    if ends is None or tank.design.dipstick is None:
        return None
    bottom = tank.spot("dipstick bottom")
    return {
        "bottom": ends[0].tolist(),
        "top": ends[1].tolist(),
        "zero": tank.design.dipstick.zero,
        "spot": spot(bottom),
    }


def mesh(cavity: Cavity) -> dict[str, Any]:
    """A surface, packed: vertices as eight-byte floats, their bytes sorted by place, then faces; deflated."""
    n, m = len(cavity.vertices_m), len(cavity.faces)
    kind = "<u2" if n <= _SHORT_INDEX else "<u4"
    places = np.ascontiguousarray(cavity.vertices_m, dtype="<f8").view(np.uint8).reshape(-1, 8).T.tobytes()
    packed = zlib.compress(places + cavity.faces.astype(kind).tobytes(), 9)
    return {
        "vertices": n,
        "faces": m,
        "share": cavity.share,
        "behind": cavity.behind,
        "packed": base64.b64encode(packed).decode("ascii"),
    }


def resource(name: str) -> str:
    """A file of the page: template, script or style sheet."""
    return resources.files("fuelsys.report.page").joinpath(name).read_text(encoding="utf-8")
