"""A flight against closed forms, against a plain integration in small steps, and against laws that every flight must keep."""

from __future__ import annotations

from math import exp, pi
from pathlib import Path
from typing import Any

import designs
import numpy as np
import pytest
from flights import DENSITY, GRAVITY, HOUR, LEVEL, LITRE, PUMP, VISCOSITY, box, built, engine, line, part, switch
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from fuelsys import review
from fuelsys.analysis.flights.fly import fly
from fuelsys.analysis.flights.plumbed import Plumbed, Positions
from fuelsys.analysis.flights.setting import Upset, World
from fuelsys.analysis.lines.demand import with_demand
from fuelsys.analysis.lines.hydraulics import Fluid, Pipe
from fuelsys.analysis.tank.standing import LEVEL_WITHIN_M
from fuelsys.kernels.stepping import stretches
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.fly import Flown

HEAD = DENSITY * GRAVITY


def flown(layout: Layout, upset: Upset | None = None, from_s: float = 0.0) -> Flown:
    found = fly(World.of(layout), upset, from_s)
    assert abs(found.lost_m3) <= 1e-9 * found.held_m3[0].sum()
    assert (found.held_m3 >= -1e-11).all()
    return found


def at(found: Flown, what: str, tank: str) -> float:
    return next(one.at_s for one in found.happenings if (one.what, one.tank) == (what, tank))


# --- the steps


def test_steps_are_of_second_order_and_keep_to_their_tolerance() -> None:
    # y' = -y: the error at a fixed step falls as its square; controlled, it stays near the tolerance times the steps.
    errors = []
    for number in (20, 40):
        steps = list(stretches(lambda y: -y, np.ones(1), 0.0, 1.0, np.full(1, 1e-7), np.ones(1), 1.0 / number))
        errors.append(abs(steps[-1].at(1.0)[0] - exp(-1.0)))
    assert 3.5 < errors[0] / errors[1] < 4.5
    for tolerance in (1e-5, 1e-7):
        steps = list(stretches(lambda y: -y, np.ones(1), 0.0, 1.0, np.full(1, 1e-7), np.full(1, tolerance), 1.0))
        assert abs(steps[-1].at(1.0)[0] - exp(-1.0)) < tolerance * len(steps)


def test_a_stiff_pair_is_carried_in_few_steps_and_its_sum_kept() -> None:
    # y0' = -1e4 (y0 - y1), y1' = 1e4 (y0 - y1): both come to the mean; explicit steps would need ten thousand.
    def rates(y: np.ndarray) -> np.ndarray:
        return 1e4 * (y[1] - y[0]) * np.array([1.0, -1.0])

    steps = list(stretches(rates, np.array([3.0, 1.0]), 0.0, 1.0, np.full(2, 1e-7), np.full(2, 1e-6), 1.0, 1))
    end = steps[-1].at(1.0)
    assert len(steps) < 200
    assert_allclose(end, [2.0, 2.0], atol=1e-5)
    assert abs(end.sum() - 4.0) < 1e-12


# --- closed forms


def test_a_box_at_a_constant_flow(tmp_path: Path) -> None:
    # 400 x 500 x 200 mm = 40 L, the outlet 10 mm above its floor: 38 L at 30 L/h last 76 min; the mark at 60 mm has 12 L: 10 L
    # above the outlet are 20 min.
    tank = box(
        "main", (0, 0, 1000), (400, 500, 200), {"outlet out": (200, 250, 10)}, switch=[switch("low", (200, 250, 60))]
    )
    found = flown(
        built(tmp_path, [tank], [engine((0, 0, 0)), PUMP], [line("a", "main.out", "pump"), line("b", "pump", "engine")])
    )
    assert_allclose(found.end_s, 76.0 * 60.0, rtol=1e-7)
    assert_allclose(found.held_m3[-1], [2.0 * LITRE], rtol=1e-8)
    assert found.warning is not None
    assert_allclose(found.end_s - found.warning.lit_s, 20.0 * 60.0, rtol=1e-7)
    assert_allclose(found.burnt_m3[-1], 38.0 * LITRE, rtol=1e-8)


