"""What runs between joined tanks against closed forms of two boxes, a plain integration in small steps, and laws."""

from __future__ import annotations

from collections.abc import Callable
from math import cos, pi, radians, sin, tan
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from flights import DENSITY, GRAVITY, HOUR, LEVEL, LITRE, PUMP, VISCOSITY, box, built, engine, line, part, switch
from numpy.testing import assert_allclose
from scipy.optimize import brentq

from fuelsys import review
from fuelsys.analysis.flights.lasting import Joint, Quantities
from fuelsys.analysis.flights.levelled import Levelled
from fuelsys.analysis.flights.rows import after_rows
from fuelsys.analysis.lines.solving import Solving
from fuelsys.model.built.joining import joined as joined_tanks
from fuelsys.model.built.layout import Layout
from fuelsys.model.found.exchange import TogetherAt
from fuelsys.model.found.study import Study

# Two boxes side by side: the left one feeds. Along the roll axis y (or, tandem, along x) they are 400 mm wide, 1 m from middle to middle.
LONG, WIDE, HIGH, APART, FLOW = 500.0, 400.0, 300.0, 1000.0, 30.0
TILT = 6.0
Place = Callable[[float, float, float], list[float]]


def laid_out(
    folder: Path, bore: float, *, stands: float = 100.0, mark: float = 200.0, tilt: float = TILT, held: str = "", tandem: bool = False,
    mirrored: bool = False, others: list[dict[str, str]] | None = None,
) -> Layout:  # fmt: skip
    """The pair with the tilt that takes fuel from the tank that feeds; its outlet and mark stand over the middle of its floor."""

    def turned(along: float, across: float, up: float) -> list[float]:
        return [across, along, up] if tandem else [along, across, up]

    def placed(across: float, size: float = 0.0) -> float:
        return -across - size if mirrored else across

    size = turned(LONG, WIDE, HIGH)
    ports = {
        "outlet feed": turned(LONG / 2, WIDE / 2, stands),
        "outlet cross": turned(LONG / 2, placed(WIDE) % (WIDE + 1e-9), 0.0),
    }
    marks = [switch("low", turned(LONG / 2, WIDE / 2, mark))]
    one = box("one", turned(0.0, placed(0.0, WIDE), 0.0), size, ports, switch=marks)
    two = box(
        "two",
        turned(0.0, placed(APART, WIDE), 0.0),
        size,
        {"outlet cross": turned(LONG / 2, WIDE - placed(WIDE) % (WIDE + 1e-9), 0.0)},
    )
    sign = -1.0 if mirrored else 1.0
    lean = {"pitch": f"{sign * tilt} deg"} if tandem else {"pitch": "0 deg", "roll": f"{sign * tilt} deg"}
    lean |= {"held": held} if held else {}
    places = [
        {**PUMP, "position": [f"{c} mm" for c in turned(LONG / 2, placed(WIDE / 2), -500.0)]},
        engine([0.0, 0.0, -500.0]),
    ]
    lines = [
        line("feed", "one.feed", "pump"), line("on", "pump", "engine"),
        line("join", "two.cross", "one.cross", "interconnect", bore),
    ]  # fmt: skip
    return built(
        folder, [one, two], places, lines, f"{FLOW} L/h", attitudes=[LEVEL, {"name": "slip", **lean}, *(others or [])]
    )


def joined(folder: Path, bore: float, **changes: Any) -> TogetherAt:
    """The same in that slip."""
    (group,) = review.study(laid_out(folder, bore, **changes)).exchange.together
    assert not group.needs
    return next(at for at in group.at if at.attitude.name == "slip")


def litres(cubic_mm: float) -> float:
    return cubic_mm * 1e-9


# --- for ever: one level


@pytest.mark.parametrize("tandem", [False, True])
def test_at_one_level_both_hold_what_stands_under_the_plane_through_the_outlet(tmp_path: Path, tandem: bool) -> None:
    """The plane through the outlet, 100 mm over the middle of one's floor: one holds 100 mm of its area, two so much more as the plane
    rises by on the way to its middle."""
    found = joined(tmp_path, 30.0, tandem=tandem)
    rise = APART * tan(radians(TILT))
    assert rise + WIDE / 2 * tan(radians(TILT)) + 100.0 < HIGH
    expected = litres(LONG * WIDE * (100.0 + 100.0 + rise))
    assert expected < found.level_m3 < expected + litres(LONG * WIDE * 0.5)  # and what drives 30 L/h through 30 mm


