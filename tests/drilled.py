"""Tanks to draw drill sheets of: boxes with fittings at stated places, and those that are hard to draw."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

import numpy as np
import solids

from fuelsys.analysis.tank.drill import drill_list
from fuelsys.load.axes import rotation
from fuelsys.model.built.cavity import Cavity
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.drill import DrillList
from fuelsys.model.stated.design import Tank
from fuelsys.model.stated.fittings import Switch
from fuelsys.report.drill.sheet import Sheet
from fuelsys.report.shown import Shown


@dataclass(frozen=True)
class TankCase:
    """A tank with its list."""

    name: str
    tank: FittedTank
    drill: DrillList


def box_tank(
    size_mm: tuple[float, float, float],
    places_mm: Mapping[str, tuple[float, float, float]],
    *,
    switches: Sequence[Switch] = (),
    studies: Sequence[Any] = (),
    axes: str = "aft, right, up",
    through: Mapping[str, str] | None = None,
    solid: solids.Solid | None = None,
    bore: str = "8 mm",
    name: str = "box",
) -> TankCase:
    """A box whose front, left, lower corner is the origin of body axes, with outlets at places of its mesh, in mm."""
    vertices, faces = solid or solids.box(*(side / 1e3 for side in size_mm))
    cavity = Cavity.of(
        np.asarray(vertices, dtype=np.float64) - np.min(vertices, axis=0), np.asarray(faces, dtype=np.int32)
    )
    outlets = [
        {
            "name": port, "position": [f"{c!r} mm" for c in place], "bore": bore,
            **({"through": through[port]} if through and port in through else {}),
        }
        for port, place in places_mm.items()
    ]  # fmt: skip
    design = Tank.model_validate(
        {"name": name, "mesh": "box.stl", "unit": "mm", "axes": axes, "position": ["0 mm"] * 3, "outlet": outlets}
    )
    design = design.model_copy(update={"switch": tuple(switches)})
    turn = rotation(axes)
    bare = FittedTank(design, cavity, turn, np.zeros(3), {})
    spots = {port.name: cavity.spot(port.name, bare.body_m(port.position_m)) for port in design.outlet}
    spots |= {f"switch {one.name}": cavity.spot(one.name, bare.body_m(one.mark_m)) for one in design.switch}
    tank = FittedTank(design, cavity, turn, np.zeros(3), spots)
    return TankCase(name, tank, drill_list(SimpleNamespace(tank=tank, switches=studies)))  # type: ignore[arg-type]


def sheet_for(case: TankCase, paper: str, shown: Shown | None = None) -> Sheet:
    """Its sheet on paper of a name."""
    return Sheet(case.tank, case.drill, "a hard case", "hard.toml", shown or Shown(), paper)


def hard_cases() -> list[TankCase]:
    """30 fittings all over, 30 in one wall, a wide flat tank, a thin tall one, long names and clusters, a switch row."""
    generator = np.random.default_rng(7)
    return [
        box_tank((600, 450, 250), _strewn(generator, (600, 450, 250), 29), name="30 fittings"),
        box_tank((600, 450, 250), _on_top(generator, (600, 450, 250), 29), name="30 in one wall"),
        box_tank(
            (500, 2400, 60), _strewn(generator, (500, 2400, 60), 11), name="wide and flat", switches=_switches(60)
        ),
        box_tank((80, 90, 1500), _strewn(generator, (80, 90, 1500), 11), name="thin and tall", switches=_switches(90)),
        box_tank((300, 300, 300), _cluster(), name="clusters and long names", switches=_switches(300)),
    ]


def _strewn(
    generator: np.random.Generator, size: tuple[float, float, float], count: int
) -> dict[str, tuple[float, float, float]]:
    """The corner, then fittings on all six walls and some free."""
    found = {"corner": (0.0, 0.0, 0.0)}
    for k in range(count):
        place = [round(float(generator.uniform(0.0, side)), 1) for side in size]
        if k % 7 < 6:
            place[k % 3] = (0.0, float(size[k % 3]))[k % 2]
        found[f"fitting {k}"] = (place[0], place[1], place[2])
    return found


def _on_top(
    generator: np.random.Generator, size: tuple[float, float, float], count: int
) -> dict[str, tuple[float, float, float]]:
    found = {"corner": (0.0, 0.0, 0.0)}
    for k in range(count):
        x, y = (round(float(generator.uniform(0.0, side)), 1) for side in size[:2])
        found[f"fitting {k}"] = (x, y, float(size[2]))
    return found


def _cluster() -> dict[str, tuple[float, float, float]]:
    names = ("return of the left engine's injectors by way of the header and the selector", "a" * 60, "vent", "drain")
    near = {f"{name} {k}": (150.0 + 2.0 * k, 150.0 + 1.5 * n, 300.0) for k in range(3) for n, name in enumerate(names)}
    return {"corner": (0.0, 0.0, 0.0), **near}


def switch_at(name: str, mark_mm: tuple[float, float, float], **fields: str) -> Switch:
    """A switch with its mark at a place of the mesh, in mm, and other fields as a design file has them."""
    return Switch.model_validate({"name": name, "mark": [f"{c!r} mm" for c in mark_mm], **fields})


def _switches(depth: float) -> list[Switch]:
    return [
        switch_at(f"{10 * k} min", (20.0 * k, 20.0 * k, depth * k / 4.0), differential="3 mm", clearance="10 mm")
        for k in (1, 2, 3)
    ]