def test_two_boxes_level_out_as_an_exponential(tmp_path: Path) -> None:
    # Laminar: q = (h1 - h2) rho g / R with R = 128 nu rho L / (pi d^4), so h1 - h2 falls as exp(-t / T) with
    # T = R A1 A2 / (A1 + A2) / (rho g). The line's ends take 1.57 velocity heads on top: 3e-3 of the loss at first.
    bore, length = 4e-3, 10.0
    tanks = [
        box("one", (0, 0, 0), (400, 500, 300), {"drain low": (400, 250, 0)}),
        box("two", (10400, 0, 0), (200, 500, 300), {"drain low": (0, 250, 0)}),
        box("feed", (0, 2000, 0), (400, 500, 300), {"outlet out": (200, 250, 0)}),
    ]
    lines = [
        line("join", "one.low", "two.low", "interconnect", bore * 1e3),
        line("a", "feed.out", "pump"),
        line("b", "pump", "engine"),
    ]
    hours = 3.0
    part_of = {
        "name": "f",
        "attitude": "level",
        "flow": "cruise",
        "duration": f"{hours} h",
        "loaded": {"one": "40 L", "two": "5 L"},
    }
    found = flown(built(tmp_path, tanks, [engine((0, 3000, 0)), PUMP], lines, "1 L/h", flight=[part_of]))
    one, two = 0.2, 0.1
    resistance = 128.0 * VISCOSITY * DENSITY * length / (pi * bore**4)
    lasting = resistance * one * two / (one + two) / HEAD
    assert 0.5 < hours * HOUR / lasting < 5.0
    apart = found.held_m3[:, 0] / one - found.held_m3[:, 1] / two
    assert_allclose(apart, apart[0] * np.exp(-found.times_s / lasting), rtol=0.0, atol=4e-3 * apart[0])


def test_a_header_stands_where_its_line_brings_what_is_drawn(tmp_path: Path) -> None:
    # The inlet under the surface: rho g (main - header) is what the line takes at the flow that comes.
    tanks = [
        box("main", (0, 0, 500), (1500, 1500, 200), {"outlet out": (750, 750, 0)}),
        box("header", (0, 0, 0), (200, 200, 600), {"outlet out": (100, 100, 5), "inlet in": (100, 200, 5)}),
    ]
    lines = [
        line("fill", "main.out", "header.in", bore=5.0),
        line("a", "header.out", "pump"),
        line("b", "pump", "engine"),
    ]
    load = {"main": "300 L", "header": "20 L"}
    flight = [{"name": "f", "attitude": "level", "flow": "cruise", "duration": "150 min", "loaded": load}]
    layout = built(tmp_path, tanks, [engine((0, 0, 0)), PUMP], lines, "60 L/h", flight=flight)
    found = flown(layout)
    world = World.of(layout)
    law = Plumbed.of(layout.network, world.solving.fluid, Positions()).piping.laws[0]
    high, low = found.held_m3[-1] / [2.25, 0.04]
    # Near the balance: the header follows its main tank, which falls by 60 L/h over its floor and theirs.
    slow = brentq(lambda q: law.loss(q)[0] - HEAD * (0.5 + high - low), 0.0, 1e-3, xtol=1e-16)
    assert_allclose(slow, 60.0 * LITRE / HOUR, rtol=0.06)
    leg = world.leg(layout.design.flight[0], Upset(""), dict(zip(found.tanks, found.held_m3[-1].tolist(), strict=True)))
    leg.begin(dict(zip(found.tanks, found.held_m3[-1].tolist(), strict=True)))
    assert_allclose(-leg.moment(found.held_m3[-1]).rates[0], slow, rtol=1e-4)
    assert 0.05 < low < 0.55


VENT_SHUT = Upset("shut", shut=frozenset(["vent valve"]))


def gravity_box(folder: Path, kind: str = "valve", **first: Any) -> Layout:
    """A tank with what stands in its only vent line; first is the flight's first part, where it has two."""
    tank = box("main", (0, 0, 1000), (400, 500, 200), {"outlet out": (200, 250, 10)})
    lines = [line("a", "main.out", "engine"), line("v", "main.vent", "vent valve", "vent")]
    lines.append(line("w", "vent valve", "mast", "vent"))
    parts = [engine((0, 0, 600), inlet_pressure="0.5 kPa"), part("vent valve", kind, (200, 250, 1300))]
    parts.append(part("mast", "overboard", (200, 250, 1400)))
    f = {"name": "f", "attitude": "level", "flow": "cruise", "loaded": {"main": "30 L"}}
    second = {"name": "g", "attitude": "level", "flow": "cruise", "shut": ["vent valve"]}
    flight = [{**f, **first}, second] if first else [f]
    return built(folder, [tank], parts, lines, "20 L/h", "gravity", flight)