def test_a_tank_holds_no_more_than_to_its_roof(tmp_path: Path) -> None:
    found = joined(tmp_path, 30.0, tilt=14.0)  # the plane stands over two's vent, in the middle of its roof
    assert APART * tan(radians(14.0)) + 100.0 > HIGH
    wedge = LONG * (WIDE / 2) ** 2 / 2 * tan(radians(14.0))  # of air, beside the vent
    assert_allclose(found.level_m3, litres(LONG * WIDE * (100.0 + HIGH) - wedge), rtol=1e-9)


@pytest.mark.parametrize("tee", [-20.0, -600.0])
def test_a_tee_close_below_ends_both_when_the_higher_tank_is_dry(tmp_path: Path, tee: float) -> None:
    """Far below them each drains to its own outlet, a wedge of the half floor beside it; close below, air comes past the dry one."""
    ports = {"outlet feed": [LONG / 2, WIDE / 2, 0.0]}
    tanks = [box(name, [0.0, y, 0.0], [LONG, WIDE, HIGH], ports) for name, y in (("one", 0.0), ("two", APART))]
    middle = [LONG / 2, (APART + WIDE) / 2, tee]
    places = [part("tee", "tee", middle), {**PUMP, "position": ["0 mm", "0 mm", "-700 mm"]}, engine([0.0, 0.0, -700.0])]
    ends = [("one.feed", "tee"), ("two.feed", "tee"), ("tee", "pump"), ("pump", "engine")]
    lines = [line(f"{start} on", start, end, bore=12.0) for start, end in ends]
    slip = {"name": "slip", "pitch": "0 deg", "roll": f"{TILT} deg"}
    layout = built(tmp_path, tanks, places, lines, attitudes=[LEVEL, slip])
    at = review.study(layout).exchange.together[0].at[1]
    wedge, rise = LONG * (WIDE / 2) ** 2 / 2 * tan(radians(TILT)), APART * tan(radians(TILT))
    expected = wedge + (LONG * WIDE * rise if tee > -100.0 else wedge)
    assert_allclose(at.level_m3, litres(expected), rtol=1e-6)


def test_what_a_third_tank_holds_may_come_too_late(tmp_path: Path) -> None:
    """Leaned by 8°, three boxes stand 140.5 mm apart: of 200 mm in the middle and 50 mm in the low one the middle keeps 54.7 mm, whatever
    the high one holds; with that at one level too it would be 166.7 mm."""
    tanks = [box(name, [0.0, y, 0.0], [LONG, WIDE, HIGH], {"outlet cross": [LONG / 2, WIDE / 2, 0.0]}) for name, y in
             (("high", -APART), ("middle", 0.0), ("low", APART))]  # fmt: skip
    tanks[1]["outlet"].append(tanks[1]["outlet"][0] | {"name": "feed"})
    places = [{**PUMP, "position": ["0 mm", "0 mm", "-500 mm"]}, engine([0.0, 0.0, -500.0])]
    lines = [line(f"join {name}", f"{name}.cross", "middle.cross", "interconnect") for name in ("high", "low")]
    lines += [line("feed", "middle.feed", "pump"), line("on", "pump", "engine")]
    slip = {"name": "slip", "pitch": "0 deg", "roll": "8 deg"}
    layout = built(tmp_path, tanks, places, lines, attitudes=[LEVEL, slip])
    levelled = Levelled(Solving.of(layout), layout.tanks, layout.design.envelope[-1])
    area = LONG * WIDE
    kept = levelled.kept_m3({"high": litres(area * 250.0), "middle": litres(area * 200.0), "low": litres(area * 50.0)})
    assert_allclose(kept["middle"], litres(area * (250.0 - APART * tan(radians(8.0))) / 2.0), rtol=1e-9)


