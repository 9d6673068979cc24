"""What a fill test says, in sentences: how the tank differs from its drawing, what cannot be told apart, which lines do not belong."""

from __future__ import annotations

import re
from collections.abc import Sequence
from math import degrees, hypot

from fuelsys import units
from fuelsys.model.found.filltest import BLOCKS, Block, Fewer, FillFit, FillTest, Found, Suspect, Tried
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown

_CALLED: dict[Block, str] = {"scale": "scale", "offset": "stick's offset", "tilt": "tilt", "layer": "layer"}

_MEANS = {
    "scale": "Scale: the tank holds so much {way} than drawn at every level.",
    "offset": "Stick's offset: it reads so much {way} than drawn.",
    "pitch": "Pitch and roll: the aircraft stood so much further nose up and right wing down than stated.",
    "layer": "Layer: so thick a layer lies on all that faces up inside; below zero, fuel was in the tank before, or the floor"
    " hangs lower.",
}


def means(found: Sequence[Found]) -> list[str]:
    """What each figure of a correction says, with the way that its sign points.

    >>> means([Found("scale", -0.04, 0.003)])
    ['Scale: the tank holds so much less than drawn at every level.']
    """
    return [_MEANS[one.name].format(way="less" if one.value < 0.0 else "more") for one in found if one.name in _MEANS]


def called(one: Tried) -> str:
    """A correction by the names of its figures."""
    names = [_CALLED[block] for block in BLOCKS if block in one.blocks]
    return " with ".join(names) if names else "none"


def in_words(found: Sequence[Found], shown: Shown) -> str:
    """How the tank differs from its drawing, each figure with the half-width of its band.

    >>> in_words([Found("scale", -0.04, 0.003), Found("pitch", 0.007, 0.002), Found("roll", 0.0, 0.002)], Shown())
    'smaller by 4.0 % (± 0.3), tilted by 0.4° (pitch 0.4 ± 0.1, roll 0.0 ± 0.1)'
    """
    by, said = {one.name: one for one in found}, []
    if scale := by.get("scale"):
        way = "smaller" if scale.value < 0.0 else "larger"
        said.append(f"{way} by {abs(scale.value) * 100.0:.1f} % (± {scale.within * 100.0:.1f})")
    if "pitch" in by:
        each = [
            f"{name} {degrees(by[name].value) + 0.0:.1f} ± {degrees(by[name].within):.1f}" for name in ("pitch", "roll")
        ]
        by_deg = degrees(hypot(by["pitch"].value, by["roll"].value))
        said.append(f"tilted by {by_deg:.1f}° ({', '.join(each)})")
    if offset := by.get("offset"):
        way = "high" if offset.value > 0.0 else "low"
        length = shown.text(abs(offset.value), "length")
        said.append(f"the stick reads {length} (± {shown.figure(offset.within, 'length')}) too {way}")
    if layer := by.get("layer"):
        thick = f"{units.plain(abs(layer.value) * 1e3, 2)} mm (± {units.plain(layer.within * 1e3, 2)})"
        said.append(f"{thick} of layer inside" if layer.value > 0.0 else f"{thick} deeper at the floor")
    return ", ".join(said) or "as drawn"


def _bare(words: str) -> str:
    """A correction in words without its bands.

    >>> _bare("smaller by 4.0 % (± 0.3), tilted by 0.4° (pitch 0.4 ± 0.1, roll 0.0 ± 0.1)")
    'smaller by 4.0 %, tilted by 0.4° (pitch 0.4, roll 0.0)'
    """
    return re.sub(r" \(± [^)]*\)| ± [^,)]*", "", words)


def fine(one: Found) -> str:
    """A layer with more digits than lengths have."""
    value, within = (units.plain(si * 1e3, 3) for si in (one.value, one.within))
    return f"The layer in more digits: {value} mm within {within} mm ({units.plain(one.value / 0.0254, 3)} in)."


def verdict(fit: FillFit, shown: Shown) -> list[str]:
    """What is kept, and what the readings do not tell apart."""
    kept = next(one for one in fit.tried if one.kept)
    before = f"{shown.text(fit.before_m, 'length')} off as drawn"
    said: list[str] = [] if fit.fewer is None else [_fewer(fit.fewer, shown)]
    if not kept.blocks:
        said += [f"No correction: the readings support none ({before} in the mean square)."]
    else:
        simplest = "the simplest that nothing added to improves"
        why = f"{simplest}, the tilt as the stick's places measured it" if fit.by_places else simplest
        said += [
            f"By the test{' the tank is ' if {'scale', 'tilt'} & {*kept.blocks} else ': '}{in_words(kept.found, shown)}.",
            f"Kept: {called(kept)}, {why}; {before} in the mean square. It gives the"
            " capacity; marks and lamps count what scale, offset, tilt and layer say together, each held near what is usual, since"
            f" what is too small to tell still bends the table: {_bare(in_words(fit.together, shown))}; how sure each mark is stands"
            " beside it.",
        ]
    drawn, holds, within = fit.capacity.gross_m3
    if "layer" in kept.blocks:  # of which scale and layer say so much together, each alone little
        way = "less" if holds < drawn else "more"
        said.append(
            f"Together it holds {abs(holds / drawn - 1.0) * 100.0:.1f} % (± {within / drawn * 100.0:.1f}) {way} than drawn."
        )
    if kept.blocks and not fit.by_places:
        why = (
            "a tilt, as told here, comes from how the readings grow as fuel is poured, as they do in a tank of another shape as well:"
            " its ± counts that. Only the stick at three places ([[tank.dipstick.also]]) measures it."
        )
        said.append(Doubt(why) if "tilt" in kept.blocks else why[0].upper() + why[1:])
    rivals = [in_words(one.found, shown) for one in fit.tried if one.rival]
    if rivals:
        said.append(
            Doubt(
                f"it may as well be {'; or '.join(rivals)}: one stick at one attitude cannot tell, and what follows holds for"
                " all of them. Only another test can (the stick at three places, [[tank.dipstick.also]], or a level measured"
                " without it)."
            )
        )
    for pair in fit.same:
        what = f"{pair} apart: only their sum is known" if " and " in pair else f"the {pair}: it is as wide as usual"
        said.append(Doubt(f"the readings cannot tell {what}."))
    return said


