"""A tank that is the mirror image of another: its table made from the other's before any field is judged."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from fuelsys import units
from fuelsys.errors import UnitError, meant
from fuelsys.load.designs.faults import Fault

_SIDES = ("right", "left")
_OWN = ("measured", "measured_unusable")  # found by tests on the other tank


def lateral(axes: object) -> int | None:
    """Which of x, y and z runs across the aircraft, by the words of `axes`; None where they do not say.

    >>> lateral("aft, right, up"), lateral("Left, aft, up"), lateral("up, up")
    (1, 0, None)
    """
    words = [word.strip().lower() for word in axes.split(",")] if isinstance(axes, str) else []
    across = [i for i, word in enumerate(words) if word in _SIDES]
    return across[0] if len(words) == 3 and len(across) == 1 else None


def expanded(tables: dict[str, Any]) -> tuple[dict[str, Any], list[Fault]]:
    """The tables with each `mirror_of` tank written out: what it states itself stands, the rest is the other's, mirrored;
    but for what was measured of it.

    Places in the tank are mirrored along the mesh's lateral axis, its position along the aircraft's.
    """
    tanks = tables.get("tank")
    if not isinstance(tanks, list) or not any(isinstance(tank, dict) and "mirror_of" in tank for tank in tanks):
        return tables, []
    faults: list[Fault] = []
    aircraft = tables.get("aircraft")
    across = lateral(aircraft.get("axes")) if isinstance(aircraft, dict) else None
    return {**tables, "tank": [_one(i, tanks, across, faults) for i in range(len(tanks))]}, faults


def _one(i: int, tanks: list[Any], across: int | None, faults: list[Fault]) -> Any:
    own = tanks[i]
    if not isinstance(own, dict) or "mirror_of" not in own:
        return own
    names = [tank.get("name") for tank in tanks if isinstance(tank, dict) and "mirror_of" not in tank]
    other = own["mirror_of"]
    if other not in names:
        known = [name for name in names if isinstance(name, str)]
        near = meant(other, known) if isinstance(other, str) else ""
        mend = f"{near}Name a tank that is written out; there are: {', '.join(known) or 'none'}."
        faults.append(Fault(("tank", i, "mirror_of"), f"there is no tank {units.shown(other)} to mirror", mend))
        return own
    source = next(tank for tank in tanks if isinstance(tank, dict) and tank.get("name") == other)
    along = lateral(source.get("axes"))
    made = {
        key: _mirrored(value, across if key == "position" else along)
        for key, value in source.items()
        if key not in _OWN
    }
    return {**made, **own}


def _mirrored(value: Any, axis: int | None) -> Any:
    """A value with every place in it mirrored, a list of three lengths, and every left or right side that is drilled through."""
    if isinstance(value, dict):
        own = {key: one for key, one in value.items() if key != "measured_trip"}
        return {key: _other_side(one) if key == "through" else _mirrored(one, axis) for key, one in own.items()}
    if not isinstance(value, list):
        return deepcopy(value)
    if axis is not None and len(value) == 3 and all(_is_length(one) for one in value):
        return [_opposite(one) if i == axis else one for i, one in enumerate(value)]
    return [_mirrored(one, axis) for one in value]


def _other_side(side: Any) -> Any:
    """Left for right and right for left; what else it may be stays.

    >>> _other_side("left"), _other_side("top")
    ('right', 'top')
    """
    return {"left": "right", "right": "left"}.get(side, side) if isinstance(side, str) else deepcopy(side)


def _is_length(value: object) -> bool:
    try:
        units.parse(value, "length")
    except UnitError:
        return False
    return True


def _opposite(text: str) -> str:
    """A length of the other sign, in the same digits.

    >>> _opposite("-20 mm"), _opposite("1.5 in"), _opposite("0 mm")
    ('20 mm', '-1.5 in', '0 mm')
    """
    plain = text.strip().replace("\\N{MINUS SIGN}", "-")
    if units.parse(plain, "length") == 0.0:
        return plain
    return plain[1:] if plain.startswith("-") else f"-{plain.removeprefix('+')}"