def test_a_lamp_trips_after_whatever_left_least_beside_it(tmp_path: Path) -> None:
    """The other slip for ever leaves less in the tank beside, which takes the more in this one."""
    alone = joined(tmp_path, 3.0).lamps[0]
    after = joined(tmp_path, 3.0, others=[{"name": "other slip", "pitch": "0 deg", "roll": f"-{TILT} deg"}]).lamps[0]
    assert after.after is not None
    assert after.after.name == "other slip"
    assert after.lasting.total_m3 < alone.lasting.total_m3 - litres(LONG * WIDE * 50.0)
    assert after.lasting.lasts_s < alone.lasting.lasts_s


# --- for a time: the exchange through a pipe in which the flow is laminar


def _pipe(bore: float) -> float:
    """Flow per pressure of the join, by Hagen and Poiseuille [m³/s/Pa]; from wall to wall it is so long."""
    length = (APART - WIDE) * 1e-3
    return pi * (bore * 1e-3) ** 4 / (128.0 * DENSITY * VISCOSITY * length)


@pytest.mark.parametrize("tandem", [False, True])
def test_the_engine_stops_when_the_linear_exchange_says(tmp_path: Path, tandem: bool) -> None:
    """With s = V1 - V2, S = V1 + V2 and surfaces that reach all walls: ds/dt = -q - 2 k (cos r s / A + d sin r) rho g, dS/dt = -q."""
    bore = 2.0
    found = joined(tmp_path, bore, tandem=tandem).lamps[0]
    area, q, k = LONG * WIDE * 1e-6, FLOW * LITRE / HOUR, _pipe(bore) * DENSITY * GRAVITY
    rate = 2.0 * k * cos(radians(TILT)) / area
    rests = -(q + 2.0 * k * APART * 1e-3 * sin(radians(TILT))) / rate
    begins = 2.0 * area * 0.2  # both hold 200 mm

    def over(at_s: float) -> float:
        apart = rests + (0.0 - rests) * np.exp(-rate * at_s)
        return float((begins - q * at_s + apart) / 2.0 - area * 0.1)

    expected = brentq(over, 0.0, 2.0 * HOUR)
    assert found.lasting.stopped
    assert found.promised_s > expected  # for itself it would last longer
    assert_allclose(found.lasting.total_m3, begins, rtol=1e-6)
    assert_allclose(
        found.lasting.lasts_s, expected, rtol=0.02
    )  # the pipe's ends take a little too, which the form leaves out
    assert_allclose(found.lasting.left_m3, begins - q * found.lasting.lasts_s, rtol=1e-6)


def test_small_steps_with_wedges_come_to_the_same(tmp_path: Path) -> None:
    """The outlet on the floor: towards the end the fuel is a wedge, whose level is found by bisection of its cut area."""
    bore, stands, mark = 2.5, 0.0, 60.0
    found = joined(tmp_path, bore, stands=stands, mark=mark, tilt=4.0).lamps[0]
    slope, k, q = tan(radians(4.0)), _pipe(bore) * DENSITY * GRAVITY, FLOW * LITRE / HOUR
    across = (np.arange(200) + 0.5) * WIDE * 1e-3 / 200

    def height(volume: float) -> float:
        """Of the surface over the middle of the floor, in body axes: it rises to the right."""
        wanted = volume / (LONG * 1e-3 * WIDE * 1e-3)
        return float(brentq(lambda h: (np.clip(h + (across - 0.2) * slope, 0.0, 0.3)).mean() - wanted, -0.1, 0.5))

    one = two = LONG * WIDE * mark * 1e-9
    at_s, step = 0.0, 6.0
    while height(one) > 0.0:
        drop = (height(one) - height(two) + APART * 1e-3 * slope) * cos(radians(4.0))
        one, two, at_s = one - (q + k * drop) * step, two + k * drop * step, at_s + step
    assert found.lasting.stopped
    assert_allclose(found.lasting.lasts_s, at_s, rtol=0.03)