@pytest.mark.parametrize(
    ("upset", "asked"),
    [
        (Upset("blocked", blocked=frozenset(["v"])), {}),
        (VENT_SHUT, {}),
        (None, {"kind": "check valve"}),  # air gets out by it; none comes in
        (None, {"duration": "5 s", "shut": ["vent valve"]}),  # and the next part does not begin with fresh air
    ],
)
def test_a_blocked_vent_stops_the_flow_when_the_air_has_grown_thin(
    upset: Upset | None, asked: dict[str, Any], tmp_path: Path
) -> None:
    # 10 L of air at 1013.25 hPa: after v has gone it has p0 10 / (10 + v). The engine, at 600 mm, asks for 0.5 kPa:
    # p0 (1 - U0 / (U0 + v)) = rho g (h - 0.6) - 500 - loss(q), with h = 1 + (30 L - v) / 0.2 m2.
    layout = gravity_box(tmp_path, **asked)
    found = flown(layout, upset)
    flow = 20.0 * LITRE / HOUR
    lost = Plumbed.of(layout.network, World.of(layout).solving.fluid, Positions()).piping.laws[0].loss(flow)[0]

    def over(gone: float) -> float:
        room = 10.0 * LITRE + 2e-7 * 0.2  # the trace that keeps a full tank's air finite
        return HEAD * (0.4 + (30.0 * LITRE - gone) / 0.2) - 500.0 - lost - 101325.0 * (1.0 - room / (room + gone))

    gone = brentq(over, 0.0, 10.0 * LITRE)
    assert 0.05 * LITRE < gone < 1.0 * LITRE
    assert_allclose(found.burnt_m3[-1], gone, rtol=1e-5)
    assert "height" in found.stopped
    if upset:
        assert_allclose(flown(layout).burnt_m3[-1], 28.0 * LITRE, rtol=1e-9)


def test_the_air_goes_thin_from_the_moment_it_is_shut_in(tmp_path: Path) -> None:
    layout = gravity_box(tmp_path)
    upset = VENT_SHUT
    late = flown(layout, upset, 30.0 * 60.0)
    assert late.burnt_m3[-1] > flown(layout, upset).burnt_m3[-1] + 9.9 * LITRE
    assert_allclose(np.interp(1800.0, late.times_s, late.held_m3[:, 0]), 20.0 * LITRE, rtol=1e-9)


# --- a second way


@pytest.mark.parametrize("seed", range(6))
def test_a_random_design_against_small_steps(seed: int, tmp_path: Path) -> None:
    """Main, header with its inlet above or below the surface, engine with a return to the main: Euler's steps of half a second.

    The line's flow comes from its law by halving, levels from the boxes' floors: nothing of the flight's own is used.
    """
    rng = np.random.default_rng(seed)
    a, b = float(rng.uniform(0.1, 0.4)), float(rng.uniform(0.02, 0.06))  # floors
    inlet = float(rng.uniform(5.0, 250.0))
    bore, burnt, back = float(rng.uniform(4.0, 8.0)), float(rng.uniform(15, 60)), float(rng.uniform(0, 40))
    tanks = [
        box(
            "main", (0, 0, 400), (a * 1e6 / 500, 500, 300), {"outlet out": (50, 250, 10), "return back": (50, 200, 300)}
        ),
        box(
            "header", (0, 0, 0), (b * 1e6 / 200, 200, 300), {"outlet out": (50, 100, 10), "inlet in": (50, 200, inlet)}
        ),
    ]
    lines = [
        line("fill", "main.out", "header.in", bore=bore), line("a", "header.out", "pump"), line("b", "pump", "engine"),
        line("r", "engine", "main.back", "return", 6.0),
    ]  # fmt: skip
    loaded = {"main": f"{a * 150:.4f} L", "header": f"{b * 200:.4f} L"}
    flight = [{"name": "f", "attitude": "level", "flow": "cruise", "loaded": loaded, "duration": "40 min"}]
    parts = [engine((0, 0, 0), return_flow=f"{back!r} L/h"), PUMP]
    layout = built(tmp_path, tanks, parts, lines, f"{burnt!r} L/h", flight=flight)
    found = flown(layout)
    law = Plumbed.of(layout.network, World.of(layout).solving.fluid, Positions()).piping.laws[0]
    held = [float(loaded["main"][:-2]) * LITRE, float(loaded["header"][:-2]) * LITRE]
    step, now = 0.5, 0.0
    burn, sent = burnt * LITRE / HOUR, back * LITRE / HOUR
    while now < found.end_s - step:
        high, low = 0.4 + held[0] / a, held[1] / b
        across = HEAD * (high - max(low, inlet * 1e-3))
        into = brentq(lambda q, p=across: law.loss(q)[0] - p, -1e-3, 1e-3, xtol=1e-14)
        if (into > 0.0 and high <= 0.41) or (into < 0.0 and low <= inlet * 1e-3):
            into = sent if into > 0.0 else 0.0
        held[0] += step * (sent - into)
        held[1] = min(held[1] + step * (into - burn - sent), b * 0.3)  # what is over runs out of its vent
        now += step
        if held[1] <= b * 0.01:
            break
    assert_allclose(found.end_s, now, atol=2.0)
    assert_allclose(found.held_m3[-1], held, atol=2e-5)


