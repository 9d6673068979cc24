"""Rules on the envelope: the attitudes that unusable fuel and minutes are computed for."""

from __future__ import annotations

from collections.abc import Iterator
from math import degrees, radians

import numpy as np

from fuelsys.model.found.findings import COMMON_PRACTICE, Reach, Source, Stake, Verdict
from fuelsys.model.found.study import Study
from fuelsys.rules.words import caution, failed, needs, passed, rule

STEEPER_RAD = radians(5.0)  # above the climb angle: AC 90-89A, chapter 1, section 11
# How far an envelope reaches in practice: nose-down about 10°, slips as 5 to 10° of roll. Common practice, no source;
# less than half of the nose-down figure, or than the smaller roll, is told.
LEAST_TILT_RAD = radians(5.0)


@rule(
    subject="envelope",
    reach=Reach.PAPER,
    stake=Stake.ENGINE,
    checks="The envelope has a flight attitude at least 5° steeper than the climb angle, wings level.",
    why="The flow test of an amateur-built aircraft is made with the nose 5° above its steepest climb; unusable fuel that"
    " was not computed there may stop the engine on the first climb.",
    mend="Add a flight attitude with the climb angle and 5° more as its pitch.",
    sources=(Source("AC 90-89A", "1995, chapter 1, section 11, paragraph 1.e(1)"),),
)
def envelope_misses_steep_climb(study: Study) -> Iterator[Verdict]:
    """The steepest wings-level flight attitude against climb angle plus 5°."""
    where, design = "envelope", study.layout.design
    climb_rad = design.aircraft.climb_angle_rad
    if climb_rad is None:
        yield needs(where, "the climb angle: aircraft.climb_angle")
        return
    wanted = f"{degrees(climb_rad + STEEPER_RAD):.1f}°"
    level = [a for a in design.envelope if a.phase == "flight" and abs(a.roll_rad) < 1e-9]
    steepest = max(level, key=lambda a: a.pitch_rad, default=None)
    if steepest is None:
        yield failed(where, f"no flight attitude has its wings level; {wanted} of pitch is wanted")
    elif steepest.pitch_rad >= climb_rad + STEEPER_RAD - 1e-9:
        yield passed(where, f"{steepest.text} is at least as steep as {wanted}: climb angle and 5°")
    else:
        mend = f'Add [[attitude]] with phase = "flight" and pitch = "{degrees(climb_rad + STEEPER_RAD):.4g} deg".'
        yield failed(where, f"the steepest with wings level is {steepest.text}; {wanted} is wanted", mend)


@rule(
    subject="ground attitude",
    reach=Reach.PAPER,
    stake=Stake.MINUTES,
    checks="No ground attitude has its nose down by more than 3°.",
    why="What fills the tank, and what the dipstick shows, is computed for the normal ground attitude; with its sign turned both"
    " are wrong, and a stick may show more than there is.",
    mend="Measure the pitch as the aircraft stands; nose up is positive.",
    sources=(Source("how far down a nose may stand: chosen here, no source"),),
)
def parked_nose_down(study: Study) -> Iterator[Verdict]:
    """The sign of each ground attitude's pitch."""
    for attitude in study.layout.design.envelope:
        if attitude.phase == "ground" and attitude.sign_in_doubt:
            yield caution(f"attitude {attitude.name}", attitude.sign_in_doubt)
        elif attitude.phase == "ground":
            yield passed(f"attitude {attitude.name}", f"{attitude.text} stands level or nose up, to 3°")


@rule(
    subject="envelope",
    reach=Reach.PAPER,
    stake=Stake.LITRES,
    checks="The flight attitudes tilt the fuel's surface by at least 5° nose-down, to the left and to the right.",
    why="Descents and slips uncover outlets that a climb keeps wet. No published rule gives angles; builders use about"
    " 10° nose-down and 5 to 10° of slip.",
    mend="Add a descent, and a slip to each side.",
    sources=(COMMON_PRACTICE,),
)
def envelope_narrow(study: Study) -> Iterator[Verdict]:
    """How far the surface tilts in flight, accelerations included."""
    ups = [a.up for a in study.layout.design.envelope if a.phase == "flight"]
    reach = {
        "nose-down": max(float(np.arctan2(up[0], up[2])) for up in ups),
        "right wing down": max(float(np.arctan2(-up[1], up[2])) for up in ups),
        "left wing down": max(float(np.arctan2(up[1], up[2])) for up in ups),
    }
    evidence = "in flight the surface tilts at most " + ", ".join(
        f"{degrees(max(0.0, tilt)):.1f}° {way}" for way, tilt in reach.items()
    )
    short = [way for way, tilt in reach.items() if tilt < LEAST_TILT_RAD - 1e-9]
    mend = f"Add flight attitudes of at least {degrees(LEAST_TILT_RAD):.0f}° {' and '.join(short)}."
    yield caution("envelope", evidence, mend) if short else passed("envelope", evidence)
