"""Rules on dipsticks."""

from __future__ import annotations

from collections.abc import Iterator

from fuelsys.model.findings import COMMON_PRACTICE, Verdict
from fuelsys.model.study import Study
from fuelsys.rules.words import NO_FITTINGS, before_64, caution, litres, needs, not_asked, passed, rule


@rule(
    subject="dipstick",
    checks="Each tank that has a filler has a dipstick with graduations.",
    why="The quantity must be found on the ground without trusting the gauge.",
    mend="Make a dipstick that reaches through the filler to the sump: [tank.dipstick] with top and bottom.",
    sources=(before_64("23.1337(b)(4)", "which asks for a means such as a stick gauge"),),
)
def dipstick_missing(study: Study) -> Iterator[Verdict]:
    """A tank with a filler and no dipstick."""
    for tank in study.tanks:
        if tank.dipstick and not tank.dipstick.marks:
            held = f"from {litres(tank.dipstick.below_m3)} at its bottom to {litres(tank.dipstick.top_m3)} at its top"
            mend = "State a smaller step, or make the stick longer."
            yield caution(tank.name, f"its dipstick has no graduation: no multiple of the step lies {held}", mend)
        elif tank.tank.design.dipstick:
            yield passed(tank.name, "a dipstick is shown")
        elif not tank.tank.design.ports:
            yield needs(tank.name, NO_FITTINGS)
        elif tank.tank.design.filler is None:
            yield not_asked(tank.name, "it has no filler to dip through")
        else:
            yield caution(tank.name, "it has a filler and no dipstick")


@rule(
    subject="dipstick",
    checks="A dipstick that reads nothing leaves no more in the tank than its unusable fuel.",
    why="A stick that ends high under a filler reads nothing while usable fuel is left: it cannot tell half an hour from"
    " none.",
    mend="Let the stick reach the floor nearer to the sump.",
    sources=(COMMON_PRACTICE,),
)
def dipstick_blind(study: Study) -> Iterator[Verdict]:
    """What the tank holds when the stick's bottom is just dry, against the unusable fuel."""
    for tank in study.tanks:
        stick, left = tank.dipstick, tank.capacity.unusable
        if stick is None:
            continue
        if left is None:
            yield needs(tank.name, "an outlet: what is usable counts above the unusable fuel")
            continue
        evidence = (
            f"at {stick.attitude.text} the stick's bottom is dry with {litres(stick.below_m3)} in the tank; unusable are"
            f" {litres(left.volume_m3)}"
        )
        if stick.below_m3 <= left.volume_m3:
            yield passed(tank.name, evidence)
            continue
        hidden = litres(stick.below_m3 - left.volume_m3)
        mend = f"Let the stick reach lower, nearer to the sump, or write at its bottom that {hidden} of usable fuel stay unseen."
        yield caution(tank.name, evidence, mend)
