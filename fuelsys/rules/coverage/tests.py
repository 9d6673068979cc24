"""What the finished aircraft must show by test, with the figure to reach, paragraph by paragraph, in our own words."""

from __future__ import annotations

from fuelsys.model.found.findings import Source
from fuelsys.rules.coverage import figures
from fuelsys.rules.coverage import figures_tank as of_tank
from fuelsys.rules.coverage.items import (
    AC_90_89A,
    CABIN,
    CELLS,
    FILLER_HERE,
    GRAVITY,
    HEADERS,
    PRACTICE,
    PUMPED,
    PUMPS,
    SEVERAL,
    SWITCHES,
    Item,
    item,
    memory,
)
from fuelsys.rules.words import before_64

FLOW: tuple[Item, ...] = (
    item(
        ("23.955(a)", AC_90_89A),
        "Flow test: set the aircraft, or a true mock-up, in the attitude that is worst for feed and unusable fuel.",
        "envelope-misses-steep-climb envelope-narrow parked-nose-down",
        figure=figures.climb_attitude,
    ),
    item(
        Source("a kit-trade article: decks of 20 to 23° in power-on stalls"),
        "Flow test once more, steeper: a power-on stall.",
        figure="nose up 25 to 28°",
    ),
    item("23.955(a)(1)", "Flow test: least fuel in the tank that feeds.", figure=figures.least_fuel),
    item(
        "23.955(a)(2)",
        "Flow test: a flow meter's wheel is blocked, and fuel goes through it or its by-pass. No meter: write so.",
    ),
    item(
        "23.955(a)(3)", "A flow meter without a by-pass has no likely failure that chokes the flow. No meter: write so."
    ),
    item(
        "23.955(a)(4)",
        "Flow test: return, vapour line and jet pump flow at the same time.",
        figure="they count on top, in full",
    ),
    item(
        ("23.955(b)", AC_90_89A),
        "Gravity flow into a measure at the engine's inlet, by the watch.",
        "feed-flow-too-small take-off-run-not-stated",
        figure=figures.flow_to_show,
        only=GRAVITY,
    ),
    item(
        ("23.955(c)", AC_90_89A),
        "Flow of the main pump into a measure at the engine's inlet, by the watch.",
        "feed-flow-too-small",
        figure=figures.flow_to_show,
        only=PUMPED,
    ),
    item(
        "23.955(c)(1)",
        "The same of each emergency pump alone, powered as in take-off.",
        "feed-flow-too-small",
        figure=figures.flow_to_show,
        only=PUMPED,
    ),
    item(
        "23.955(c)(2)",
        "A hand pump brings it too. None: write so.",
        figure="at not more than 60 full cycles (120 strokes) a minute",
        only=PUMPED,
    ),
    item(
        "23.955(c)(3)",
        "Main and emergency pump together: pressure at the engine's inlet.",
        "inlet-pressure-too-high",
        figure=figures.at_inlet,
        only=PUMPED,
    ),
    item("23.951(a)", "Pressure at the engine's inlet while that flow runs.", figure=figures.inlet_pressure),
    item(
        "23.955(d)",
        "Flow from each tank into the one that it fills.",
        "tank-not-kept-full",
        figure=figures.into_tanks,
        only=HEADERS,
    ),
    item(
        Source("14 CFR 27.955(a)(2), a rule for rotorcraft"),
        "Flow once more with the filter partly blocked.",
        "feed-flow-too-small",
        figure=figures.flow_to_show,
    ),
    item(
        (memory("23.955(e)", "the 75 % were read"),),
        "In level flight, one tank run dry, power comes back after switching to a full one.",
        figure=figures.three_quarters,
        only=SEVERAL,
    ),
    item(
        ("23.959(a)", AC_90_89A),
        "What stays in each tank when the flow first falters, at the worst attitude of each flight condition, is unusable.",
        "unusable-at-combined-attitudes measured-contradicts-computed",
        each=of_tank.unusable,
    ),
    item(
        ("23.959(a)", PRACTICE),
        "How much fuel stands over each outlet when the first air comes is measured at full flow and stated as its cover.",
        "cover-not-stated",
    ),
    item(
        Source("CAR 3.437, for older aeroplanes", from_memory=True),
        "The same, with slips and skids as steep as flown: level, in the climb, and on going round after a glide.",
        each=of_tank.unusable,
    ),
    item(
        "23.959(b)",
        "Once more with each pump off: what stays then is written down for the pilot.",
        each=of_tank.unusable,
        only=PUMPS,
    ),
    item(
        ("23.961", Source("14 CFR 27.961: suction, a rule for rotorcraft")),
        "Hot fuel in the climb, or on a hot day: no vapour lock.",
        "fuel-boils-in-line",
        figure="fuel at 110 °F (43.3 °C), 0 to +5 °F (+2.8 °C)",
    ),
)
TANKS: tuple[Item, ...] = (
    item(
        "23.965(a)(1)",
        "Pressure test of a metal tank, or of a plastic one that the structure does not hold: no leak, no set."
        " This or one of the next two fits: strike out the others.",
        "tank-bears-too-little",
        each=of_tank.proof,
    ),
    item(
        "23.965(a)(2)",
        "Where the structure is the tank: the pressure of a full tank at the flight's limit loads, with the structure loaded.",
        figure="not computed: needs the flight's limit loads",
    ),
    item(
        "23.965(a)(3)",
        "A plastic tank that the structure holds: pressure test, held as in the aircraft.",
        each=of_tank.supported,
    ),
    item(
        "23.965(b)(1), (2)",
        "Shake test, mounted as in the aircraft, where large flat walls are not stiffened: no leak.",
        each=of_tank.two_thirds,
    ),
    item(
        memory("23.965(b)(3)", "2000 a minute read in 25.965"),
        "Its frequency, where none is worse.",
        figure="0.9 times the propeller's speed at maximum continuous power, or 2000 a minute",
    ),
    item(
        memory("23.965(b)(5)", "figures read in 25.965(b)(5)"),
        "With it, rocking about a fore-and-aft axis.",
        figure="16 to 20 times a minute, 15° each way, 25 h",
    ),
    item(
        memory("23.965(c), (d)", "110 °F read in 25.965(c)"),
        "A plastic or flexible tank: the rocking with warm fuel.",
        figure="fuel at 110 °F (43.3 °C)",
    ),
    item(
        Source(f"{CELLS}, 4.6.8"),
        "Flexible cell: pressure above the head of the full tank. None: write so.",
        each=of_tank.cell_head,
    ),
    item(
        ("23.967(e)", "23.561(b)(2)"),
        "Mounts and tank hold the full tank in an emergency landing, shown by a pull or by calculation (ultimate).",
        each=of_tank.retained,
    ),
    item(
        before_64(
            "23.561(b)(3)",
            "for what in the cabin could strike people; that a tank is such a thing is a prudent reading",
        ),
        "The same for a tank in the cabin.",
        each=of_tank.retained_in_cabin,
        only=CABIN,
    ),
    item(
        "23.969",
        "Filled in the ordinary way, parked, the expansion space cannot be filled by mistake.",
        "expansion-space-used-by-warming",
        each=of_tank.expansion,
        only=FILLER_HERE,
    ),
    item((PRACTICE, Source(CELLS)), "Filled from dry by measure, it takes what was computed.", each=of_tank.full),
    item(
        "23.1337(b)(1)",
        "The quantity indicator reads zero in level flight with the unusable fuel in the tank.",
        "gauge-blind",
        each=of_tank.zero,
    ),
    item(
        Source("SAE paper 670263: what float gauges of light aircraft reached"),
        "The quantity indicator is compared with measured fuel at each quarter.",
        figure="within 5 % of full scale and 10 % of the reading is what such gauges reach",
    ),
    item(
        PRACTICE,
        "Dipstick: marked by measured fuel, parked level; a mark is read again with the aircraft turned half round.",
        each=of_tank.full,
        only=FILLER_HERE,
    ),
    item(PRACTICE, "Each low-level light comes on as fuel is drained.", each=of_tank.trips, only=SWITCHES),
)
