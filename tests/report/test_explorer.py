"""The explorer's arithmetic in JavaScript against the Python kernels: the same states, the same answers."""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import designs
import numpy as np
import pytest
import solids
from commands import demo_study
from flights import walled
from numpy.testing import assert_allclose
from places import cavity_of, directions, inner_points, wall_points
from random_solids import random_body
from solids import Floats, Solid

from fuelsys import review
from fuelsys.analysis.tank.draining import Drained, Opening
from fuelsys.analysis.tank.unusable import outlets
from fuelsys.errors import MeshError
from fuelsys.kernels.drain import node_at
from fuelsys.model.built.cavity import Cavity, Spot, Taken
from fuelsys.model.stated.attitude import Attitude
from fuelsys.report.page import explorer

NODE = shutil.which("node")
HERE = Path(__file__).parents[1]
KERNEL = Path(explorer.__file__).with_name("explorer_kernel.js")
AGREED = 1e-9  # of the tank
needs_node = pytest.mark.skipif(NODE is None, reason="needs node to run JavaScript")


@dataclass(frozen=True)
class Case:
    """A cavity with its openings and marks, and the states that are asked for: the way up, the quantity."""

    name: str
    cavity: Cavity
    openings: tuple[Opening, ...]
    marks: tuple[Spot, ...]
    states: tuple[tuple[Floats, float], ...]

    def question(self) -> dict[str, Any]:
        """As the page's data say it."""
        tank = {
            "name": self.name,
            "outlets": [explorer.spot(one.spot) | explorer.opening(one) for one in self.openings],
            "switches": [explorer.spot(mark) for mark in self.marks],
            "stick": None,
            "mesh": explorer.mesh(self.cavity),
        }
        states = [{"up": up.tolist(), "quantity": quantity} for up, quantity in self.states]
        return {"tank": tank, "states": states}


def asked(cases: Sequence[Case], folder: Path) -> Iterator[tuple[Case, Floats, float, dict[str, Any]]]:
    """Each state of each case with JavaScript's answers to it."""
    questions = folder / "questions.json"
    put = [case.question() for case in cases]
    every = [one["tank"] for one in put]
    through = [{"all": every} if any(one.into for one in case.openings) else {} for case in cases]
    text = json.dumps([one | more for one, more in zip(put, through, strict=True)])
    questions.write_text(text, encoding="utf-8")
    script = [str(NODE), str(HERE / "explorer_states.js"), str(KERNEL), str(questions)]
    done = subprocess.run(script, capture_output=True, text=True, timeout=300, check=False)
    assert done.returncode == 0, done.stderr
    states = [(case, up, quantity) for case in cases for up, quantity in case.states]
    for (case, up, quantity), found in zip(states, json.loads(done.stdout), strict=True):
        yield case, up, quantity, found


def random_states(cavity: Cavity, number: int, seed: int, most_deg: float = 30.0) -> tuple[tuple[Floats, float], ...]:
    """Attitudes and quantities at random."""
    rng = np.random.default_rng(seed)
    tilts = rng.uniform(-most_deg, most_deg, (number, 2))
    shares = rng.uniform(0.0, 1.0, number)
    return tuple(
        (Attitude.of_degrees(pitch, roll).up, float(share) * cavity.gross_m3)
        for (pitch, roll), share in zip(tilts.tolist(), shares, strict=True)
    )


def held(drained: Drained, quantity: float) -> tuple[float, Floats]:
    """Level and levels of the seeds of a tank drained to a quantity, by halving: nothing is shared with the script's way."""
    ends = drained.end_m[: drained.n_seeds]
    low, high = float(ends.min()), drained.tilted.high_m
    if drained.left_m3 >= quantity:
        return low, np.maximum(ends, low)
    for _ in range(100):
        middle = (low + high) / 2.0
        much = float(drained.tilted.by_seed(np.maximum(ends, middle)[:, None]).sum())
        low, high = (low, middle) if much >= quantity else (middle, high)
    return high, np.maximum(ends, high)


def pools(drained: Drained, level: float, levels: Floats) -> list[float]:
    """What each pool holds, largest first."""
    tree, volumes = drained.tilted.tree, drained.tilted.by_seed(levels[:, None])[:, 0]
    found: dict[int, float] = {}
    for seed, volume in enumerate(volumes):
        ended = drained.end_m[seed] >= level
        node = int(drained._pool_of_seed[seed]) if ended else node_at(tree.parent, tree.top, seed, level)
        found[node] = found.get(node, 0.0) + float(volume)
    return sorted(found.values(), reverse=True)