def test_a_row_of_slips_leaves_what_the_linear_exchange_says(tmp_path: Path) -> None:
    """20 s of the other slip, then six rounds of a minute of slip out of one and those 20 s back: ds/dt as above, with the sign of r.

    Each round begins with what the last left apart, as much in all: s is what counts, the total does not.
    """
    bore, times = 3.0, (60.0, 20.0)
    back = {"name": "other slip", "pitch": "0 deg", "roll": f"-{TILT} deg", "held": f"{times[1]} s"}
    layout = laid_out(tmp_path, bore, held=f"{times[0]} s", others=[back])
    study = review.study(layout)
    joint = Joint(
        study.layout, next(one for one in joined_tanks(study.layout.network) if len(one.tanks) > 1), study.tanks
    )
    area, q, k = LONG * WIDE * 1e-6, FLOW * LITRE / HOUR, _pipe(bore) * DENSITY * GRAVITY
    rate = 2.0 * k * cos(radians(TILT)) / area
    slips = [one for one in study.layout.design.envelope if one.held_s]
    apart = 0.0
    for sign, at_s in [(-1.0, times[1]), *[(1.0, times[0]), (-1.0, times[1])] * 6]:
        rests = -(q + sign * 2.0 * k * APART * 1e-3 * sin(radians(TILT))) / rate
        apart = rests + (apart - rests) * np.exp(-rate * at_s)

    def row(each_m3: float) -> list[Quantities]:
        return after_rows(joint, slips[0], [{"one": each_m3, "two": each_m3}], 2.0 * each_m3).left

    assert not row(area * 0.2)  # enough whatever runs across
    (found,) = row(area * 0.14)
    assert_allclose(found["one"] - area * 0.14, apart / 2.0, rtol=0.03)
    assert_allclose(found["one"] + found["two"], 2.0 * area * 0.14, atol=1e-9)


# --- an outlet at the wall that the slip lifts, 10 mm from it and 25 mm over the floor: bare at the turn, whatever comes after


def at_the_wall(folder: Path, bore: float, *slips: tuple[str, float, str]) -> tuple[Study, TogetherAt]:
    """The pair with that outlet and slips by name, roll in degrees and time held; the first of them looked at."""
    one = box(
        "one", [0.0, 0.0, 0.0], [LONG, WIDE, HIGH], {"outlet feed": [LONG / 2, 390.0, 25.0], "outlet cross": [LONG / 2, WIDE, 0.0]}
    )  # fmt: skip
    two = box(
        "two",
        [0.0, APART, 0.0],
        [LONG, WIDE, HIGH],
        {"outlet cross": [LONG / 2, 0.0, 0.0], "outlet spare": [LONG / 2, 200.0, HIGH]},
    )
    places = [{**PUMP, "position": ["250 mm", "200 mm", "-500 mm"]}, engine([0.0, 0.0, -500.0])]
    lines = [
        line("feed", "one.feed", "pump"), line("on", "pump", "engine"),
        line("join", "two.cross", "one.cross", "interconnect", bore),
    ]  # fmt: skip
    stated = [
        {"name": name, "pitch": "0 deg", "roll": f"{roll} deg", **({"held": held} if held else {})}
        for name, roll, held in slips
    ]
    study = review.study(built(folder, [one, two], places, lines, f"{FLOW} L/h", attitudes=[LEVEL, *stated]))
    (group,) = study.exchange.together
    return study, next(at for at in group.at if at.attitude.name == slips[0][0])


def covers(degrees: float = -TILT) -> float:
    """What one must hold for its outlet to be wet in the slip: to 25 mm over the floor at the outlet, its surface at full width."""
    return litres(LONG * WIDE * (25.0 - 190.0 * tan(radians(degrees))))


def test_a_bare_outlet_gets_air_though_the_other_tank_is_about_to_run_into_it(tmp_path: Path) -> None:
    _, at = at_the_wall(tmp_path, 12.0, ("a", -TILT, "2 min"))
    assert at.held is not None
    assert at.held.from_m3 is not None
    assert 2.0 * covers() <= at.held.from_m3 < 2.0 * covers() * 1.03  # both at one level at the turn
    assert at.reserve is not None
    assert at.reserve.lasting.stopped  # half an hour above what each keeps for itself is less
    assert at.reserve.lasting.lasts_s == 0.0


