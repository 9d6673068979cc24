"""What is seen to in each tank before it is closed, paragraph by paragraph, in our own words."""

from __future__ import annotations

from fuelsys.model.found.findings import Source
from fuelsys.rules.coverage import figures_tank as figures
from fuelsys.rules.coverage.items import (
    CELLS,
    FILLER_HERE,
    LOW_FUEL,
    PRACTICE,
    RETURN_HERE,
    STRAINER,
    SWITCHES,
    Item,
    item,
)
from fuelsys.rules.words import before_64

INSIDE: tuple[Item, ...] = (
    item(
        PRACTICE,
        "Measure the inside and compare it with the drawing; everything that takes up room is in the mesh or the design file.",
        "mesh-in-doubt tanks-overlap",
        each=figures.spans,
    ),
    item(
        PRACTICE,
        "Measure the place of every fitting from the corner that the mesh counts from.",
        "outlet-missing",
        each=figures.places,
    ),
    item(
        STRAINER,
        "The strainer at each outlet has the right mesh, is whole and is fixed so that it cannot come off.",
        "strainer-missing strainer-mesh-out-of-range",
        figure="8 to 16 meshes to the inch, for a piston engine",
    ),
    item(STRAINER, "Its clear area is large enough.", "strainer-area-small", each=figures.strainer_area),
    item(
        STRAINER, "It is as wide as the outlet, or wider.", "strainer-narrower-than-outlet", each=figures.strainer_width
    ),
    item(STRAINER, "The strainer can be reached, looked at and cleaned once the tank is closed."),
    item(
        "23.959(a)",
        "Every opening along the floor through ribs and baffles is as drawn and free of sealant: fuel runs to the outlet.",
        "fuel-trapped-in-pocket passage-too-narrow",
    ),
    item(
        "23.971(a)",
        "The drain sits in the lowest place and the sump below the outlets is as deep as drawn.",
        "drain-missing sump-small",
        each=figures.sump,
    ),
    item(
        "23.971(b)",
        "Tank held as the aircraft stands: water poured in at the far corners comes out of the drain.",
        "water-left-behind",
        each=figures.water_left,
    ),
    item(
        Source("DCA/GENERAL/19 (1951), as quoted in ATSB recommendation R19980258"),
        "The same on ground that is not level: tip the tank each way.",
        "water-left-on-slope",
        each=figures.water_left,
    ),
    item(
        "23.971(c)",
        "Tank held as in level flight: water outside the sump runs to the outlet, and so to the sediment bowl.",
        each=figures.water_in_flight,
    ),
    item(
        "23.975(a)",
        "The vent opens at the top of the expansion space, and its pipe is clear: blow through it.",
        "vent-missing vent-below-full-level",
    ),
    item(
        "23.975(a)",
        "Openings along the roof through ribs and baffles let the air of every bay reach a vent.",
        "vent-not-at-top",
    ),
    item(
        ("23.969", Source("14 CFR 27.969, for tanks with interconnected vents")),
        "The filler's neck ends where drawn and is tight to the roof, so that the air above its lip stays when it is filled.",
        "expansion-space-small filler-low",
        each=figures.expansion,
        only=FILLER_HERE,
    ),
    item(
        "23.975(b)",
        "The return or vapour line ends at the top of the tank and its end is clear.",
        "return-not-to-top",
        only=RETURN_HERE,
    ),
    item(
        "23.993(a)",
        "Pipes and hoses inside are clamped, chafe nowhere, and no plug or tape is left in their ends.",
    ),
    item(
        (LOW_FUEL, PRACTICE),
        "Each low-level switch has its mark where drawn; its float moves freely over its whole travel and cannot touch a wall.",
        "warning-missing warning-late warning-late-at-combined-attitudes"
        " warning-early warning-never-trips warning-always-on warning-spread-wide"
        " warnings-out-of-order warning-tolerance-unknown",
        each=figures.marks,
        only=SWITCHES,
    ),
    item(
        PRACTICE,
        "With fuel in the tank, or water and an allowance for the float riding higher in it, each switch trips as computed"
        " in level flight.",
        each=figures.trips,
        only=SWITCHES,
    ),
    item(
        LOW_FUEL,
        "One warning stands for about ten minutes of usable fuel and does not depend on the quantity indicator.",
        "warning-below-ten-minutes failure-without-warning",
        each=figures.ten_minutes,
        only=SWITCHES,
    ),
    item(
        "23.1305(a)(1)",
        "The sender of the quantity indicator is in, moves freely from empty to full, and its wires are led out.",
        "gauge-missing gauge-meets-wall",
    ),
    item(
        ("23.1337(b)(4)", PRACTICE),
        "A dipstick is held in its place by neck and stop, reaches the floor, and meets no fitting on its way.",
        "dipstick-missing dipstick-blind",
        only=FILLER_HERE,
    ),
    item(
        "23.954", "Metal parts inside are bonded to each other and to the filler; no wire can chafe and make a spark."
    ),
    item(
        "23.963(c)",
        "Where the structure is the tank's wall: every part inside can be looked at and repaired through a cover.",
    ),
    item(
        ("23.963(b)", "23.967(a)(3), (4)"),
        "Flexible liner: it is made for this fuel, the structure carries its load, and all around it is smooth. None: write so.",
    ),
    item("23.965(b)", "Large flat walls are stiffened or held by the structure; else the shake test is due."),
    item(
        PRACTICE,
        "Sealant and coatings are cured and stand the fuel to be used, with the alcohol that motor gasoline may have.",
    ),
    item(
        Source(f"{CELLS}: head against volume"),
        "Before the cover goes on, or right after: fill by measure, and note level and quantity at each step.",
        each=figures.full,
    ),
    item(
        PRACTICE,
        "Outlets, vents and marks measured where the design has them: outlets low, vents high.",
        "outlet-above-vent mirror-tanks-differ",
    ),
    item(
        PRACTICE,
        "Each float moves free of walls and ribs over all its stroke, tank tilted.",
        "float-without-clearance",
        only=SWITCHES,
    ),
    item(
        "23.1337(b)(4)",
        "The dipstick passes through the filler and stands on its end, free of ribs.",
        "dipstick-misses-filler",
        only=FILLER_HERE,
    ),
    item(
        PRACTICE, "Swarf, crumbs of sealant, tape and dust are out. Photographs of all bays, a rule in each, are kept."
    ),
    item(
        before_64("23.965(a)", "for the test that follows"),
        "Everything above is ticked; nothing is left in the tank that is not on the drawing.",
    ),
)