def compare(case: Case, up: Floats, quantity: float, found: dict[str, Any]) -> None:
    """All that the script says of a state is what the kernels say."""
    near = AGREED * case.cavity.gross_m3
    if "fault" in found:  # both refuse, or neither does
        with pytest.raises(MeshError):
            Drained.of(case.cavity, up, case.openings, case.marks)
        return
    drained = Drained.of(case.cavity, up, case.openings, case.marks)
    assert found["residual"] == pytest.approx(drained.residual_m3, abs=near), case.name
    assert found["trapped"] == pytest.approx(drained.trapped_m3, abs=near), case.name
    assert found["stops"] == pytest.approx([one.level_m(up) for one in case.openings], abs=1e-12), case.name
    for mark, spot in enumerate(case.marks):
        for state, one in zip((1, 0), found["passed"][mark], strict=True):
            expected = drained.passed(mark, 0.0, state)
            assert (one is None) == (expected is None), (case.name, spot.name)
            assert one is None or one == pytest.approx(expected, abs=near), (case.name, spot.name)
        below = drained.tilted.volume_and_area(np.array([drained.tilted.level_m(spot)]))[0][0]
        assert found["below"][mark] == pytest.approx(below, abs=near)
    level, levels = held(drained, quantity)
    assert found["quantity"] == pytest.approx(max(quantity, drained.left_m3), abs=near), case.name
    mine = pools(drained, level, levels)
    assert found["pools"][: len(mine)] == pytest.approx(mine, abs=near), case.name
    assert sum(found["pools"][len(mine) :]) <= near
    seeds = drained.tilted.tree.port_seed[len(case.openings) :]
    for mark, spot in enumerate(case.marks):
        above = levels[seeds[mark]] - drained.tilted.level_m(spot) if seeds[mark] >= 0 else None
        assert above is None or abs(above) < 1e-9 or (found["wet"][mark] > 0) == (above > 0), (case.name, spot.name)


@needs_node
def test_200_random_states_of_the_example(tmp_path: Path) -> None:
    study = demo_study()
    cases = []
    for number, tank in enumerate(study.layout.tanks):
        marks = tuple(tank.spot(f"switch {switch.name}") for switch in tank.design.switch)
        stick = (tank.spot("dipstick bottom"),) if tank.design.dipstick else ()
        states = random_states(tank.cavity, 200, number, 20.0)
        named = tuple((a.up, k / 9 * tank.cavity.gross_m3) for k, a in enumerate(study.layout.design.envelope))
        cases.append(Case(tank.name, tank.cavity, tuple(outlets(tank)), marks + stick, states + named))
    compared = [compare(*one) for one in asked(cases, tmp_path)]
    assert len(compared) == 3 * 209


def standing_can(sunk_m: float) -> Solid:
    """The can of box_with_void, brought down so that it is sunk into the floor by a length once the body is made small."""
    vertices, faces = solids.box_with_void()
    return vertices - [0.0, 0.0, 1.0 + sunk_m / SMALL] * (np.arange(len(vertices)) >= 8)[:, None], faces


SMALL = 0.03  # bodies of a few units become tanks of some 0.1 m
AWKWARD: dict[str, Solid] = {
    "L": solids.l_tank(),
    "stepped floor": solids.stepped_floor(),
    "hanging and standing plates": solids.baffled_box(),
    "a can that hangs free": solids.box_with_void(),
    "a can that stands on the floor": standing_can(0.0),
    "a can that is sunk into it": standing_can(1e-6),
    "pockets": solids.egg_crate(),
    "a hole": solids.ring(),
    "a ball": solids.sphere(),
    **{f"random {seed}": random_body(seed) for seed in range(60)},
}