@pytest.mark.parametrize("seed", range(25))
def test_nothing_is_lost_in_random_systems(seed: int, tmp_path: Path) -> None:
    """Two or three tanks at random heights joined at random, with returns, tees and tilts: mass, signs and order of time."""
    rng = np.random.default_rng(100 + seed)
    number = int(rng.integers(2, 4))
    tanks, lines = [], []
    for k in range(number):
        size = rng.uniform((200, 200, 100), (600, 600, 300)).round(1).tolist()
        ports = {
            "outlet out": (size[0] / 2, size[1] / 2, 5.0),
            "drain join": (size[0], size[1] / 2, 0.0),
            "return back": (0.0, size[1] / 2, size[2]),
        }
        marks = [switch("low", (size[0] / 2, size[1] / 2, size[2] * float(rng.uniform(0.2, 0.6))))]
        tanks.append(box(f"t{k}", (0, 1000 * k, float(rng.uniform(0, 400))), size, ports, switch=marks))
        lines.append(line(f"out {k}", f"t{k}.out", "tee", bore=float(rng.uniform(4, 9))))
    if rng.random() < 0.6:
        lines.append(line("join", "t0.join", "t1.join", "interconnect", float(rng.uniform(3, 12))))
    lines += [
        line("a", "tee", "pump"),
        line("b", "pump", "engine"),
        line("r", "engine", f"t{rng.integers(number)}.back", "return", 6.0),
    ]
    parts = [
        part("tee", "tee", (-200, 0, -300)),
        PUMP,
        engine((-500, 0, -200), return_flow=f"{rng.uniform(0, 60):.2f} L/h"),
    ]
    tilts = [
        {"name": "level", "normal": True},
        {"name": "tilted", "pitch": f"{rng.uniform(-8, 8):.2f} deg", "roll": f"{rng.uniform(-6, 6):.2f} deg"},
    ]
    flight = [
        {"name": "one", "attitude": "tilted", "flow": "cruise", "duration": "20 min"},
        {"name": "two", "attitude": "level", "flow": "cruise"},
    ]
    found = flown(
        built(tmp_path, tanks, parts, lines, f"{rng.uniform(20, 90):.2f} L/h", flight=flight, attitudes=tilts)
    )
    times = [one.at_s for one in found.happenings]
    assert times == sorted(times)
    assert (np.diff(found.times_s) >= 0.0).all()
    assert (np.diff(found.overboard_m3) >= -2e-8).all()
    assert found.stopped


# --- laws


def pair(folder: Path, side: float, unit: str = "mm") -> Layout:
    """Two unlike wing tanks at different heights into a tee; side -1 is its mirror image."""

    def y(place: tuple[float, float, float], wide: float = 0.0) -> tuple[float, float, float]:
        return (place[0], side * place[1] - (wide if side < 0 else 0.0), place[2])

    def inside(place: tuple[float, float, float], wide: float) -> tuple[float, float, float]:
        return (place[0], place[1] if side > 0 else wide - place[1], place[2])

    tanks = [
        box("one", y((0, 300, 600), 700), (400, 700, 150), {"outlet out": inside((390, 20, 5), 700)},
            switch=[switch("low", inside((200, 300, 40), 700))]),
        box("two", y((0, -1000, 640), 600), (350, 600, 160), {"outlet out": inside((340, 590, 5), 600)}),
    ]  # fmt: skip
    lines = [line("1", "one.out", "tee", bore=6.0), line("2", "two.out", "tee", bore=7.0), line("a", "tee", "engine")]
    attitudes = [{"name": "level", "normal": True, "pitch": "2 deg", "roll": f"{side * 3} deg"}]
    parts = [part("tee", "tee", y((300, 50, 100))), engine(y((-200, 30, 0)))]
    return built(folder, tanks, parts, lines, "25 L/h", "gravity", attitudes=attitudes)


