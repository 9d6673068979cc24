"""Which published paragraphs bear on a light piston or diesel aircraft's fuel system, and what covers each: by hand.

A paragraph is covered by a rule, by an item that a person signs, or by a test with its figure; see items.py for how it is written.
A test demands that every rule stands in it or in BEYOND.
"""

from __future__ import annotations

from fuelsys.rules.coverage.inside import INSIDE
from fuelsys.rules.coverage.items import Section
from fuelsys.rules.coverage.lines import LINES
from fuelsys.rules.coverage.outside import AROUND
from fuelsys.rules.coverage.paper import PAPER
from fuelsys.rules.coverage.tests import FLOW, TANKS

# In the order of work; numbers of items are theirs in the section, whatever a design leaves out.
SECTIONS: tuple[Section, ...] = (
    Section("inside", "inside, before it is closed", INSIDE, by_tank=True),
    Section("outside", "Around the tanks, fillers and vents", AROUND),
    Section("lines", "Lines, valves and pumps", LINES),
    Section("flow", "Tests on the finished aircraft: flow", FLOW, measured=True),
    Section("tanks", "Tests on the finished aircraft: tanks and gauges", TANKS, measured=True),
    Section("paper", "Placards and paper", PAPER),
)
# Paragraphs that were looked at and have no line, and why.
LEFT_OUT: dict[str, str] = {
    "14 CFR 23.953": "several engines",
    "14 CFR 23.955(f)": "turbine engines",
    "14 CFR 23.973(f)": "turbine engines; filler-wrong-size checks it all the same",
    "14 CFR 23.979": "pressure fuelling",
    "14 CFR 23.1001": "fuel that is let go in flight",
    "14 CFR 23.1305(c)(4)": "turbine engines; 14 CFR 27.1305(l) is taken as the model",
    "14 CFR 25.971(a), 27.969, 29.969, 25.969": "rules of large aeroplanes and rotorcraft; 27.969 is used where tanks share vents",
    "MIL-T-18847C": "tanks that hang outside",
}
# Rules without a paragraph and without a line: what they say is about the design file and not about the aircraft.
BEYOND: tuple[str, ...] = ()
