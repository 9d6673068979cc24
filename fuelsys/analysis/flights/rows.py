"""Joined tanks through a row of attitudes that are each held for a time: what has run across in one and not yet back by the next.

Of two tanks, one before the engine, let x be what that one holds of a total. At an attitude x runs towards the one level there, never
past it, and the more of two x stays the more (what runs depends on x alone, and two courses of one equation do not cross). So where
x after an attitude and another, b, is no less than it would be at one level in level flight, as much aboard, no further round leaves
less, and the turn out of level flight, which is looked at, is the worst. Where it is less, the rounds are flown on, each beginning
with what the last left missing, until one leaves no less than the one before, or six are flown; the last counts.
No flight is needed where the tanks before the engine outlast the attitude with the least that one level leaves them at any of the
attitudes that are held for a time, less all that is burnt in six rounds: below that least, fuel runs into them, if at all.
Of more than two tanks the same is flown, without that proof; of rows, those of two attitudes in turn, without a pause.
"""

from __future__ import annotations

from collections.abc import Mapping

from fuelsys.analysis.flights.lasting import Joint, Quantities
from fuelsys.model.stated.attitude import Attitude

_ROUNDS = 6  # chosen here, no source
_TRIFLE_M3 = 1e-6  # a millilitre less is none; chosen here, no source


def missing_after_a_row(joint: Joint, attitude: Attitude, held: Quantities) -> Mapping[str, float]:
    """What each has more (below zero: less) than at one level in level flight when the attitude is turned into again, at worst.

    held is what each has at one level, as much in all; nothing where no row leaves less before the engine.
    """
    none: dict[str, float] = {}
    fed = [one.name for one in joint.before]
    others = [
        one
        for one in joint.layout.design.envelope
        if one.phase == "flight" and one.held_s is not None and one != attitude
    ]
    if not others or not 0 < len(fed) < len(held) or attitude.held_s is None:
        return none
    longest_s = attitude.held_s + max(one.held_s or 0.0 for one in others)
    if joint.outlasts_any(attitude, others, held, _ROUNDS * longest_s):
        return none
    found = [_row(joint, (attitude, other), held, fed) for other in others]
    return min(found, key=lambda off: sum(off.get(name, 0.0) for name in fed))


def shifted(joint: Joint, held: Quantities, off: Mapping[str, float]) -> dict[str, float]:
    """The same total with that much more or less in each, none below nothing or more than full."""
    found = {name: min(max(0.0, one + off.get(name, 0.0)), joint.most_m3[name]) for name, one in held.items()}
    over = sum(found.values()) - sum(held.values())
    return {name: max(0.0, one - over * one / max(sum(found.values()), 1e-12)) for name, one in found.items()}


def _row(joint: Joint, turns: tuple[Attitude, Attitude], held: Quantities, fed: list[str]) -> Mapping[str, float]:
    off: dict[str, float] = {}
    for _ in range(_ROUNDS):
        here = shifted(joint, held, off)
        for one in turns:
            here = joint.left_after(one, here)
        level = joint.normal.together(sum(here.values()), joint.most_m3)
        new = {name: here[name] - level[name] for name in here}
        if sum(new[name] for name in fed) >= sum(off.get(name, 0.0) for name in fed) - _TRIFLE_M3:
            break
        off = new
    return off
