"""A flight whose transfer pump brings more than the engine takes: the main tank stays full, the rest goes overboard.

Against a closed form, a plain integration in small steps, and the bench design at flight attitudes.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import sound_designs
from flights import DENSITY, GRAVITY, HOUR, LITRE, PUMP, box, built, engine, line, mm, part
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from fuelsys import review
from fuelsys.analysis.flights.fly import fly
from fuelsys.analysis.flights.plumbed import Plumbed, Positions
from fuelsys.analysis.flights.setting import World
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.fly import Failing, Warned

HEAD = DENSITY * GRAVITY
AREA = 0.2  # of the main tank, 400 x 500 mm
AUX_AREA = 0.06


def transfer(
    folder: Path, curve: Sequence[Sequence[str]], inlet: float, vent: float, burnt: float, back: float, back_to: str = "main",
    load: Sequence[float] = (20.0, 10.0),
) -> Layout:  # fmt: skip
    """An aux tank 1 m below the main one, a pump between; the main's vent at a height in its side, its inlet at another."""
    side = [{"name": "vent", "position": mm([400, 250, vent]), "bore": "8 mm"}]
    main = box(
        "main", (0, 0, 1000), (400, 500, 200), {"outlet out": (200, 250, 10), "inlet in": (100, 250, inlet)}, vent=side
    )
    main["return"] = [{"name": "back", "position": mm([300, 250, 200]), "bore": "8 mm"}]
    aux = box("aux", (1000, 0, 0), (300, 200, 300), {"outlet out": (150, 100, 10), "return back": (150, 50, 300)})
    lines = [
        line("lift", "aux.out", "lifting"), line("push", "lifting", "main.in"), line("a", "main.out", "pump"),
        line("b", "pump", "engine"), line("r", "engine", f"{back_to}.back", "return", 6.0),
    ]  # fmt: skip
    parts: list[dict[str, Any]] = [
        part("lifting", "pump", (900, 0, -50), driven="electric", curve=list(curve)),
        PUMP,
        engine((0, 0, 0), return_flow=f"{back!r} L/h"),
    ]
    loaded = {"main": f"{load[0]!r} L", "aux": f"{load[1]!r} L"}
    flight = [{"name": "f", "attitude": "level", "flow": "cruise", "loaded": loaded}]
    return built(folder, [main, aux], parts, lines, f"{burnt!r} L/h", flight=flight)


@pytest.mark.parametrize("inlet", [200.0, 30.0])
def test_what_is_over_when_the_aux_tank_is_empty(inlet: float, tmp_path: Path) -> None:
    """The main tank is full at its vent, 150 mm: 30 L, of which 28 are loaded; the aux tank gives 10 L less 0.6 below its outlet.

    At 100 L/h in and 30 out it is full after 2 / 70 h, the aux tank empty after 9.4 / 100 h: overboard go 70 (9.4 / 100 - 2 / 70)
    = 4.58 L, and the 28 L above the outlet last 28 / 30 h from there.
    """
    steep = [["0 L/h", "100 kPa"], ["99.9 L/h", "90 kPa"], ["100.1 L/h", "0 kPa"]]
    found = fly(World.of(transfer(tmp_path, steep, inlet, 150.0, 30.0, 0.0, load=(28.0, 10.0))))
    over = 70.0 * (9.4 / 100.0 - 2.0 / 70.0)
    assert_allclose(found.overboard_m3[-1], over * LITRE, rtol=2e-3)
    assert_allclose(found.end_s, (9.4 / 100.0 + 28.0 / 30.0) * HOUR, rtol=2e-4)
    assert_allclose(found.held_m3[-1], [2.0 * LITRE, 0.6 * LITRE], atol=1e-8)
    assert abs(found.lost_m3) <= 1e-9 * found.held_m3[0].sum()
    told = [one.what for one in found.happenings if one.tank == "main"]
    assert told.count("full") == told.count("runs over") == told.count("stops running over") == 1


