"""What stands on placards, gauges and paper, paragraph by paragraph, in our own words."""

from __future__ import annotations

from fuelsys.model.found.findings import Source
from fuelsys.rules.coverage import figures
from fuelsys.rules.coverage import figures_tank as of_tank
from fuelsys.rules.coverage.items import AC_90_89A, AVGAS, HEADERS, PRACTICE, SELECTOR, Item, item, memory

_SISTERS = Source("CS-VLA and CS-23 before amendment 5", from_memory=True)

PAPER: tuple[Item, ...] = (
    item(
        ("23.1557(c)(1)", "23.973(a)"),
        "Marked at each filler: the fuel and its grade.",
        "filler-unmarked placard-against-fuel-kind",
        figure=figures.placard,
    ),
    item(
        "23.1555(d)",
        "Usable fuel of each tank is marked at its indicator or at the selector's setting.",
        each=of_tank.usable,
    ),
    item("23.1555(d)", "Usable fuel is marked at each setting of the selector, BOTH too.", only=SELECTOR),
    item(
        ("23.1337(b)", "23.963(e)"),
        "Indicators are marked in their unit, and in usable fuel.",
        each=of_tank.usable,
    ),
    item(memory("23.1553"), "A red line stands at the indicator's zero.", each=of_tank.zero),
    item(
        Source("14 CFR 27.1553 and 29.1553, rules for rotorcraft"),
        "A red arc where much is unusable.",
        "unusable-large",
        each=of_tank.red_arc,
    ),
    item(
        ("23.1305(a)(1)", Source("14 CFR 91.205(b)(9), read second-hand, for standard-category aircraft")),
        "Each tank has an indicator, or is counted as one with the tank that it is joined to.",
    ),
    item(
        "23.1337(b)(6)",
        "A tank only for transfer without an indicator: instructions say how to tell that it transfers and when to stop.",
        only=HEADERS,
    ),
    item(
        "23.1337(b)(4)",
        "The dipstick is marked for this aircraft and says for which tank; a spare drawing is kept.",
        "dipstick-blind",
    ),
    item(
        ("23.963(d)", Source("14 CFR 23.2430(b)(4)")),
        "Usable fuel in all lasts half an hour at maximum continuous power.",
        "endurance-below-half-hour",
        figure=figures.half_hour,
    ),
    item(
        Source("14 CFR 91.151, by day and by night; NCO.OP.125 in Europe, 30 min read second-hand"),
        "The handbook gives the reserve to land with.",
        figure=figures.reserves,
    ),
    item(Source("14 CFR 91.167"), "The same on instruments, behind the alternate.", figure=figures.instrument_reserve),
    item(
        Source("CS 25.1305(a)(2)(iv), a rule for large aeroplanes"),
        "A header that must not run down has a warning while there is fuel for half an hour, which no single fault takes away"
        " together with the gauge.",
        figure=figures.collector,
        only=HEADERS,
    ),
    item(
        AC_90_89A,
        "The take-off flow in the design file is the engine maker's, or at least that of the rule of thumb: 0.55 lb an hour"
        " for each horsepower.",
        figure=figures.thumb_power,
    ),
    item(
        Source("AC 103-7, paragraph 19, read second-hand"),
        "Only for an ultralight in the United States: what the tanks hold in all.",
        figure=figures.ultralight,
    ),
    item(
        "23.473(b)",
        "Weight and balance: fuel at which the landing weight is counted. Loads are not this tool's; the designer's figure stands.",
    ),
    item(
        Source("14 CFR 23.2430(a)(4), since amendment 23-64"),
        "A way to know all usable fuel in flight, and feed that does not break off when fuel moves in the tanks.",
    ),
    item(
        Source("14 CFR 23.2430(c)(1), since amendment 23-64"),
        "The wrong fuel cannot be filled in by mistake.",
        "filler-wrong-size",
        only=AVGAS,
    ),
    item(_SISTERS, "Ask your authority which code it goes by; figures may differ from those here, and its own count."),
    item(
        PRACTICE,
        "The fuels that may be used are listed, with the vapour pressure and alcohol that they may have.",
    ),
    item(
        PRACTICE, "Measured capacity, unusable fuel, flows and trips are written into the handbook, with date and name."
    ),
    item(
        PRACTICE,
        "The design file's flows are those of the engine's manual, its density that of the fuel to be used.",
        "flows-out-of-order fuel-kind-against-density",
    ),
    item(
        memory("23.23, 23.1519"),
        "With each way of loading it, the aircraft's centre of gravity stays inside its limits from full tanks to none.",
        "centre-of-gravity-outside",
    ),
)
