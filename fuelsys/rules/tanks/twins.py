"""Rule on tanks that are a left and a right one of one kind: what differs between them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from fuelsys.arrays import Floats
from fuelsys.model.built.layout import FittedTank
from fuelsys.model.found.findings import Reach, Source, Stake, Verdict
from fuelsys.model.found.study import Study
from fuelsys.rules.words import NO_FITTINGS, caution, litres, millimetres, needs, passed, place, rule

_SIDES = {"left": "right", "port": "starboard", "lh": "rh", "l": "r"}
_OTHER = _SIDES | {right: left for left, right in _SIDES.items()}
_SIDE = re.compile(rf"(?<![a-z])({'|'.join(_OTHER)})(?![a-z])")
ALIKE_SHARE = 0.05  # tanks on both sides that hold alike within this are a pair by their places
NEAR_M = 0.05  # how well their middles mirror one another
_PAIR = Source("when two tanks are a pair by their places: chosen here, no source")
LEAST_SHARE, LEAST_M, LEAST_BORE_M = 0.005, 1e-3, 1e-4
_LEAST = Source("differences that are let pass: chosen here, no source")
_MIRROR = np.array([1.0, -1.0, 1.0])


@dataclass(frozen=True, eq=False)
class _Fitting:
    """Something fixed in a tank: what it is, its name, its place in body axes about the cavity's centre, its bore."""

    kind: str
    name: str
    local_m: Floats
    bore_m: float | None = None

    @property
    def called(self) -> str:
        return f"{self.kind} {self.name}" if self.name and self.kind not in self.name else self.name or self.kind


@rule(
    subject="tank pair",
    reach=Reach.INSIDE,
    stake=Stake.REST,
    checks="A left and a right tank are mirror images: their mesh's unit, what they hold (to 0.5 %), where they stand and"
    " their fittings sit (to 1 mm), and how wide these are (to 0.1 mm). They are a pair by their names, or by their places: within"
    " 5 % of volume, middles on both sides of y = 0 within 50 mm.",
    why="Twin tanks are stated by copying one: what then differs is most often a sign that was not turned, or a change that"
    " was made on one side only.",
    mend="See which of the two is right; tanks that are meant to differ may stay as they are.",
    sources=(_PAIR, _LEAST),
)
def mirror_tanks_differ(study: Study) -> Iterator[Verdict]:
    """Each pair of twins: one is mirrored about y = 0 and held against the other, fittings about their tanks' middles."""
    for one, two in combinations(study.layout.tanks, 2):
        if not (_by_name(one, two) or _by_place(one, two)):
            continue
        where = f"{one.name} and {two.name}"
        bare = [tank.name for tank in (one, two) if not tank.design.ports]
        if bare:
            yield needs(where, f"of {' and '.join(bare)} {NO_FITTINGS}")
            continue
        untested = _untested(one, two)
        found = [*_tanks(one, two), *_fittings(one, two), *_as_twin(one, two)]
        if untested and len(found) == 1:
            mend = f"Fill {untested} too: `fuelsys filltest DESIGN --tank {untested}` writes the sheet; their meshes hold alike."
            yield caution(where, found[0][0], mend)
        elif found:
            mends = [mend for _, mend in found if mend]
            moved = f" If they should be alike: {'; '.join(mends)}; or change {one.name}." if mends else ""
            evidence = "; ".join(evidence for evidence, _ in found)
            yield caution(where, evidence, f"See which of the two is right.{moved}")
        else:
            held = litres(one.cavity.gross_m3)
            yield passed(where, f"mirror images, {held} each, with {len(_all(one))} fittings in the same places")


def _other_side(name: str) -> str:
    """A name for the other side, in small letters.

    >>> _other_side("Left main"), _other_side("wing-R"), _other_side("leftover")
    ('right main', 'wing-l', 'leftover')
    """
    return _SIDE.sub(lambda side: _OTHER[side[0]], name.lower())


def _by_name(one: FittedTank, two: FittedTank) -> bool:
    turned = _other_side(one.name)
    return turned != one.name.lower() and turned == two.name.lower()


def _by_place(one: FittedTank, two: FittedTank) -> bool:
    held, other = one.cavity.gross_m3, two.cavity.gross_m3
    first_m, second_m = one.cavity.centre_m, two.cavity.centre_m
    alike = abs(held - other) <= ALIKE_SHARE * max(held, other)
    return bool(alike and np.abs(first_m * _MIRROR - second_m).max() <= NEAR_M)