@pytest.mark.parametrize("seed", range(4))
def test_a_random_transfer_against_small_steps(seed: int, tmp_path: Path) -> None:
    """Euler's steps of five seconds; the pump's flow from its curve and its lines' laws by halving, levels from the boxes' floors."""
    rng = np.random.default_rng(seed)
    burnt, back, most = float(rng.uniform(15, 50)), float(rng.uniform(0, 30)), float(rng.uniform(60, 120))
    curve = [["0 L/h", "60 kPa"], [f"{most!r} L/h", "15 kPa"]]
    inlet, vent = float(rng.uniform(5, 200)), float(rng.uniform(120, 200))
    back_to = ("main", "aux")[seed % 2]
    layout = transfer(tmp_path, curve, inlet, vent, burnt, back, back_to, (AREA * vent - 1.0, 12.0))
    found = fly(World.of(layout))
    assert abs(found.lost_m3) <= 1e-9 * found.held_m3[0].sum()
    piping = Plumbed.of(layout.network, World.of(layout).solving.fluid, Positions()).piping
    lift, push, _, _, pump, _ = piping.laws

    def lifted(main_m3: float, aux_m3: float) -> float:
        up = 1.0 + max(main_m3 / AREA, inlet * 1e-3) - aux_m3 / AUX_AREA
        return float(
            brentq(lambda q: sum(law.loss(q)[0] for law in (lift, push, pump)) + HEAD * up, 0.0, 1e-3, xtol=1e-12)
        )

    step, main, aux, over, now = 5.0, AREA * vent * LITRE - LITRE, 12.0 * LITRE, 0.0, 0.0
    burn, sent = burnt * LITRE / HOUR, back * LITRE / HOUR
    comes = {"main": 0.0, "aux": 0.0, back_to: sent}
    while main > AREA * 0.01 and now < found.end_s:
        flow = lifted(main, aux)
        if aux <= AUX_AREA * 0.01:
            flow = min(flow, comes["aux"])
        main += step * (flow + comes["main"] - burn - sent)
        aux = max(aux + step * (comes["aux"] - flow), AUX_AREA * 0.01)
        excess = max(0.0, main - AREA * vent * 1e-3)
        main, over, now = main - excess, over + excess, now + step
    assert_allclose(found.end_s, now, atol=15.0)
    assert_allclose(found.overboard_m3[-1], over, atol=1.2e-4)
    assert_allclose(found.held_m3[-1], [main, aux], atol=1.2e-4)


def test_the_bench_with_a_transfer_pump(tmp_path: Path) -> None:
    sound_designs.write_meshes(tmp_path)
    design = sound_designs.design_of("transfer")
    attitudes = [one["name"] for one in design["attitude"] if one["phase"] == "flight"]
    for attitude in attitudes[:4]:
        flight = [{"name": "f", "attitude": attitude, "flow": "takeoff"}]
        file = tmp_path / "bench.toml"
        file.write_text(sound_designs.text_of({**design, "flight": flight}), encoding="utf-8")
        found = fly(World.of(review.read(file)))
        assert abs(found.lost_m3) <= 1e-9 * found.held_m3[0].sum()
        assert len(found.happenings) < 20
        assert found.stopped
        assert_allclose(found.burnt_m3[-1] / found.end_s, 36.0 * LITRE / HOUR, rtol=1e-8)


def test_the_lamp_of_a_tank_that_only_fills_others_warns_of_nothing(tmp_path: Path) -> None:
    layout = transfer(tmp_path, [["0 L/h", "100 kPa"], ["100 L/h", "0 kPa"]], 200.0, 150.0, 30.0, 0.0)
    assert layout.network.set_aside == {"aux"}
    flown = fly(World.of(layout))
    lit = Warned("aux", "low", 60.0, 1e-3, 2e-2)
    early, none = (Failing("", replace(flown, warned=(replace(lit, aside=aside),))) for aside in (False, True))
    assert early.before_s == pytest.approx(flown.end_s - 60.0)
    assert none.before_s is None
    assert none.marked