def fitted(name: str, solid: Solid, seed: int, holes: int) -> Case:
    """A body of some 0.1 m with outlets on its wall and in its room, with cover or without, and marks."""
    small, rng = (solid[0] * SMALL, solid[1]), np.random.default_rng(seed)
    cavity = replace(cavity_of(small), share=1.0 - 0.01 * (seed % 3))  # what is left of it beside what was not drawn
    cavity = replace(cavity, gross_m3=cavity.gross_m3 * cavity.share)
    points = [*(point for point, _ in wall_points(small, rng, holes)), *inner_points(small, rng, 4)]
    spots = [cavity.spot(f"spot {k}", point) for k, point in enumerate(points)]
    openings = tuple(Opening(spot, cover_m=0.002 * k) for k, spot in enumerate(spots[:holes]))
    level = [(up, 0.3 * cavity.gross_m3) for up in directions(seed)]  # exactly level too, upside down, any way
    return Case(name, cavity, openings, tuple(spots), (*random_states(cavity, 9, seed, 60.0), *level))


@needs_node
@pytest.mark.parametrize("holes", [1, 2])
def test_awkward_bodies(holes: int, tmp_path: Path) -> None:
    cases = [fitted(name, solid, seed, holes) for seed, (name, solid) in enumerate(AWKWARD.items())]
    assert len([compare(*one) for one in asked(cases, tmp_path)]) == 12 * len(AWKWARD)


@needs_node
def test_of_a_tank_that_a_test_found_smaller_no_less_stays_behind_than_drawn(tmp_path: Path) -> None:
    drawn = fitted("drawn", solids.stepped_floor(), 0, 1)
    cavity = drawn.cavity.counting(0.9, Taken("fill test", 0.1 * drawn.cavity.gross_m3), ())
    pair = asked([drawn, replace(drawn, cavity=cavity)], tmp_path)
    before, after = np.array([[one[3][part] for part in ("residual", "trapped")] for one in pair]).reshape(2, -1)
    assert before.max() > 0.0
    assert_allclose(after, before, rtol=1e-9)


TEES = {"fore": ["550 mm", "0 mm", "900 mm"], "aft": ["450 mm", "0 mm", "800 mm"]}


@needs_node
def test_lines_and_covers_hold_the_surface_up(tmp_path: Path) -> None:
    """A feed line by gravity over a hump, which parts and joins again; the height that the flow needs is known."""
    tees = [{"name": name, "kind": "tee", "position": place} for name, place in TEES.items()]
    halves = [
        designs._line("down", "feed", "main.outlet", "fore"),
        designs._line("over the hump", "feed", "fore", "aft", ["480 mm", "0 mm", "1150 mm"]),
        designs._line("over less", "feed", "fore", "aft", ["470 mm", "80 mm", "1060 mm"]),
        designs._line("on", "feed", "aft", "header.from main"),
    ]
    changes = {"component": [*designs.COMPONENTS, *tees], "line": [*designs.LINES[:2], *halves, *designs.LINES[3:]]}
    layout = review.read(bench(tmp_path, changes))
    assert [len(way.firsts) for one in outlets(layout.tanks[0]) for way in one.ways] == [4]
    assert outlets(layout.tanks[0])[0].over_m(Attitude.of_degrees(3.0, 2.0).up) > 0.05
    cases = []
    for tank in layout.tanks:
        openings = tuple(outlets(tank))
        states = random_states(tank.cavity, 40, 5, 25.0)
        cases.append(Case(tank.name, tank.cavity, openings, (), states))
        still = tuple(replace(one, heights_m=()) for one in openings)
        cases.append(Case(f"{tank.name}, flow not known", tank.cavity, still, (), states))
    assert len([compare(*one) for one in asked(cases, tmp_path)]) == 160


@needs_node
def test_what_is_left_behind_a_wall_in_the_next_tank_stands_in_the_way(tmp_path: Path) -> None:
    layout = walled(tmp_path)
    cases = [
        Case(one.name, one.cavity, tuple(outlets(one)), (), random_states(one.cavity, 20, 3, 12.0))
        for one in layout.tanks
    ]
    assert len([compare(*one) for one in asked(cases, tmp_path)]) == 40


@needs_node
def test_more_corners_than_two_bytes_can_count(tmp_path: Path) -> None:
    cavity = cavity_of(solids.sphere(0.2, facets=360, steps=92))
    assert len(cavity.vertices_m) > 65_536
    case = Case(
        "fine", cavity, (Opening(cavity.spot("low", np.array([0.0, 0.0, -0.2]))),), (), random_states(cavity, 2, 1)
    )
    assert len([compare(*one) for one in asked([case], tmp_path)]) == 2


def bench(folder: Path, changes: dict[str, Any]) -> Path:
    designs.layout_of(folder, changes)
    return folder / "bench.toml"
