"""The solved network: against an independent solver on random networks, closed forms, and laws that any answer must keep."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from math import log, pi, sqrt
from pathlib import Path
from typing import Any

import flights
import numpy as np
import pytest
from epanet import toolkit
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.testing import assert_allclose

from fuelsys.analysis.lines.flow import Piping
from fuelsys.analysis.lines.hydraulics import Fluid, Pipe
from fuelsys.analysis.tank.unusable import outlets
from fuelsys.arrays import Floats
from fuelsys.kernels.steady import NotSteadyError, reached, steady

Law = Callable[[float], tuple[float, float]]
SEEDS = range(4)
EACH = 60  # random networks of each seed


def losses_of(laws: list[Law]) -> Callable[[Floats], tuple[Floats, Floats]]:
    def losses(flows: Floats) -> tuple[Floats, Floats]:
        pairs = [law(float(flow)) for law, flow in zip(laws, flows, strict=True)]
        return np.array([loss for loss, _ in pairs]), np.array([slope for _, slope in pairs])

    return losses


def public_domain_law(length: float, bore: float, rough: float, viscosity: float, heads: float) -> Law:
    """Head lost in feet at a flow in cubic feet a second, as the reference solver has it, with its own rounded constants.

    EPANET 2.2 user manual, table 3.1 and its appendix D: Hagen and Poiseuille to Re 2000, Swamee and Jain from 4000, Dunlop's
    cubic between.
    """
    gravity, circle = 32.2, 3.141592654
    along = length / 2.0 / gravity / bore / (circle * bore**2 / 4.0) ** 2
    minor, scale = 0.02517 * heads / bore**4, viscosity * bore

    def factor(reduced: float) -> float:  # flow / (viscosity x bore): the Reynolds number times pi / 4
        if reduced >= 1000.0 * circle:
            return (-2.0 / log(10.0) * log(rough / bore / 3.7 + 4.61841319859 / reduced**0.9)) ** -2
        y2 = rough / bore / 3.7 + 5.74 / 4000.0**0.9
        y3 = -2.0 / log(10.0) * log(y2)
        fa = y3**-2
        fb = fa * (2.0 - 0.00514214965799 / (y2 * y3))
        r = reduced / (500.0 * circle)
        return (
            7.0 * fa - fb + r * (0.128 - 17.0 * fa + 2.5 * fb
            + r * (-0.128 + 13.0 * fa - 2.0 * fb + r * (0.032 - 3.0 * fa + 0.5 * fb)))
        )  # fmt: skip

    def law(flow: float) -> tuple[float, float]:
        reduced = abs(flow) / scale
        laminar = 16.0 * circle * scale * along
        if reduced <= 500.0 * circle:
            return laminar * flow + minor * flow * abs(flow), laminar + 2.0 * minor * abs(flow)
        here, hair = factor(reduced), 1e-6
        more, less = factor(reduced * (1 + hair)), factor(reduced * (1 - hair))
        steep = (more - less) / (2.0 * hair * abs(flow))
        loss = (here * along + minor) * flow * abs(flow)
        return loss, 2.0 * (here * along + minor) * abs(flow) + steep * along * flow**2

    return law


@contextmanager
def project(folder: Path) -> Iterator[Any]:
    handle = toolkit.createproject()
    toolkit.init(handle, str(folder / "report"), str(folder / "out"), toolkit.CFS, toolkit.DW)
    yield handle
    toolkit.deleteproject(handle)


@pytest.mark.filterwarnings("ignore:WARNING")
@pytest.mark.parametrize("seed", SEEDS)
def test_random_networks_against_an_independent_solver(seed: int, tmp_path: Path) -> None:
    rng = np.random.default_rng(seed)
    moved = 0
    for _ in range(EACH):
        tanks, tees = int(rng.integers(1, 5)), int(rng.integers(1, 10))
        count = tanks + tees
        order = rng.permutation(count)
        pairs = [(int(order[rng.integers(0, i)]), int(order[i])) for i in range(1, count)]
        more = rng.integers(0, count, (int(rng.integers(0, 6)), 2))
        pairs += [(int(a), int(b)) for a, b in more if a != b]
        heads = np.full(count, np.nan)
        heads[:tanks] = rng.uniform(2.0, 8.0, tanks)
        drawn = np.zeros(count)
        drawn[tanks:] = rng.uniform(0.0, 5e-4, tees) * (rng.random(tees) < 0.6)
        pipes = [
            (rng.uniform(0.5, 12), rng.uniform(0.15, 0.6) / 12, rng.uniform(5e-6, 1e-4), rng.uniform(0, 6))
            for _ in pairs
        ]
        viscosity = 1.1e-5 * 0.6
        laws = [public_domain_law(length, bore, rough, viscosity, k) for length, bore, rough, k in pipes]
        start, end = (np.array(side, np.int32) for side in zip(*pairs, strict=True))
        at, flows = steady(start, end, heads, drawn, losses_of(laws), np.full(len(pairs), 1e-4))
        with project(tmp_path) as handle:
            for i in range(count):
                node = toolkit.addnode(handle, f"n{i}", toolkit.RESERVOIR if i < tanks else toolkit.JUNCTION)
                if i < tanks:
                    toolkit.setnodevalue(handle, node, toolkit.ELEVATION, float(heads[i]))
                else:
                    toolkit.setjuncdata(handle, node, 0.0, float(drawn[i]), "")
            for j, ((a, b), (length, bore, rough, k)) in enumerate(zip(pairs, pipes, strict=True)):
                link = toolkit.addlink(handle, f"p{j}", toolkit.PIPE, f"n{a}", f"n{b}")
                toolkit.setpipedata(handle, link, float(length), float(bore * 12), float(rough * 1000), float(k))
            for option, value in (
                (toolkit.ACCURACY, 1e-8), (toolkit.SP_VISCOS, 0.6), (toolkit.TRIALS, 200),
                (toolkit.HEADERROR, 1e-9), (toolkit.FLOWCHANGE, 1e-12),
            ):  # fmt: skip
                toolkit.setoption(handle, option, value)
            toolkit.openH(handle)
            toolkit.initH(handle, 0)
            toolkit.runH(handle)
            nodes = [toolkit.getnodeindex(handle, f"n{i}") for i in range(count)]
            links = [toolkit.getlinkindex(handle, f"p{j}") for j in range(len(pairs))]
            their_heads = [toolkit.getnodevalue(handle, node, toolkit.HEAD) for node in nodes]
            their_flows = [toolkit.getlinkvalue(handle, link, toolkit.FLOW) for link in links]
        assert_allclose(at, their_heads, rtol=0, atol=1e-6 * np.abs(at).max())
        assert_allclose(flows, their_flows, rtol=0, atol=1e-6 * max(np.abs(flows).max(), 1e-4))
        moved += bool(np.abs(flows).max() > 1e-4)
    assert moved > EACH / 2


# --- closed forms

OIL = Fluid(720.0, 0.9e-6)
G = 9.80665


def laminar(length: float, bore: float) -> float:
    """Pa for each m3/s, Hagen and Poiseuille: 128 mu L / (pi D^4)."""
    return 128.0 * OIL.viscosity_m2_s * OIL.density_kg_m3 * length / pi / bore**4


def solved(
    pairs: list[tuple[int, int]], pipes: list[Pipe], heads: list[float], drawn: list[float] | None = None
) -> tuple[Floats, Floats]:
    start, end = (np.array(side, np.int32) for side in zip(*pairs, strict=True))
    laws = [pipe.loss for pipe in pipes]
    return steady(
        start, end, np.array(heads), np.array(drawn or [0.0] * len(heads)), losses_of(laws), np.full(len(pipes), 1e-6)
    )


def test_a_line_between_two_boxes() -> None:
    # Levels 20 mm apart, 1.5 m of 4 mm: laminar, Q = rho g h pi D^4 / (128 mu L).
    _, flows = solved([(0, 1)], [Pipe(OIL, 0.004, 1.5)], [OIL.density_kg_m3 * G * 0.02, 0.0])
    assert_allclose(flows, [OIL.density_kg_m3 * G * 0.02 / laminar(1.5, 0.004)], rtol=1e-12)
    assert flows[0] / (pi / 4 * 0.004**2) * 0.004 / OIL.viscosity_m2_s < 2000


def test_losses_of_velocity_heads_alone() -> None:
    # A short hole of K velocity heads: v = sqrt(2 g h / K), with no length to speak of.
    _, flows = solved([(0, 1)], [Pipe(OIL, 0.01, 1e-9, heads=2.0)], [OIL.density_kg_m3 * G * 0.5, 0.0])
    assert_allclose(flows, [pi / 4 * 0.01**2 * sqrt(2 * G * 0.5 / 2.0)], rtol=1e-5)


def test_two_branches_of_which_one_is_dry() -> None:
    # Both feed: the conductances add. One alone: all of it through one branch. Laminar throughout.
    branch, trunk = laminar(1.0, 0.006), laminar(0.5, 0.006)
    high = OIL.density_kg_m3 * G * 0.01
    pipes = [Pipe(OIL, 0.006, 1.0), Pipe(OIL, 0.006, 1.0), Pipe(OIL, 0.006, 0.5)]
    nan = np.nan
    at, flows = solved([(0, 2), (1, 2), (2, 3)], pipes, [high, high, nan, 0.0])
    assert_allclose(flows[2], high / (branch / 2.0 + trunk), rtol=1e-12)
    at, flows = solved([(0, 1), (1, 2)], [pipes[0], pipes[2]], [high, nan, 0.0])
    assert_allclose(flows, high / (branch + trunk), rtol=1e-12)
    assert_allclose(at[1], trunk * high / (branch + trunk), rtol=1e-12)


def test_what_no_law_allows_is_said() -> None:
    def wild(flows: Floats) -> tuple[Floats, Floats]:
        return np.full_like(flows, np.nan), np.ones_like(flows)

    with pytest.raises(NotSteadyError):
        steady(np.array([0], np.int32), np.array([1], np.int32), np.array([1.0, 0.0]), np.zeros(2), wild, np.ones(1))


def test_what_is_reached() -> None:
    ends = np.array([0, 2], np.int32), np.array([1, 3], np.int32)
    assert reached(*ends, np.array([True, False, False, False])).tolist() == [True, True, False, False]


# --- laws

BORES, LENGTHS, LOSSES = st.floats(0.003, 0.02), st.floats(0.1, 5.0), st.floats(0.0, 10.0)
PIPES = st.builds(Pipe, st.just(OIL), BORES, LENGTHS, LOSSES)
# Two tanks to a tee, a bridge to a second tee by two lines, and on to an engine: nodes 0 and 1, 2, 3, 4.
SHAPE = [(0, 2), (1, 2), (2, 3), (2, 3), (3, 4)]


def to_engine(
    pipes: list[Pipe], high: tuple[float, float], turned: tuple[bool, ...] = (False,) * 5
) -> tuple[float, Floats]:
    """Flow into the engine at the air's pressure, a metre below the datum of the levels; and all flows as SHAPE has them."""
    pairs = [(b, a) if turn else (a, b) for (a, b), turn in zip(SHAPE, turned, strict=True)]
    per_m = OIL.density_kg_m3 * G
    heads = [per_m * high[0], per_m * high[1], np.nan, np.nan, -per_m]
    _, flows = solved(pairs, pipes, heads)
    flows = np.where(turned, -flows, flows)
    return float(flows[4]), flows