def _tanks(one: FittedTank, two: FittedTank) -> Iterator[tuple[str, str]]:
    """What differs between the tanks as a whole, and what would make the second like the first."""
    if one.design.unit != two.design.unit:
        units = f"{one.design.unit} and {two.design.unit}"
        yield f"the units of their meshes are {units}", f'give {two.name} unit = "{one.design.unit}"'
    held, other = one.cavity.gross_m3, two.cavity.gross_m3
    if _differ(held, other):
        share = abs(held - other) / max(held, other) * 100.0
        tested = [tank.name for tank in (one, two) if tank.corrected]
        drawn = f", {' and '.join(tested)} as measured" if tested else ""
        mend = f"look at the mesh of {two.name}" if _differ(_drawn_m3(one), _drawn_m3(two)) else ""
        yield f"they hold {litres(held)} and {litres(other)}, {share:.1f} % apart{drawn}", mend
    off_m = two.cavity.centre_m - one.cavity.centre_m * _MIRROR
    if np.linalg.norm(off_m) > LEAST_M:
        ways = (("aft", "forward"), ("to the right", "to the left"), ("up", "down"))
        parts = [
            f"{millimetres(abs(by_m))} {way[0] if by_m > 0.0 else way[1]}"
            for by_m, way in zip(off_m, ways, strict=True)
            if abs(by_m) > LEAST_M / 10.0
        ]
        yield (
            f"{two.name} stands off the mirror image of {one.name} by {', '.join(parts)}",
            f"move {two.name} back by that",
        )


def _as_twin(one: FittedTank, two: FittedTank) -> Iterator[tuple[str, str]]:
    """A tank that counts as small as its twin was measured, and was not measured itself."""
    for tank in (one, two):
        if tank.as_twin and _untested(one, two) == tank.name:
            less = (1.0 - tank.as_twin.share) * 100.0
            yield (
                f"{tank.name} was not measured and counts as its twin {tank.as_twin.twin}, {less:.1f} % smaller than drawn",
                "",
            )


def _differ(held_m3: float, other_m3: float) -> bool:
    return abs(held_m3 - other_m3) > LEAST_SHARE * max(held_m3, other_m3)


def _drawn_m3(tank: FittedTank) -> float:
    """What a tank holds before any fill test."""
    return tank.corrected.drawn.gross_m3 if tank.corrected else tank.cavity.gross_m3 / tank.share_by_test


def _untested(one: FittedTank, two: FittedTank) -> str:
    """Which of two tanks of like meshes has no fill test while the other has, by which one holds another quantity; "" where neither."""
    if (one.corrected is None) == (two.corrected is None) or _differ(_drawn_m3(one), _drawn_m3(two)):
        return ""
    tested, other = (one, two) if one.corrected else (two, one)
    return other.name if _differ(tested.cavity.gross_m3, _drawn_m3(other)) else ""


def _all(tank: FittedTank) -> list[_Fitting]:
    """All that is fixed in a tank at a place of its own."""
    design = tank.design
    found = [
        _Fitting(kind, one.name, tank.body_m(one.position_m) - tank.cavity.centre_m, one.bore_m)
        for kind, some in design.fittings.items()
        for one in some
    ]
    places = [("switch", switch.name, switch.mark_m) for switch in design.switch]
    if design.dipstick:
        places += [("dipstick's top", "", design.dipstick.top_m), ("dipstick's bottom", "", design.dipstick.bottom_m)]
    return found + [_Fitting(kind, name, tank.body_m(at) - tank.cavity.centre_m) for kind, name, at in places]


def _fittings(one: FittedTank, two: FittedTank) -> Iterator[tuple[str, str]]:
    """What differs between the fittings, and what would make those of the second tank like those of the first."""
    theirs = _all(two)
    for own in _all(one):
        match = _counterpart(own, _all(one), theirs)
        if match is None:
            yield f"{two.name} has no {own.called}", f"give {two.name} the {own.called}"
            continue
        theirs.remove(match)
        mirrored_m = own.local_m * _MIRROR
        off_m = float(np.linalg.norm(match.local_m - mirrored_m))
        if off_m > LEAST_M:
            at = place(two, mirrored_m + two.cavity.centre_m)
            yield (
                f"{match.called} sits {millimetres(off_m)} off its mirrored place",
                f"{match.called} of {two.name} at {at}",
            )
        if own.bore_m and match.bore_m and abs(own.bore_m - match.bore_m) > LEAST_BORE_M:
            bores = f"{millimetres(own.bore_m)} and {millimetres(match.bore_m)}"
            yield f"{match.called} is {bores} wide", f"{match.called} of {two.name} {millimetres(own.bore_m)} wide"
    for more in theirs:
        yield f"{one.name} has no {more.called}", f"take {more.called} out of {two.name}"


def _counterpart(own: _Fitting, all_own: list[_Fitting], theirs: list[_Fitting]) -> _Fitting | None:
    """The other tank's fitting of the same name, or that for the other side; else the only one where each has one."""
    same = [one for one in theirs if one.kind == own.kind]
    named = [one for one in same if one.name.lower() in (own.name.lower(), _other_side(own.name))]
    if not named and len(same) == 1 and sum(one.kind == own.kind for one in all_own) == 1:
        named = same
    return named[0] if named else None
