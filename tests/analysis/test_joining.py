"""How tanks are joined: by lines alone, and with valves open and selectors in each of their positions."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import pytest
from networks import KINDS
from networks import network as drawn

from fuelsys.model.built.ends import ComponentEnd
from fuelsys.model.built.joining import MOST_SETTINGS, Joined, joined, parted
from fuelsys.model.built.network import Network
from fuelsys.model.stated import components

PLACE = (0.0, 0.0, 0.0)


def network(kinds: Mapping[str, str], lines: Sequence[tuple[str, str]], **both: bool | None) -> Network:
    """Tanks a, b, c by their outlets and inlets "x.in"; both tells it of each selector, by name."""
    parts = {end: ("inlet" if ".in" in end else "outlet", PLACE) for pair in lines for end in pair if "." in end}
    parts |= {name: (kind if kind in KINDS else "tee", PLACE) for name, kind in kinds.items()}
    made = drawn("feed", parts, [(f"{one} to {two}", one, two) for one, two in lines])
    nodes: dict[Any, Any] = dict(made.nodes)
    for name, value in both.items():
        nodes[ComponentEnd(name)] = components.Selector(name=name, kind="selector", position_m=["0 mm"] * 3, both=value)  # type: ignore[arg-type]
    return Network(made.tanks, nodes, made.edges)


FED = [("a.out", "s"), ("b.out", "s"), ("s", "c.in")]


def test_lines_alone_join_and_a_pump_parts() -> None:
    found = joined(network({"t": "tee", "p": "pump"}, [("a.out", "t"), ("b.out", "t"), ("t", "p"), ("p", "c.in")]))
    assert found == (Joined(("a", "b")), Joined(("c",)))


def test_an_open_valve_joins() -> None:
    found = joined(network({"v": "valve"}, [("a.out", "v"), ("v", "b.in")]))
    assert found == (Joined(("a",)), Joined(("b",)), Joined(("a", "b"), ("v open",)))


def test_a_valve_that_joins_nothing_is_not_named() -> None:
    lines = [("a.out", "v"), ("v", "b.in"), ("b.out", "w"), ("w", "e")]
    found = joined(network({"v": "valve", "w": "valve", "e": "engine"}, lines))
    assert found[2:] == (Joined(("a", "b"), ("v open",)),)


def test_two_valves_side_by_side_are_both_named() -> None:
    lines = [("a.out", "v"), ("v", "b.in"), ("a.out", "w"), ("w", "b.in"), ("b.out", "x"), ("x", "e")]
    kinds = {"v": "valve", "w": "valve", "x": "valve", "e": "engine"}
    assert joined(network(kinds, lines))[2:] == (Joined(("a", "b"), ("v open", "w open")),)


@pytest.mark.parametrize(
    ("both", "wanted"),
    [
        pytest.param(True, [Joined(("a", "b", "c"), ("s set to both",))], id="both"),
        pytest.param(
            False,
            [Joined(("a", "c"), ("s set to a.out to s",)), Joined(("b", "c"), ("s set to b.out to s",))],
            id="one",
        ),
        pytest.param(
            None,
            [
                Joined(("a", "c"), ("s set to a.out to s",)),
                Joined(("b", "c"), ("s set to b.out to s",)),
                Joined(("a", "b", "c"), ("s set to both",), ("s",)),
            ],
            id="not stated",
        ),
    ],
)
def test_a_selector_joins_in_its_positions(both: bool | None, wanted: list[Joined]) -> None:
    found = joined(network({"s": "selector"}, FED, s=both))
    assert [one.tanks for one in found[:3]] == [("a",), ("b",), ("c",)]
    assert list(found[3:]) == wanted


def test_what_a_stated_selector_does_is_not_unknown() -> None:
    # The valve beside the selector joins a and b; the selector that says nothing is not needed for it.
    lines = [*FED, ("a.out", "v"), ("v", "b.in")]
    found = joined(network({"s": "selector", "v": "valve"}, lines, s=None))
    assert Joined(("a", "b", "c"), ("s set to a.out to s", "v open")) in found
    assert not any(one.unknown for one in found)


def test_selectors_without_end_are_taken_as_not_stated() -> None:
    names = [f"s{i}" for i in range(9)]  # three lines each: two positions, 2^9 = 512
    assert 2 ** len(names) > MOST_SETTINGS
    lines = [pair for i, name in enumerate(names) for pair in (("a.out", name), ("b.out", name), (name, f"t{i}"))]
    kinds = dict.fromkeys(names, "selector") | {f"t{i}": "tee" for i in range(9)}
    made = network(kinds, lines, **dict.fromkeys(names, False))
    (together,) = joined(made)[2:]
    assert together.tanks == ("a", "b")
    assert together.unknown == tuple(names)


def test_check_valves_part_tanks_as_they_block() -> None:
    kinds = {"p": "check valve", "q": "check valve", "t": "tee", "e": "engine"}
    lines = [("a.out", "p"), ("p", "t"), ("b.out", "q"), ("q", "t"), ("t", "e")]
    one_way = network(kinds, lines)
    (group,) = joined(one_way)
    assert [part.tanks for part in parted(one_way, group)] == [("a",), ("b",)]
    # Without one of them fuel runs from the other tank into that one, and not back.
    open_b = network(kinds, [*lines[:2], ("b.out", "t"), *lines[4:]])
    assert [part.tanks for part in parted(open_b, joined(open_b)[0])] == [("a", "b")]
