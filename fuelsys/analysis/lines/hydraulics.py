"""What a line, a fitting and a pump do to the pressure of the fuel that flows through them.

Pressures count with the head: p + density x apparent gravity x level [Pa]. Everything is steady; the fuel fills the bore.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import pi, radians

import numpy as np

from fuelsys.arrays import Floats, Ints
from fuelsys.kernels.laws import Laws, drop, factor
from fuelsys.model.built.ends import PlacedLine
from fuelsys.model.stated.components import CheckValve, Component, Inline, Selector, Tee, Valve
from fuelsys.model.stated.records import PumpCurve

LAMINAR_TO = 2000.0  # Reynolds number up to which the flow counts as laminar: common practice
TURBULENT_FROM = (
    2300.0  # and from which it counts as turbulent; between the two, the straight line, which is the safe side
)
ROUGHNESS_M = 1.5e-6  # drawn tube and smooth hose: Moody 1944, from memory
# Loss coefficients of velocity heads: Crane TP-410 as the library `fluids` has it, in multiples of its friction factor f_T.
TEE_F_T, CHECK_VALVE_F_T = 60.0, 100.0  # flow through the branch, counted for every passage; swing type
SELECTOR_F_T, VALVE_F_T = 90.0, 18.0  # plug type: three-way through the branch; straight way
ORIFICE_LOSS = 2.8  # of the velocity through a strainer's clear area: a sharp edge with 0.6 discharge, from memory
BLOCKED_SHARE = 0.5  # of a strainer or filter that is partly blocked; common practice, no source
BLOCKED_DROP = 1.0 / (1.0 - BLOCKED_SHARE) ** 2  # a drop that grows with the square of the speed through what is left


@dataclass(frozen=True)
class Element:
    """A stated drop and the flow that it was stated for, and what part of the bore is clear.

    Through a fine element fuel creeps, and the drop grows as the flow does; through a bend or a seat, as its square. Which it
    is nobody states, so the larger counts: below the stated flow the one, above it the other.

    >>> fine = Element(8e3, 200.0)
    >>> fine.loss(39.0)[0], fine.loss(400.0)[0], Element(8e3, 200.0, 0.5).loss(39.0)[0]
    (1560.0, 32000.0, 3120.0)
    """

    drop_pa: float
    at_m3_s: float
    clear: float = 1.0
    share: float = 1.0

    def loss(self, flow_m3_s: float) -> tuple[float, float]:
        """Pressure lost, and by how much more for each unit of flow."""
        return drop(flow_m3_s, np.array(self.row))

    @cached_property
    def row(self) -> list[float]:
        """The same as a row of `Laws`."""
        whole = self.share * self.drop_pa
        return [self.at_m3_s, self.clear, whole / self.at_m3_s / self.clear, whole]


_SHUT_PA_S_M3 = 1e18  # of a check valve against the flow: what passes is nothing, and the solution stays one
_LEAST_ANGLE = radians(1.0)

# Of cold fuel [m2/s]. Jet: the limit at -20 degC of ASTM D1655. Avgas and mogas: 0.6 mm2/s at 15 to 20 degC, from memory, and
# half as much again for cold. Diesel thickens so much that the design has to say it.
COLD_VISCOSITIES = {"avgas": 0.9e-6, "mogas": 0.9e-6, "jet": 8e-6}


@dataclass(frozen=True)
class Fluid:
    """The fuel that flows; viscosity is the kinematic one."""

    density_kg_m3: float
    viscosity_m2_s: float


def friction_factor(reynolds: float, relative_roughness: float) -> float:
    """Darcy's friction factor: 64/Re, or Colebrook's (`kernels/laws.py`).

    At Re 1e5 and a relative roughness of 1e-4 (a published value of the library `fluids`):

    >>> round(friction_factor(1e5, 1e-4), 12), friction_factor(128.0, 0.0)
    (0.018513866077, 0.5)
    """
    return factor(reynolds, relative_roughness, LAMINAR_TO, TURBULENT_FROM)


@dataclass(frozen=True)
class Pipe:
    """An edge's law: friction along a bore, losses in velocity heads, a drop that grows with the flow's square, stated drops.

    back_pa_s2_m6 is a drop of that kind which only what runs back meets, past a check valve that leaks.
    """

    fluid: Fluid
    bore_m: float
    length_m: float
    heads: float = 0.0
    square_pa_s2_m6: float = 0.0
    one_way: bool = False
    roughness_m: float = ROUGHNESS_M
    elements: tuple[Element, ...] = ()
    back_pa_s2_m6: float = 0.0

    @cached_property
    def area_m2(self) -> float:
        """The bore's cross-section."""
        return pi / 4.0 * self.bore_m**2

    @cached_property
    def _square(self) -> float:
        """Of the flow's square: stated, and in velocity heads."""
        return self.square_pa_s2_m6 + self.heads * self.fluid.density_kg_m3 / 2.0 / self.area_m2**2

    @cached_property
    def _laminar(self) -> float:
        """Of the flow, by Hagen and Poiseuille: 64/Re."""
        nu, rho = self.fluid.viscosity_m2_s, self.fluid.density_kg_m3
        return 32.0 * nu * rho * self.length_m / self.bore_m**2 / self.area_m2

    @cached_property
    def row(self) -> list[float]:
        """The same as a row of `Laws`."""
        friction = self.length_m / self.bore_m * self.fluid.density_kg_m3 / 2.0
        rough = self.roughness_m / self.bore_m
        return [
            self.area_m2, self.bore_m, self.fluid.viscosity_m2_s, rough, friction, self._square, self._laminar, float(self.one_way),
            self.back_pa_s2_m6,
        ]  # fmt: skip

    def loss(self, flow_m3_s: float) -> tuple[float, float]:
        """Pressure lost, and by how much more for each unit of flow.

        Fuel oil of 2.7 mm²/s and 814.27 kg/m³, 2 US gal/s through 100 ft of steel pipe of 2.067 in: 66.5 kPa with a friction
        factor read from a chart (Crane TP-410, example 7.13), by Colebrook's

        >>> oil = Fluid(0.815 * 999.1, 2.7e-6)
        >>> pipe = Pipe(oil, 2.067 * 0.0254, 30.48, roughness_m=0.0018 * 0.0254)
        >>> round(pipe.loss(2 * 0.003785411784)[0], -1)
        65620.0
        """
        return _alone(self, flow_m3_s)