@settings(max_examples=60, deadline=None)
@given(st.tuples(*[PIPES] * 5), st.tuples(st.floats(0, 2), st.floats(0, 2)), st.integers(0, 4), st.floats(0.1, 20.0))
def test_more_resistance_and_less_height_never_bring_more(
    pipes: tuple[Pipe, ...], high: tuple[float, float], which: int, more: float
) -> None:
    flow, flows = to_engine(list(pipes), high)
    assert_allclose([flows[0] + flows[1], flows[2] + flows[3]], flow, rtol=1e-9, atol=1e-9 * abs(flows).max())
    worse = list(pipes)
    worse[which] = Pipe(OIL, pipes[which].bore_m, pipes[which].length_m, pipes[which].heads + more)
    hair = 1e-10 * abs(flows).max()
    if which in (2, 3, 4) or (flows[which] > 0.0):
        assert to_engine(worse, high)[0] <= flow + hair
    raised = (high[0] + more / 10.0, high[1])
    assert to_engine(list(pipes), raised)[0] >= flow - hair


@settings(max_examples=30, deadline=None)
@given(st.tuples(*[PIPES] * 5), st.tuples(st.floats(0, 2), st.floats(0, 2)), st.tuples(*[st.booleans()] * 5))
def test_the_way_a_line_is_drawn_changes_nothing_but_its_sign(
    pipes: tuple[Pipe, ...], high: tuple[float, float], turned: tuple[bool, ...]
) -> None:
    one, other = to_engine(list(pipes), high)[1], to_engine(list(pipes), high, turned)[1]
    assert_allclose(other, one, rtol=1e-9, atol=1e-11 * abs(one).max())