def test_a_mirror_image_flies_alike(tmp_path: Path) -> None:
    one, two = flown(pair(tmp_path / "a", 1.0)), flown(pair(tmp_path / "b", -1.0))
    assert [(h.what, h.tank, h.detail) for h in one.happenings] == [(h.what, h.tank, h.detail) for h in two.happenings]
    assert_allclose([h.at_s for h in one.happenings], [h.at_s for h in two.happenings], rtol=1e-6, atol=1e-3)
    assert_allclose(one.held_m3[-1], two.held_m3[-1], rtol=1e-6)


def test_the_units_of_the_file_do_not_matter(tmp_path: Path) -> None:
    layout = pair(tmp_path, 1.0)
    text = (tmp_path / "boxes.toml").read_text(encoding="utf-8")
    text = text.replace('"25 L/h"', f'"{25.0 / 3.785411784!r} US gal/h"').replace('"6.0 mm"', f'"{6.0 / 25.4!r} in"')
    text = text.replace('"720 kg/m3"', '"0.72 kg/L"').replace('"2 deg"', f'"{2.0 * pi / 180.0!r} rad"')
    (tmp_path / "boxes.toml").write_text(text, encoding="utf-8")
    one, two = flown(layout), flown(review.read(tmp_path / "boxes.toml"))
    assert_allclose([h.at_s for h in one.happenings], [h.at_s for h in two.happenings], rtol=1e-9)


def test_the_level_between_knots_is_within_its_bound(tmp_path: Path) -> None:
    layout = designs.layout_of(tmp_path)
    standing = World.of(layout).standing("main", layout.design.envelope[4])
    tilted = standing.drained.tilted
    levels = np.linspace(tilted.low_m, tilted.high_m, 300)[1:-1]
    volumes, _ = tilted.volume_and_area(levels)  # the main tank is convex: one pool
    centre = float(layout.tank("main").cavity.centre_m @ layout.design.envelope[4].up)
    assert (
        max(abs(standing.level_m(v) - centre - level) for v, level in zip(volumes, levels, strict=True))
        < 2.0 * LEVEL_WITHIN_M
    )


# --- what other commands say


@pytest.mark.parametrize("back", ["0 L/h", "20 L/h"])
def test_the_bench_lasts_as_long_as_its_switches_say(back: str, tmp_path: Path) -> None:
    """The header alone, cut off from the main tank: what `switches` says of its own attitude is what the flight takes.

    least_minutes counts above the unusable fuel of the worst flight attitude (a climb of 13 degrees), the flight above that of
    the attitude that is flown: it lasts longer by the difference over the flow. What is returned goes to the main tank.
    """
    layout = with_demand(
        designs.layout_of(tmp_path, {"component.5.return_flow": back, "tank.1.switch.0.delay": "12 s"})
    )
    found = flown(layout, Upset("cut off", dry=frozenset(["main"])))
    study = review.study(layout, only="header").tank("header").switches
    burnt = 18.0 * LITRE / HOUR
    drawn = burnt + float(back.split(maxsplit=1)[0]) * LITRE / HOUR
    for lamp, one in zip(found.warned, study, strict=True):
        trip = one.normal
        assert lamp.switch == one.name
        assert trip.trip_m3 is not None
        assert_allclose(lamp.held_m3, trip.trip_m3, rtol=1e-9)
        lasts_s = found.end_s - (lamp.lit_s - one.delay_s)  # from when the surface passes the mark
        assert_allclose(lasts_s, (trip.trip_m3 - trip.unusable_m3) / drawn, rtol=1e-7)
        least_s = one.outflow.least_s(trip.trip_m3 - one.unusable_m3)
        assert least_s is not None
        gone_s = (one.unusable_m3 - trip.unusable_m3) / burnt
        if back == "0 L/h":  # with a return least_minutes counts on the main tank to let it run back
            assert_allclose(lasts_s, least_s + gone_s, rtol=1e-7)
    lights = [(one.at_s, one.detail) for one in found.happenings if one.what == "lights"]
    assert lights == [(lamp.lit_s, lamp.switch) for lamp in found.warned]
    assert [one.delay_s for one in study] == [12.0, 0.0]