@dataclass(frozen=True)
class Gain:
    """A pump's law: what it adds, along the straight lines between its curve's points; beyond the last it falls as steeply.

    A curve of one point holds its pressure up to that flow and adds nothing beyond it.
    """

    curve: PumpCurve

    def loss(self, flow_m3_s: float) -> tuple[float, float]:
        """Pressure lost: minus what the pump adds."""
        return _alone(self, flow_m3_s)


def together(laws: Sequence[Pipe | Gain]) -> Laws:
    """Edges' laws as one, for the solver."""
    pipes, drops, curves = np.zeros((len(laws), 9)), list[list[list[float]]](), list[list[tuple[float, float]]]()
    for i, law in enumerate(laws):
        curves.append([] if isinstance(law, Pipe) else sorted(law.curve))
        drops.append([one.row for one in law.elements] if isinstance(law, Pipe) else [])
        if isinstance(law, Pipe):
            pipes[i] = law.row
    return Laws(pipes, *_listed(drops, 4), *_listed(curves, 2), _SHUT_PA_S_M3, LAMINAR_TO, TURBULENT_FROM)


def _alone(law: Pipe | Gain, flow_m3_s: float) -> tuple[float, float]:
    """What an edge takes, and by how much more for each unit of flow."""
    loss, slope = together([law]).losses(np.array([flow_m3_s]))
    return float(loss[0]), float(slope[0])


def _listed(rows: Sequence[Sequence[Sequence[float]]], width: int) -> tuple[Floats, Ints]:
    """Rows of all edges after each other, and at which of them those of each edge begin."""
    begin = np.cumsum([0, *(len(one) for one in rows)]).astype(np.int32)
    return np.array([row for one in rows for row in one], dtype=np.float64).reshape(-1, width), begin


@lru_cache(maxsize=256)
def f_t(bore_m: float) -> float:
    """Crane's friction factor of full turbulence in a pipe of a bore."""
    from fluids.fittings import ft_Crane  # type: ignore[attr-defined] # noqa: PLC0415

    return float(ft_Crane(bore_m))


def passing_heads(part: Component | None, bore_m: float) -> float:
    """Velocity heads lost in passing a component whose drop is not stated; 0 for one of which nothing is known."""
    multiples: dict[type, float] = {Tee: TEE_F_T, CheckValve: CHECK_VALVE_F_T, Selector: SELECTOR_F_T, Valve: VALVE_F_T}
    return multiples.get(type(part), 0.0) * f_t(bore_m) if part is not None else 0.0


def element_of(part: Component | None) -> Element | None:
    """A component's stated drop; None where it is not stated."""
    if isinstance(part, Inline) and part.drop_pa is not None and part.drop_at_m3_s is not None:
        return Element(part.drop_pa, part.drop_at_m3_s)
    return None


def bend_heads(line: PlacedLine) -> float:
    """Velocity heads lost in a line's bends: rounded where a radius is stated, else mitred (Rennels, by `fluids`)."""
    bends = (float(np.degrees(bend)) for bend in line.bends_rad if bend > _LEAST_ANGLE)
    return sum((_bend_heads(angle, line.bore_m, line.design.bend_radius_m) for angle in bends), 0.0)


@lru_cache(maxsize=256)
def _bend_heads(angle_deg: float, bore_m: float, radius_m: float | None) -> float:
    from fluids.fittings import bend_miter, bend_rounded  # noqa: PLC0415

    if not radius_m:
        return float(bend_miter(angle_deg))
    return float(bend_rounded(Di=bore_m, angle=angle_deg, fd=f_t(bore_m), rc=radius_m))
