"""What is seen to along the lines from tank to engine and back, paragraph by paragraph, in our own words."""

from __future__ import annotations

from fuelsys.model.found.findings import Source
from fuelsys.rules.coverage import figures
from fuelsys.rules.coverage.items import (
    AC_43_13,
    HEADERS,
    HEAVY,
    PRACTICE,
    PUMPED,
    PUMPS,
    RETURN,
    SELECTOR,
    SEVERAL,
    Item,
    item,
)

_VELOCITY = Source("API RP 2003 and IEC 60079-32-1", from_memory=True)

LINES: tuple[Item, ...] = (
    item(
        "23.951(a)",
        "Lines run as drawn: measure their high and low places with a level, aircraft in its attitudes.",
        "feed-line-high-point feed-not-downhill",
    ),
    item(
        ("23.955(b), (d)", PRACTICE),
        "The line into each header is as wide and as short as drawn.",
        "tank-not-kept-full",
        figure=figures.into_tanks,
        only=HEADERS,
    ),
    item(
        PRACTICE,
        "Every port of each tank has its line, and no line is wider than the outlet that it leaves from.",
        "port-not-connected outlet-narrower-than-line",
    ),
    item(
        ("23.957(b)", PRACTICE),
        "With all valves open no tank runs into another: a check valve or a selector stands between.",
        "two-valves-into-one-inlet",
        only=SEVERAL,
    ),
    item(
        "23.951(b)(1)",
        "No pump can draw from two tanks at a time.",
        "pump-draws-from-two-tanks",
        only=PUMPS,
    ),
    item("23.951(b)(2)", "Or else: what keeps air out when one of them runs dry is fitted.", "empty-tank-lets-air-in"),
    item(
        "23.957(a)",
        "Tanks joined at their outlets, all full and wing low: none runs over through a vent.",
        "full-tanks-overflow full-tank-runs-into-another",
        only=SEVERAL,
    ),
    item(
        ("23.957(b)", Source("overfilling by return: read in a builders' forum")),
        "Fuel pumped or returned into a tank that is full can leave without harm, or cannot be sent there.",
        "return-does-not-follow-selector return-into-shut-tank warning-late-by-return transfer-overfills-tank"
        " transfer-runs-back",
        only=RETURN,
    ),
    item(
        "23.975(b)",
        "Vapour or return has a line of its own to the tank that is used first.",
        "return-missing return-pressure-too-high",
        only=RETURN,
    ),
    item(
        PRACTICE,
        "What comes back is cool enough for the tank that it comes to.",
        "return-heats-small-tank return-heats-tank",
        only=RETURN,
    ),
    item(
        "23.961",
        "Lines stay clear of exhaust and hot air, or are shielded; none rises where hot fuel could boil.",
        "fuel-boils-in-line",
    ),
    item("23.991(a)", "Each engine has a main pump of its own that it drives itself.", "pump-missing", only=PUMPED),
    item(
        "23.991(b)",
        "An emergency pump is ready at once, and its power does not hang on the main pump's.",
        "failure-stops-engine-at-once",
        only=PUMPED,
    ),
    item("23.991(c)", "Either pump may run or stand still without harm to the other's flow.", only=PUMPS),
    item("23.993(a)", "Lines are held so that they do not shake, and bear pressure and loads in flight."),
    item("23.993(b)", "Where one end moves against the other (engine, wing, gear), the line gives way."),
    item("23.993(c)", "A flexible line under pressure and pull is a hose assembly, not a hose slipped on."),
    item(
        "23.993(d), (e)",
        "Each hose is made for this fuel; none that heat harms is where it is hot, running or just stopped.",
    ),
    item(AC_43_13, "Wires run above fuel lines where they cannot be kept apart, and no line carries a wire."),
    item(AC_43_13, "Between two rigid fittings a metal line has a bend.", figure="at least one bend"),
    item(AC_43_13, "Metal lines are bonded at each clamp."),
    item(
        Source("AC 43.13-1B, figure 9-9, read in a copy"),
        "Hoses have slack for the length that pressure takes or gives.",
        figure="they may grow by 2 % and shrink by 4 %",
    ),
    item(
        (_VELOCITY, PRACTICE),
        "Bores are as drawn: a tight fitting counts as the line's bore.",
        "feed-line-velocity",
        figure=figures.static,
    ),
    item(
        PRACTICE,
        "What each tank gives of the flow is as the design says, in every setting of the valves.",
        "flow-shares-do-not-add-up",
        only=SEVERAL,
    ),
    item("23.995(a)", "The pilot can shut off all fuel to the engine in flight.", "shut-off-missing"),
    item("23.995(b)", "No shut-off valve is on the engine's side of the firewall.", "shut-off-on-engine-side"),
    item(
        "23.995", "The valve's handle is guarded against being moved by mistake, and it can be opened again in flight."
    ),
    item(
        "23.995",
        "OFF takes an act of its own, and turning from tank to tank does not pass through OFF.",
        only=SELECTOR,
    ),
    item(
        AC_43_13,
        "The selector leaks in no setting: shut, nothing runs; on one tank, nothing comes from another.",
        only=SELECTOR,
    ),
    item(
        "23.997",
        "A strainer or filter stands between the outlet and the first pump, or the metering device.",
        "filter-missing",
    ),
    item("23.997(a)", "It can be reached to be drained and cleaned, and its element comes out easily."),
    item("23.997(b)", "It has a trap for water and a drain, or comes off easily for draining.", "filter-without-drain"),
    item("23.997(c)", "Its weight hangs on a bracket and not on the lines."),
    item("23.997(d)", "It lets enough through when it is dirty.", "feed-flow-too-small", figure=figures.flow_to_show),
    item(
        "23.971(c)", "The sediment bowl is large enough and can be reached.", "sediment-bowl-small", figure=figures.bowl
    ),
    item(
        "23.999(a)",
        "With the aircraft parked, its drains empty the whole system: no low place keeps fuel.",
        "feed-line-low-point",
    ),
    item("23.999(b)(1)", "What a drain lets out falls clear of the aircraft."),
    item("23.999(b)(2)", "A drain locks shut, can be seen to be shut, and a sample can be caught from it."),
    item("23.999(b)(2)", "A drain low on the fuselage is guarded for a landing with the gear up."),
    item("23.1305(b)(4)", "A gauge or warning of fuel pressure or fuel flow is connected.", only=PUMPED),
    item(
        "23.1189(a)(5)",
        "Once shut off, little fuel can run into the engine bay. Asked for with several engines, good for one.",
        figure=figures.after_shut_off,
    ),
    item(
        ("23.951(c)", PRACTICE),
        "Jet fuel holds water that freezes: a heated or by-passed filter or an additive that the engine's maker allows. The"
        " rule is for turbines.",
        only=HEAVY,
    ),
    item(
        ("23.975(a)", PRACTICE),
        "Nothing that can be shut, and no check valve, stands in the only vent line of a tank.",
        "vent-can-be-shut",
    ),
    item(
        PRACTICE,
        "The feed lines of each tank run as the design states them; what it does not state is measured and added.",
        "feed-in-doubt",
    ),
    item(
        ("23.959(a)", PRACTICE),
        "Where tanks are joined, what is drawn to keep one's fuel from the other is fitted: with the aircraft wing low, as in a slip, what"
        " runs across in a minute is measured.",
        "joined-tanks-stop-engine-sooner joined-tanks-leave-less-usable",
        only=SEVERAL,
    ),
)
