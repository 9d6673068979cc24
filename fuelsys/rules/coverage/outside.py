"""What is seen to around the tanks and at their fillers and vents, paragraph by paragraph, in our own words."""

from __future__ import annotations

from fuelsys.model.found.findings import Source
from fuelsys.rules.coverage import figures_tank as of_tank
from fuelsys.rules.coverage.items import (
    AC_43_13,
    CABIN,
    FILLER_HERE,
    GASOLINE_ONLY,
    HEADERS,
    PRACTICE,
    SEVERAL,
    Item,
    item,
)
from fuelsys.rules.words import before_64, millimetres

AROUND: tuple[Item, ...] = (
    item("23.967(a)", "Supports spread the tank's weight; nothing bears on one spot."),
    item(
        "23.967(a)(1), (2)",
        "Pads keep the tank from chafing and do not soak up fuel, or are treated so that they do not.",
    ),
    item(
        "23.967(a)(5)",
        "Flexible liner: the vapour space stays above the outside pressure, or suction cannot collapse it.",
    ),
    item(
        "23.967(a)(6)",
        "A cap that is loose or lost lets no fuel be sucked out, beyond a small spill, and collapses no liner.",
    ),
    item(
        "23.967(b)",
        "The room around each tank is aired and drained, and so is the one beside a tank that is structure.",
    ),
    item(
        "23.967(c)",
        "No tank is on the engine's side of the firewall, and the gap to the firewall is measured.",
        "tank-near-firewall",
        figure=f"at least {millimetres(0.5 * 0.0254)} between the tank's wall and the firewall",
    ),
    item("23.967(c)", "Cowling skin right behind a large air outlet of the engine bay is no wall of a tank."),
    item(
        "23.967(d)",
        "Fume-proof and fuel-proof enclosure between tank and cabin, with a vent and a drain of its own to the outside.",
        only=CABIN,
    ),
    item("23.967(e)", "Gear up, one leg folded, engine torn off: no tank or line is where the wreck would open it."),
    item(
        "23.994",
        "Pumps, valves, filters and drains low in the fuselage or nacelle are guarded for a landing on the belly.",
    ),
    item(
        "23.973(b)", "Fuel spilled at a filler runs overboard: none gets into the wing, the tank's room or the cabin."
    ),
    item(
        "23.973(c)",
        "Each cap seals fuel-tight; an opening in it for a vent or a stick keeps to what vents must do.",
        each=of_tank.cap,
        only=FILLER_HERE,
    ),
    item(
        AC_43_13,
        "Each cap is of the kind drawn: a plain one in place of a vented one starves the engine or sucks the tank in.",
    ),
    item("23.973(d)", "A bonding point stands at each filler.", "filler-unbonded"),
    item(
        "23.973(e)",
        "The wide nozzle for jet fuel does not go in.",
        "filler-wrong-size",
        figure=f"at most {millimetres(2.36 * 0.0254)} inside",
        only=GASOLINE_ONLY,
    ),
    item(
        "23.975(a)(1)",
        "Each vent's end is placed and made so that ice, insects and dirt are least likely to block it.",
        "air-hangs-on-one-opening",
    ),
    item("23.975(a)(2)", "No vent can siphon, parked or in flight.", "vent-line-siphons vent-spills-in-flight"),
    item(
        ("23.975(a)(3)", Source("14 CFR 25.975(a)(3): climb, descent and refuelling, a rule for transport aircraft")),
        "Vents are wide enough for the fastest climb, descent and filling.",
        "vent-bore-small vent-passes-too-little-air vent-suction-takes-the-head",
    ),
    item("23.975(a)(3)", "In flight some vent of each full tank stands in air.", "vent-under-fuel-in-flight"),
    item(
        Source("14 CFR 25.965(a): ram pressure, a rule for transport aircraft"),
        "A vent that faces forward: its ram pressure is alike for all tanks that feed together and is borne by the tank.",
        figure="125 % of the ram pressure at the highest speed; not computed: needs that speed",
    ),
    item(
        "23.975(a)(4)",
        "Airspaces of tanks whose outlets are joined are joined too, by a line with nothing in it.",
        "airspaces-not-connected",
        only=SEVERAL,
    ),
    item(
        (Source("unequal vents upset a header: read in a builders' forum"), "23.975(a)(4)"),
        "A header's vent joins the top of the main tank.",
        "header-vent-apart",
        only=HEADERS,
    ),
    item(
        "23.975(a)(5)",
        "No vent line has a low place where water stands, parked or in level flight, without a drain that can be reached.",
        "vent-line-low-point",
    ),
    item(
        "23.975(a)(6)",
        "Vents end where fuel that comes out meets no exhaust, no heater and no cabin opening.",
        "vent-leads-nowhere vent-discharges-on-aircraft",
    ),
    item(
        "23.975(a)(7)",
        "Parked on a slope of 1 in 100, whichever way, full tanks lose nothing but what warming drives out.",
        "vent-spills-on-slope",
        figure="slope of 1 in 100 (0.57°), all round",
    ),
    item(
        "23.975(c)",
        "For aerobatics only: little fuel is lost inverted, and no vent siphons afterwards. Not aerobatic: write so.",
    ),
    item(
        "23.954", "Where lightning may strike, sweep along or spark (tips, edges, vent ends), it can light no vapour."
    ),
    item(
        (before_64("23.1337(b)(2), (3)"), PRACTICE),
        "A sight gauge outside the tank is guarded, and its low place can be drained. None: write so.",
    ),
)
