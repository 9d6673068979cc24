"""A tank that was not filled while its twin was: it never counts more than its twin, and says that it was not measured itself.

Out of the same moulds and by the same hands, with the same bodies that nobody drew: what made one of a pair smaller most likely made the
other so. Where the twin came out smaller its share carries (scale and layer), and how much lower its marks count, which is what no
attitude is surely without, whatever made it; and what its drain test left. What does not: the stick's own offset and tilt, which are of
that stick, that mounting and that ground; of two mirror images even the sign would be a guess. Where the twin came out larger nothing
carries: a tank may be the smaller one of a pair, and as drawn is the safe side.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from fuelsys.arrays import Floats
from fuelsys.model.built.cavity import Cavity, Spot, Taken
from fuelsys.model.built.layout import FittedTank, Layout
from fuelsys.model.built.measured import AsTwin
from fuelsys.model.words import Doubt, Quantity, Words

_LARGER = 1.0005  # less is 0.0 % in print


def beside(tank: FittedTank, tanks: Sequence[FittedTank], drawn: Layout) -> FittedTank:
    """A tank beside those of the design that were measured: one that was not counts no more than its twin that was, with a doubt."""
    twin = _measured_twin(tank, tanks)
    if tank.corrected or tank.as_twin or twin is None or twin.corrected is None:
        return tank
    share = twin.corrected.share
    mend = f"fill {tank.name} too (`fuelsys filltest`) before its quantities and minutes are relied on."
    much = f"was measured {abs(share - 1.0) * 100.0:.1f} %"
    if share >= 1.0:
        than = f"{much} larger" if share >= _LARGER else "was measured to hold as much"
        return replace(tank, untested=(Doubt(f"{tank.name} counts as drawn; its twin {twin.name} {than}: {mend}"),))
    untested = Doubt(
        f"{tank.name} was not measured itself and counts as small as its twin {twin.name}, which {much} smaller: {mend}"
    )
    like = AsTwin(twin.name, share, twin.design.measured_unusable_m3 or 0.0)
    opened = tank.opened and replace(tank.opened, cavity=_shared(tank.opened.cavity, like), as_twin=like)
    shared = replace(tank, cavity=_shared(tank.cavity, like), opened=opened, as_twin=like, untested=(untested,))
    up = drawn.design.normal("ground").up
    there = {name: drop for name, drop in _drops_m(drawn.tank(twin.name), twin, up).items() if drop > 0.0}
    own = _drops_m(drawn.tank(tank.name), tank, up)
    # A switch of another name than any of the twin's might be any of them.
    more = {name: there.get(name, max(there.values(), default=0.0)) - drop for name, drop in own.items()}
    more = {name: drop for name, drop in more.items() if drop > 0.0}
    said: list[Words] = [
        (f'Switch "{name.removeprefix("switch ")}": its mark counts as ', Quantity("length", (drop,), up=True),
         f" lower everywhere, as low as that of its measured twin {twin.name}.")
        for name, drop in more.items()
    ]  # fmt: skip
    return lower(shared, {name: drop * up for name, drop in more.items()}, said)


def lower(tank: FittedTank, by_m: Mapping[str, Floats], said: Sequence[Words]) -> FittedTank:
    """A tank with some of its spots lower, and what says so."""
    if not by_m:
        return tank
    opened = tank.opened and replace(tank.opened, spots=_moved(tank.opened, by_m))
    cavity = replace(tank.cavity, measured=(*tank.cavity.measured, *said))
    return replace(tank, spots=_moved(tank, by_m), cavity=cavity, opened=opened)


def _moved(tank: FittedTank, lower_m: Mapping[str, Floats]) -> dict[str, Spot]:
    """A tank's spots with some of them lower."""
    centre_m, spots = tank.cavity.centre_m, dict(tank.spots)
    for name, by_m in lower_m.items():
        spots[name] = tank.cavity.spot(name, tank.spot(name).point_m - by_m + centre_m)
    return spots


def _measured_twin(tank: FittedTank, tanks: Sequence[FittedTank]) -> FittedTank | None:
    """The tank of the same drawing that was measured, the smallest of several."""
    drawing = tank.design.mirror_of or tank.name
    twins = [one for one in tanks if one.corrected and (one.design.mirror_of or one.name) == drawing]
    return min(twins, key=lambda one: one.share_by_test, default=None)


def _drops_m(drawn: FittedTank, counted: FittedTank, up: Floats) -> dict[str, float]:
    """How much lower each switch's mark counts than it was drawn."""
    names = [f"switch {switch.name}" for switch in counted.design.switch]
    return {name: float((drawn.spot(name).point_m - counted.spot(name).point_m) @ up) for name in names}


def _shared(cavity: Cavity, like: AsTwin) -> Cavity:
    """The cavity holding the share that was found of its twin."""
    share, twin = like.share, like.twin
    lost = Taken(f"counted as small as its measured twin {twin}", cavity.gross_m3 * (1.0 - share))
    said: Words = (
        f"Counted as its measured twin {twin}, which holds {(share - 1.0) * 100.0:+.1f} % against what was drawn; not measured itself."
        " Unusable fuel is not counted as less for that.",
    )
    return cavity.counting(share, lost, said)