def _fewer(fewer: Fewer, shown: Shown) -> Doubt:
    """That a can which no reading checks may not have been poured, and what is counted then."""
    amount, noted = (shown.text(one, "volume") for one in (fewer.amount_m3, fewer.noted_m3))
    return Doubt(
        f"a can of {amount} that was noted while the stick was dry, and not poured or noted twice, explains the readings as well as"
        f" all lines do as noted. As noted the tank holds {noted} ({_bare(in_words(fewer.noted, shown))}). The less is told below and"
        f" counts everywhere: each total and mark is {amount} less than noted. The stick at three places ([[tank.dipstick.also]]) tells"
        " the two apart; so does what a gauge shows, noted on each line, or the tank drained into measured cans, noted in the same sheet."
    )


def unchecked(test: FillTest, shown: Shown) -> str:
    """What no reading checks: all that was poured before the stick showed any; a warning where the tank came out larger."""
    fit, own = test.fit, [one for one in test.readings if one.place == 0 and not one.attitude]
    wet = [one.total_m3 for one in own if one.read_m is not None and not one.why]
    blind = max((one.total_m3 for one in own if wet and one.total_m3 < min(wet)), default=0.0)
    if fit is None or fit.fewer or not blind > 0.0:
        return ""
    drawn, holds, within = fit.capacity.gross_m3
    said = (
        f"no reading checks {shown.text(blind, 'volume')} that were poured before the stick was first read: a can noted too often there"
        " looks like a tank that is larger and tilted, one forgotten like a smaller one"
    )
    if fit.unseen_m3:
        cans = ("up to " if len(fit.unseen_m3) > 1 else "") + shown.text(max(fit.unseen_m3), "volume")
        said += f" (one can of {cans} too many was tried: what was noted would not fit)"
    if holds - within > drawn:
        return Doubt(
            f"{said}. This one came out larger: fill it again, and count the cans, before you rely on more than was drawn."
        )
    return f"{said[0].upper()}{said[1:]}."


_LEFT_OUT = {
    "dry": "the stick is dry, so that they say only that less is there than it reaches",
    "pools apart": "the tank falls into pools there, and the stick shows only its own",
    "air trapped": "air that cannot leave makes the surface stand higher than the total says",
}


def left_out(test: FillTest) -> list[str]:
    """Which lines' readings the fit does not count, and why."""
    found = []
    for why, words in _LEFT_OUT.items():
        lines = list(dict.fromkeys(str(row.line) for row in test.readings if row.why == why))
        if lines:
            found.append(
                f"Left out of the fit, {why}: line{'s' if len(lines) > 1 else ''} {', '.join(lines)}: {words}."
            )
    unread = [str(row.line) for row in test.readings if row.read_m is None and not row.why and not row.place]
    if unread and test.zero:
        found.append(
            f"No reading of the stick, so not in the fit: line{'s' if len(unread) > 1 else ''} {', '.join(unread)}."
        )
    return found


def sure_from(fit: FillFit, shown: Shown) -> list[str]:
    """From which mark on the marks are sure to one in a hundred of what they show, and how far off those below may be."""
    far = [mark for mark in fit.marks if mark.volume_m3 > 0.0 and mark.within_m3 > 0.01 * mark.volume_m3]
    if not far:
        return ["Every mark is sure to 1 % of what it shows."]
    worst = max(far, key=lambda mark: mark.within_m3 / mark.volume_m3)
    much = f"{worst.within_m3 / worst.volume_m3 * 100.0:.1f} % at {shown.text(worst.volume_m3, 'volume')}"
    last = max(mark.volume_m3 for mark in far)
    above = [mark.volume_m3 for mark in fit.marks if mark.volume_m3 > last]
    since = f"from {shown.text(min(above), 'volume')} on; below that" if above else "nowhere:"
    return [f'Sure to 1 % of what they show {since} up to {much}. Count a low quantity as less by its own "within".']


def stick(place: int) -> str:
    """A reading by where the stick was put in."""
    return f"the reading of stick {place + 1}" if place else "the reading"


def warning(one: Suspect, shown: Shown) -> str:
    """A line that does not belong, in a sentence."""
    kind = "length" if one.kind == "reading" else "volume"
    much = (
        f"{shown.text(abs(one.off), kind)} (± {shown.figure(one.within, kind)}) too {'high' if one.off > 0 else 'low'}"
    )
    what = f"{stick(one.place)} is {much}" if one.kind == "reading" else f"from here on the total is {much}"
    could = (
        f" It could mean: {'; or '.join(one.meanings)}." if one.meanings else " No usual slip explains it: look again."
    )
    return f"{one.at or f'line {one.line}'} does not belong: {what}.{could}"