@settings(max_examples=30, deadline=None)
@given(PIPES, PIPES, st.floats(0, 2), st.floats(0, 2))
def test_a_check_valve_lets_nothing_back(one: Pipe, two: Pipe, high: float, low: float) -> None:
    per_m = OIL.density_kg_m3 * G
    held = Pipe(OIL, one.bore_m, one.length_m, one.heads, one_way=True)
    _, flows = solved([(0, 1), (1, 2)], [held, two], [per_m * high, np.nan, per_m * low])
    free = solved([(0, 1), (1, 2)], [one, two], [per_m * high, np.nan, per_m * low])[1]
    if free[0] > 0.0:
        assert_allclose(flows, free, rtol=1e-9, atol=1e-15)
    else:
        assert abs(flows).max() < 1e-12


def test_a_siphon_over_a_hump(tmp_path: Path) -> None:
    """A full line over a hump carries what its ends' levels give, hump or none; the pressure is least at the hump.

    From a surface at 510 mm to a mouth at 410 by 2 m of 4 mm, over 700: laminar, rho g 0.1 = R q (entry and exit heads on top);
    at the hump, halfway along, p = rho g (0.51 - 0.7) - entry heads - R q / 2. Fuel by gravity is not counted on to take it.
    """
    layout = flights.built(
        tmp_path,
        [flights.box("a", (0, 0, 500), (100, 100, 200), {"outlet out": (50, 50, 10)})],
        [flights.engine((1550, 50, 410))],
        [flights.line("over", "a.out", "engine", bore=4.0, path=[(800, 50, 700)])],
        "1 L/h",
        "gravity",
    )
    (line,), up = layout.lines, np.array([0.0, 0.0, 1.0])
    fluid = Fluid(720.0, 5e-6)
    piping = Piping(layout.network, fluid)
    start, end = (line.start, ""), (line.end, "")
    per_m = 720.0 * G
    found = piping.solved({start: per_m * 0.51, end: per_m * 0.41}, {}, 1e-6)
    assert found is not None
    (law,) = piping.laws
    flow = found.flow("over")
    assert isinstance(law, Pipe)
    square = law.heads * 720.0 / 2.0 / law.area_m2**2
    linear = 128.0 * 5e-6 * 720.0 * line.length_m / pi / 0.004**4
    assert_allclose(flow, (-linear + sqrt(linear**2 + 4.0 * square * per_m * 0.1)) / 2.0 / square, rtol=1e-9)
    first, second = (np.linalg.norm(b - a) for a, b in zip(line.points_m, line.points_m[1:], strict=False))
    lost = per_m * 0.1 * first / (first + second)  # the potential falls evenly along the line
    assert_allclose(found.lowest_pa(per_m, up), per_m * (0.51 - 0.7) - lost, rtol=1e-9)
    (opening,) = outlets(layout.tank("a"))
    centre = float(layout.tank("a").cavity.centre_m @ up)
    assert_allclose(opening.level_m(up) + centre, 0.7, rtol=1e-9)