def test_a_slip_comes_after_the_other_one_too(tmp_path: Path) -> None:
    """The other slip takes from one: the flight of both, one after the other, lasts from what is told, and not from 3 % less."""
    study, at = at_the_wall(tmp_path, 8.0, ("a", -TILT, "60 s"), ("b", TILT, "20 s"))
    group = next(one for one in joined_tanks(study.layout.network) if len(one.tanks) > 1)
    joint = Joint(study.layout, group, study.tanks)
    slip, other = [one for one in study.layout.design.envelope if one.held_s]
    assert at.held is not None
    assert at.held.from_m3 is not None
    assert at.held.from_m3 > 2.0 * covers() * 1.05

    def stops(total_m3: float) -> str:
        level = joint.normal.together(total_m3 + 20 * FLOW * LITRE / HOUR, joint.most_m3)
        return joint.lasts(slip, joint.left_after(other, level)[0][0], 60.0, joint.greatest).stopped

    assert not stops(at.held.from_m3)
    assert stops(at.held.from_m3 * 0.97)


def test_a_slip_is_turned_into_out_of_one_that_is_held_for_ever(tmp_path: Path) -> None:
    """At one level at +4° two's surface stands over its middle 1000 tan 4° higher, and one just covers its outlet in the slip."""
    _, at = at_the_wall(tmp_path, 12.0, ("a", -TILT, "30 s"), ("b", 4.0, ""))
    needed = 2.0 * covers() + litres(LONG * WIDE * APART * tan(radians(4.0)))
    assert at.held is not None
    assert at.held.from_m3 is not None
    assert needed <= at.held.from_m3 < needed * 1.03
    assert at.reserve is not None
    assert at.reserve.lasting.stopped


def test_a_row_of_slips_keeps_more_than_one_and_less_than_for_ever(tmp_path: Path) -> None:
    back = {"name": "other slip", "pitch": "0 deg", "roll": f"-{TILT} deg", "held": "10 s"}
    alone, row = (joined(tmp_path / str(n), 8.0, held="30 s", others=[back][:n]) for n in (0, 1))
    assert alone.held is not None
    assert row.held is not None
    assert alone.held.unusable_m3 + 1e-3 < row.held.unusable_m3 < row.level_m3


def test_no_row_leaves_less_than_the_rows_that_count_where_both_tanks_feed(tmp_path: Path) -> None:
    """Each slip takes from one tank: all rows of up to four and one of eight, flown turn by turn, leave no less in either."""
    ports = [{"outlet feed": [LONG / 2, 390.0, 0.0]}, {"outlet feed": [LONG / 2, 10.0, 0.0]}]
    tanks = [box(name, [0.0, k * APART, 0.0], [LONG, WIDE, HIGH], ports[k]) for k, name in enumerate(("one", "two"))]
    places = [
        part("tee", "tee", [LONG / 2, 700.0, -20.0]), {**PUMP, "position": ["0 mm", "0 mm", "-700 mm"]},
        engine([0.0, 0.0, -700.0]),
    ]  # fmt: skip
    ends = [("one.feed", "tee"), ("two.feed", "tee"), ("tee", "pump"), ("pump", "engine")]
    lines = [line(f"{start} on", start, end, bore=12.0) for start, end in ends]
    slips = [
        {"name": name, "pitch": "0 deg", "roll": f"{roll} deg", "held": held}
        for name, roll, held in (("a", TILT, "30 s"), ("b", -TILT, "20 s"), ("c", TILT / 3, "20 s"))
    ]
    study = review.study(built(tmp_path, tanks, places, lines, f"{FLOW} L/h", attitudes=[LEVEL, *slips]))
    joint = Joint(
        study.layout, next(one for one in joined_tanks(study.layout.network) if len(one.tanks) > 1), study.tanks
    )
    total_m3, brief = 9e-3, {one.name: one for one in joint.brief}
    each_m3 = joint.normal.together(total_m3, joint.most_m3)
    found = after_rows(joint, brief["b"], [each_m3], total_m3)
    assert not found.stopped
    least = {name: min(one[name] for one in found.left) for name in each_m3}
    for row in ("a", "c", "ba", "bc", "ac", "bac", "bca", "caba", "cabaca"):
        held: Quantities = joint.normal.together(
            total_m3 + joint.burnt_m3([brief[name] for name in row]), joint.most_m3
        )
        for name in row:
            ((held, lasting),) = joint.left_after(brief[name], held)
            assert not lasting.stopped
        for name in least:
            assert held[name] > least[name] - 5e-5
    assert least["one"] < each_m3["one"] - 1e-3