def test_what_is_returned_comes_back_to_the_header(tmp_path: Path) -> None:
    # With the main tank empty to its outlet all that is returned runs on to the header: only what is burnt is lost.
    found = flown(with_demand(designs.layout_of(tmp_path)))
    header = found.warned[0]
    assert_allclose(found.end_s - header.lit_s, (6.48 - 0.28) / 18.0 * HOUR, rtol=1e-6)
    assert at(found, "passes on", "main") < header.lit_s


def test_a_main_tank_that_is_full_runs_over_by_its_vent(tmp_path: Path) -> None:
    # The header cut off and full, so all that is returned goes to the full main tank and over the top of its vent's line.
    changes = {
        "flight": [
            {"name": "f", "attitude": "cruise", "flow": "cruise", "duration": "5 min", "loaded": {"main": "48.5 L"}}
        ]
    }
    file = designs.changed({})
    assert file
    layout = with_demand(designs.layout_of(tmp_path, changes))
    found = flown(layout, Upset("cut off", dry=frozenset(["main"])))
    most = World.of(layout).standing("main", layout.design.normal("flight")).over_m3
    assert_allclose(found.overboard_m3[-1], 48.5 * LITRE - most + 20.0 * LITRE / HOUR * 300.0, rtol=1e-6)


def test_the_laminar_law_is_that_of_the_lines() -> None:
    # What the exponential above rests on.
    pipe = Pipe(Fluid(DENSITY, VISCOSITY), 3e-3, 10.0)
    flow = 1e-7
    assert_allclose(pipe.loss(flow)[0], 128.0 * VISCOSITY * DENSITY * 10.0 / (pi * 3e-3**4) * flow, rtol=1e-12)


def test_a_selector_is_turned_when_its_tank_is_dry(tmp_path: Path) -> None:
    # Without a stated flight: 38 L of each of two boxes at 30 L/h, one after the other, 76 min each.
    tanks = [
        box(name, (0, y, 1000), (400, 500, 200), {"outlet out": (200, 250, 10)}) for name, y in (("l", 0), ("r", 900))
    ]
    parts = [part("tap", "selector", (0, 700, 300), both=False), PUMP, engine((0, 0, 0))]
    lines = [
        line("1", "l.out", "tap"),
        line("2", "r.out", "tap"),
        line("a", "tap", "pump"),
        line("b", "pump", "engine"),
    ]
    layout = built(tmp_path, tanks, parts, lines)
    found = flown(layout)
    assert_allclose([one.from_s for one in found.parts], [0.0, 76.0 * 60.0], rtol=1e-6)
    assert_allclose(found.end_s, 152.0 * 60.0, rtol=1e-6)
    assert_allclose(
        flown(layout, Upset("left there", selectors={"tap": "r"})).held_m3[-1], [40.0 * LITRE, 2.0 * LITRE], rtol=1e-6
    )
    assert flown(layout, Upset("off", selectors={"tap": "off"})).end_s == 0.0


def test_a_lamp_goes_out_as_its_tank_is_tilted_and_does_not_light_where_that_comes_before_its_delay(
    tmp_path: Path,
) -> None:
    # 10.1 L at 30 L/h are 50 mm deep after 12 s; nose up by 10° they stand 82 mm deep over the mark, 180 mm behind the middle.
    up = {"name": "up", "pitch": "10 deg"}
    flight = [{"name": one, "attitude": one, "flow": "cruise", "duration": "60 s"} for one in ("level", "up")]
    flight[0]["loaded"] = {"main": "10.1 L"}  # type: ignore[assignment]
    lines = [line("a", "main.out", "pump"), line("b", "pump", "engine")]
    for delay_s, told in (
        (1, [(13.0, "lights"), (60.0, "goes out")]),
        (40, [(52.0, "lights"), (60.0, "goes out")]),
        (90, []),
    ):
        low = switch("low", (380, 250, 50)) | {"delay": f"{delay_s} s"}
        tank = box("main", (0, 0, 1000), (400, 500, 200), {"outlet out": (390, 250, 10)}, switch=[low])
        layout = built(
            tmp_path / f"{delay_s}", [tank], [engine((0, 0, 0)), PUMP], lines, flight=flight, attitudes=(LEVEL, up)
        )
        found = [(one.at_s, one.what) for one in flown(layout).happenings if one.what in ("lights", "goes out")]
        assert [what for _, what in found] == [what for _, what in told]
        assert_allclose([at_s for at_s, _ in found], [at_s for at_s, _ in told], rtol=1e-6)
