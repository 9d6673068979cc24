"""One field of a design taken out: never does that turn a fail or a caution into a pass without a word.

`python tests/deletions.py` lists every field, and what becomes of the findings without it.
"""

from __future__ import annotations

import pytest
import sound_designs as sound
from deletions import fields, without

# A fault is gone with the thing that had it, and nothing else was amiss: the field, and why that is right.
RIGHT = {
    "tank[].switch[]": "a switch that is not there warns of nothing; others are asked for by warning-below-ten-minutes",
}
EACH = 4  # field is taken out here; `python tests/deletions.py` takes out all, in some minutes
PARTS = ["aircraft", "fuel", "flows", "attitude", "tank", "component", "line", "show"]


@pytest.mark.parametrize("part", PARTS)
@pytest.mark.parametrize("architecture", ["header", "taildragger"])
def test_no_field_is_missed_in_silence(architecture: str, part: str) -> None:
    places = [place for place in fields(sound.design_of(architecture)) if place[0] == part]
    told = [without(architecture, place) for place in places[::EACH]]
    assert [(one.where, one.silent) for one in told if one.silent and one.record not in RIGHT] == []
    for one in told:
        assert "Traceback" not in one.refused
        assert not one.refused or one.refused.startswith("bench.toml: ")


def test_all_parts_are_gone_through() -> None:
    known = {place[0] for name in ("header", "taildragger") for place in fields(sound.design_of(name))}
    assert known <= set(PARTS)