# --- laws


def test_a_narrower_join_gives_more_minutes_and_never_more_unusable_than_for_ever(tmp_path: Path) -> None:
    found = [joined(tmp_path / str(bore), bore, held="30 s") for bore in (8.0, 12.0)]
    kept = [at.held.unusable_m3 for at in found if at.held]
    assert kept[0] < kept[1]
    for at, unusable in zip(found, kept, strict=True):
        # Never less than one holds to its outlet, twice over at one level, and never more than for ever.
        assert litres(LONG * WIDE * 100.0) * 2.0 < unusable < at.level_m3 <= at.forever_m3
        assert at.unusable_m3 == unusable > at.own_m3
        assert not at.lamps[0].lasting.stopped  # what is promised counts its own outlet alone, so it holds
    # From a mark so low that fuel runs away until the end: none comes back through a wide join.
    forever = [joined(tmp_path / f"for ever {bore}", bore, mark=130.0).lamps[0].lasting for bore in (1.5, 4.0, 12.0)]
    lasts = [one.lasts_s for one in forever]
    assert lasts == sorted(lasts, reverse=True)
    assert lasts[-1] < lasts[0] / 5.0


def test_a_mirror_image_lasts_as_long(tmp_path: Path) -> None:
    one, other = joined(tmp_path / "one", 3.0), joined(tmp_path / "other", 3.0, mirrored=True)
    assert_allclose(other.level_m3, one.level_m3, rtol=1e-9)
    assert_allclose(other.lamps[0].lasting.lasts_s, one.lamps[0].lasting.lasts_s, rtol=1e-4)


# --- joined by a selector in one of its positions


@pytest.mark.parametrize("through_tee", [False, True])
def test_tanks_that_a_position_joins_are_flown_in_it_or_not_checked(tmp_path: Path, through_tee: bool) -> None:
    """A selector for one tank at a time over a header: with it on left, left and the header are one, and right is none of them. A line
    that comes to it from a tee of interconnects is none that a flight's positions tell."""
    ports = {"outlet feed": [LONG / 2, WIDE / 2, 0.0]}
    tanks = [box(name, [0.0, y, 0.0], [LONG, WIDE, HIGH], ports) for name, y in (("left", 0.0), ("right", APART))]
    tanks.append(
        box(
            "header",
            [0.0, 600.0, -500.0],
            [200.0, 200.0, 200.0],
            {"outlet feed": [100.0, 100.0, 0.0], "inlet in": [100.0, 100.0, 200.0]},
        )
    )
    places = [
        part("selector", "selector", [250.0, 700.0, -100.0], both=False), part("tee", "tee", [250.0, 700.0, -50.0]),
        {**PUMP, "position": ["0 mm", "0 mm", "-700 mm"]}, engine([0.0, 0.0, -700.0]),
    ]  # fmt: skip
    ends = [
        ("left.feed", "tee" if through_tee else "selector"),
        ("right.feed", "selector"),
        ("selector", "header.in"),
        ("header.feed", "pump"),
    ]
    lines = [
        line(f"{start} on", start, end, "interconnect" if end == "tee" else "feed", 12.0)
        for start, end in [*ends, ("pump", "engine")]
    ]
    lines += [line("tee on", "tee", "selector", "interconnect", 12.0)] if through_tee else []
    slip = {"name": "slip", "pitch": "0 deg", "roll": f"{TILT} deg"}
    study = review.study(built(tmp_path, tanks, places, lines, attitudes=[LEVEL, slip]))
    group = next(one for one in joined_tanks(study.layout.network) if one.tanks == ("left", "header"))
    joint = Joint(study.layout, group, [study.tank(name) for name in group.tanks])
    (found,) = (one for one in study.exchange.together if one.joined == group)
    if through_tee:
        assert "selector to be flown on tee on" in found.needs
    else:
        assert joint.settings == [{"selector": "left"}]
        assert found.at