def test_a_branch_behind_a_shut_check_valve_stands_still() -> None:
    """Its law takes 1e18 Pa for 1 m3/s: the rounding of the flows beside it makes some pascals, and they decide nothing."""
    start, end = np.array([0, 2, 1, 3, 5, 0]), np.array([1, 1, 3, 4, 6, 5])
    potential = np.array([5991.8848, np.nan, 5608.4292, np.nan, np.nan, np.nan, np.nan])
    drawn = np.array([0.0, 0.0, 0.0, 0.0, 5e-6, 0.0, 0.0])
    usual = np.array([3.2336e7, 1.3830e7, 2.8519e7, 2.7568e7, 3.0510e5, 1e18])
    for factors in np.random.default_rng(1).uniform(0.5, 2.0, (60, 5)):
        slope, curved = usual * [*factors, 1.0], np.array([1e11] * 5 + [0.0])

        def law(flows: Floats, slope: Floats = slope, curved: Floats = curved) -> tuple[Floats, Floats]:
            return slope * flows + curved * flows * np.abs(flows), slope + 2.0 * curved * np.abs(flows)

        at, flows = steady(start, end, potential, drawn, law, np.full(6, 5e-6))
        assert_allclose(flows[4:], 0.0, atol=1e-17)
        assert_allclose(at[5:], at[0], rtol=1e-10)
        # The same without that branch.
        alone = steady(start[:4], end[:4], potential[:5], drawn[:5], _first_of(law, 4), np.full(4, 5e-6))
        assert_allclose(flows[:4], alone[1], atol=1e-15)
        assert_allclose(at[:5], alone[0], rtol=1e-10)


def _first_of(law: Callable[[Floats], tuple[Floats, Floats]], count: int) -> Callable[[Floats], tuple[Floats, Floats]]:
    """The laws of the first edges alone."""

    def some(flows: Floats) -> tuple[Floats, Floats]:
        loss, slope = law(np.append(flows, [0.0] * 2))
        return loss[:count], slope[:count]

    return some
