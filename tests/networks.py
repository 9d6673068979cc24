"""Small networks made by hand or at random, every simple path of them, and ladders whose paths nobody could list."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import designs
import numpy as np

from fuelsys.model.built.ends import ComponentEnd, End, PlacedLine, PortEnd, Step, end_of
from fuelsys.model.built.network import Network
from fuelsys.model.stated import components, fittings
from fuelsys.model.stated import design as d
from fuelsys.model.stated.design import LineKind

KINDS: dict[str, Any] = {
    "tee": components.Tee, "valve": components.Valve, "pump": components.Pump, "filter": components.Filter,
    "engine": components.Engine, "overboard": components.Overboard,
    "check valve": components.CheckValve,
}  # fmt: skip
Drawn = tuple[str, str, str]  # a line's name, its from and its to


def network(
    kind: LineKind,
    parts: Mapping[str, tuple[str, Sequence[float]]],
    lines: Sequence[Drawn],
    bends: Mapping[str, Sequence[Sequence[float]]] | None = None,
    bores_mm: Mapping[str, float] | None = None,
    drains: Mapping[str, Sequence[Sequence[float]]] | None = None,
) -> Network:
    """A network of one kind: parts are kind (of component, or "outlet", "vent", "inlet" for tank.port) and place in mm."""
    nodes: dict[End, fittings.Port | components.Component] = {}
    for name, (what, _) in parts.items():
        place = ["0 mm"] * 3
        if what in KINDS:
            nodes[ComponentEnd(name)] = KINDS[what](name=name, kind=what, position_m=place)
        else:
            port = {"outlet": fittings.Outlet, "vent": fittings.Vent, "inlet": fittings.Inlet}[what]
            nodes[end_of(name)] = port(name=name.partition(".")[2], position_m=place)
    placed = []
    for name, start, end in lines:
        bore = f"{(bores_mm or {}).get(name, 8)} mm"
        line = d.Line(name=name, kind=kind, from_port=start, to_port=end, bore_m=bore)  # type: ignore[arg-type]
        way = [parts[start][1], *(bends or {}).get(name, ()), parts[end][1]]
        drained = np.array((drains or {}).get(name, ()), dtype=np.float64).reshape(-1, 3) / 1e3
        placed.append(PlacedLine(line, np.array(way, dtype=np.float64) / 1e3, drained))
    tanks = tuple(dict.fromkeys(end.tank for end in nodes if isinstance(end, PortEnd)))
    return Network(tanks, nodes, tuple(placed))


def simple_paths(of: Network, kind: LineKind, start: End, end: End, closed: set[End]) -> Iterator[tuple[Step, ...]]:
    """Every path from end to end that comes to no place twice: the slow way."""

    def on(path: tuple[Step, ...], here: End, been: frozenset[End]) -> Iterator[tuple[Step, ...]]:
        if here == end:
            yield path
            return
        for line in of.edges:
            ways = [(line.start, line.end)] + ([] if kind in ("feed", "return") else [(line.end, line.start)])
            for one, two in ways:
                if one == here and two not in been and (two == end or two not in closed):
                    yield from on((*path, Step(line, one, two)), two, been | {two})

    yield from on((), start, frozenset({start}))


def drawn_at_random(seed: int, kind: LineKind, loops: bool) -> Network:
    """A tank, some joints with bends and filters between, and two ends; without loops feed lines lead on only."""
    dice = random.Random(seed)
    place = lambda: (dice.randrange(0, 400, 20), dice.randrange(0, 400, 20), dice.randrange(0, 100, 10))  # noqa: E731
    first, last = ("t.out", "engine") if kind == "feed" else ("t.vent", "overboard")
    what: dict[str, tuple[str, Sequence[float]]] = {first: ("outlet" if kind == "feed" else "vent", place())}
    for i in range(dice.randint(2, 5)):
        what[f"j{i}"] = (dice.choice(["tee", "tee", "tee", "filter", "valve"]), place())
    what[last] = (last, place())
    names = list(what)
    lines, bends, bores, drains = [], {}, {}, {}
    sizes = dice.choice([[8], [8, 30]])
    for k in range(dice.randint(len(names) - 1, 9)):
        one, two = sorted(dice.sample(range(len(names)), 2))
        if loops and dice.random() < 0.5:
            one, two = two, one
        lines.append((f"l{k}", names[one], names[two]))
        bends[f"l{k}"] = [place() for _ in range(dice.randint(0, 2))]
        bores[f"l{k}"] = dice.choice(sizes)
        drains[f"l{k}"] = [] if dice.random() < 0.6 else bends[f"l{k}"][:1]
    return network(kind, what, lines, bends, bores, drains)


def ladder(n: int, kind: LineKind) -> dict[str, Any]:
    """Changes to the base design: the main tank's feed or vent leads through n diamonds that rise and fall, on 2^n paths."""
    start, end, replaced = ("main.outlet", "header.from main", 2) if kind == "feed" else ("main.vent", "overboard", 0)
    tees: list[dict[str, Any]] = []
    lines: list[tuple[str, str]] = [(start, "j0"), (f"j{n}", end)]
    for i in range(n + 1):
        tees.append(_tee(f"j{i}", 560.0 - 60.0 * i / n, i))
        for side in "ab" if i < n else "":
            tees.append(_tee(f"p{i}{side}", 560.0 - 60.0 * (i + 0.5) / n, 3 * i + (side == "a")))
            lines += [(f"j{i}", f"p{i}{side}"), (f"p{i}{side}", f"j{i + 1}")]
    drawn = [{"name": f"{a} to {b}", "kind": kind, "from": a, "to": b, "bore": "8 mm"} for a, b in lines]
    kept = [line for i, line in enumerate(designs.LINES) if i != replaced]
    return {"component": [*designs.COMPONENTS, *tees], "line": [*kept, *drawn]}


def _tee(name: str, x_mm: float, step: int) -> dict[str, Any]:
    return {"name": name, "kind": "tee", "position": [f"{x_mm:g} mm", "0 mm", f"{700 + step * 37 % 11 * 3} mm"]}
