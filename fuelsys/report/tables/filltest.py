"""The tables of a fill test: residuals, lines that do not belong, the correction, capacity, graduations, lamps."""

from __future__ import annotations

from fuelsys.model.found.filltest import FillFit, FillTest, Reading, Suspect
from fuelsys.model.words import Doubt
from fuelsys.report.shown import Shown
from fuelsys.report.table import Cell, Column, Table
from fuelsys.report.tables import fill_gauges, fill_words

_KINDS = {"scale": "share", "offset": "length", "pitch": "angle", "roll": "angle", "layer": "length"}
_NAMES = {"scale": "scale", "offset": "stick's offset", "pitch": "pitch", "roll": "roll", "layer": "layer"}


def tables(test: FillTest, shown: Shown) -> list[Table]:
    """All tables of a fill test, in the order in which they are read."""
    found = [residuals(test, shown)]
    fit = test.fit
    if fit:
        if fit.suspects:
            found.append(_suspects(test, fit, shown))
        found += [_correction(test, fit, shown), _tried(test, fit, shown), _capacity(test, fit, shown)]
        if fit.marks:
            found.append(_marks(test, fit, shown))
    found += fill_gauges.tables(test, shown)
    if test.lamps:
        found.append(_lamps(test, shown))
    if test.at_marks:
        found.append(_at_marks(test, shown))
    return found


def residuals(test: FillTest, shown: Shown) -> Table:
    """Each line: the total, what was read, and what the model reads before and after the correction."""
    columns = (
        Column("line"),
        Column("total", "volume"),
        Column("read", "length"),
        Column("model as drawn", "length", rank=2),
        Column("model corrected", "length", rank=2),
        Column("read less drawn", "length"),
        Column("read less corrected", "length"),
        Column("remark"),
    )
    suspected = {(one.line, one.place): one for one in test.fit.suspects} if test.fit else {}
    rows = tuple(_residual(row, suspected.get((row.line, row.place))) for row in test.readings)
    notes: list[str] = [Doubt(fill_words.warning(one, shown)) for one in suspected.values()]
    if test.fit is None:
        notes.append(f"Correction: not computed: {test.why_no_fit}.")
    notes += [
        *test.origin,
        *([f"Stick readings from its {test.zero}, at {test.attitude.text}."] if test.zero else []),
        "Totals at the fuel's own temperature in the tank."
        if test.by_temperature
        else "No temperature is given: all fuel counts as at one temperature, and no mass is known.",
    ]
    if any(row.attitude for row in test.readings):
        notes.append(
            "At another attitude: held against the model there; how it stood counts as sure to a millimetre or two."
        )
    notes += fill_words.left_out(test)
    title = f"Fill test of tank {test.tank} ({test.file})"
    return Table(f"{test.tank}-filltest", title, columns, rows, tuple(notes), shown)


def _residual(row: Reading, suspect: Suspect | None) -> tuple[Cell, ...]:
    off = [None if row.read_m is None or model is None else row.read_m - model for model in (row.before_m, row.after_m)]
    remark = row.why
    if suspect:
        remark = "does not belong" if suspect.kind == "reading" else "total off from here on"
    where = [f"stick {row.place + 1}"] if row.place else []
    where += [f"at {row.attitude}"] if row.attitude else []
    remark = ", ".join([*where, remark] if remark else where)
    return (str(row.line), row.total_m3, row.read_m, row.before_m, row.after_m, *off, remark)


def _suspects(test: FillTest, fit: FillFit, shown: Shown) -> Table:
    columns = (
        Column("line"),
        Column("what"),
        Column("reading off", "length"),
        Column("total off", "volume"),
        Column("could mean"),
    )
    rows = tuple(
        (
            str(one.line),
            f"{fill_words.stick(one.place)} alone" if one.kind == "reading" else "the total from here on",
            one.off if one.kind == "reading" else None,
            one.off if one.kind == "total" else None,
            "; or ".join(one.meanings) or "no usual slip: look again",
        )
        for one in fit.suspects
    )
    notes = (
        "Off: noted less what the other lines say. The correction below leaves such a reading out, and such a total open:"
        " mend the line and ask again.",
    )
    return Table(f"{test.tank}-filltest-lines", "Lines that do not belong", columns, rows, notes, shown)


def _correction(test: FillTest, fit: FillFit, shown: Shown) -> Table:
    columns = [Column("readings"), Column("noise", "length")]
    cells: list[Cell] = [str(fit.used), fit.noise_m]
    for one in fit.found:
        kind = _KINDS[one.name]
        columns += [Column(_NAMES[one.name], kind), Column(f"{_NAMES[one.name]}, within", kind)]
        cells += [one.value, one.within]
    notes = [*fill_words.verdict(fit, shown)]
    if said := fill_words.unchecked(test, shown):
        notes.append(said)
    notes += fill_words.means(fit.found)
    notes += [fill_words.fine(one) for one in fit.found if one.name == "layer"]
    notes.append(
        "Within: half the width of an interval of 95 %. Noise: the spread of the readings about the correction."
    )
    if not fit.searched:
        notes.append(Doubt("so few readings that no line was searched for mistakes."))
    if fit.runs:
        notes.append(
            Doubt(
                "neighbouring readings are off alike more than chance makes them: the tank is of another shape than"
                " drawn somewhere, or amounts are off, and the figures are less sure than they say."
            )
        )
    return Table(
        f"{test.tank}-filltest-correction",
        f"Correction of tank {test.tank}",
        tuple(columns),
        (tuple(cells),),
        tuple(notes),
        shown,
    )


def _tried(test: FillTest, fit: FillFit, shown: Shown) -> Table:
    columns = (
        Column("correction"),
        Column("figures"),
        Column("residuals' spread", "length", rank=1),
        Column("AICc", rank=2),
        Column("p of what adds most"),
        Column("fillable" if fit.capacity.fillable_m3 else "gross", "volume"),
        Column("remark"),
    )
    rows = tuple(
        (
            fill_words.called(one),
            str(one.figures),
            one.spread_m,
            None if one.aicc is None else f"{one.aicc:.1f}",
            None if one.p is None else ("under 0.001" if one.p < 0.001 else f"{one.p:.3f}"),
            one.fillable_m3,
            "kept"
            if one.kept
            else "explains it as well"
            if one.rival
            else "more than needed"
            if one.enough
            else "not enough",
        )
        for one in sorted(fit.tried, key=lambda one: (one.figures, one.spread_m))
    )
    notes = (
        "Enough is a correction that nothing added to it improves (F test, p under 0.01); the simplest that is enough is kept.",
        "AICc compares them another way: the lowest, and those within 2 of it, are supported best.",
    )
    return Table(f"{test.tank}-filltest-tried", "Corrections that were tried", columns, rows, notes, shown)


def _capacity(test: FillTest, fit: FillFit, shown: Shown) -> Table:
    columns = (Column("what"), Column("drawn", "volume"), Column("corrected", "volume"), Column("within", "volume"))
    rows: list[tuple[Cell, ...]] = [("gross", *fit.capacity.gross_m3)]
    if fit.capacity.fillable_m3:
        rows.append(("fillable", *fit.capacity.fillable_m3))
    else:
        rows.append(("fillable, not computed: needs a filler or a vent", None, None, None))
    notes: tuple[str, ...] = (
        f"Fillable at {test.attitude.text}. Corrected for scale and layer; the other corrections change no capacity.",
        "Within: 95 %, whatever of scale, offset, tilt and layer the readings do not show. Unusable fuel is not corrected:"
        " drain the tank and measure it.",
    )
    if fit.fewer:
        notes = (
            *notes,
            f"Within covers both, a can of {shown.text(fit.fewer.amount_m3, 'volume')} less and all as noted.",
        )
    return Table(
        f"{test.tank}-filltest-capacity",
        f"Capacity of tank {test.tank} by the test",
        columns,
        tuple(rows),
        notes,
        shown,
    )


def _marks(test: FillTest, fit: FillFit, shown: Shown) -> Table:
    columns = (
        Column("quantity", "volume"),
        Column("drawn at", "length"),
        Column("belongs at", "length"),
        Column("within", "length"),
        Column("within, as quantity", "volume"),
    )
    rows = tuple((mark.volume_m3, mark.drawn_m, mark.corrected_m, mark.within_m, mark.within_m3) for mark in fit.marks)
    notes = [
        f"Lengths from the stick's {test.zero}, for the aircraft as it stood in the test: {test.attitude.text} as stated.",
        "Within: 95 %, whatever of scale, offset, tilt and layer the readings do not show.",
    ]
    read = [
        row.total_m3 for row in test.readings if row.read_m is not None and not (row.why or row.place or row.attitude)
    ]
    notes += fill_words.sure_from(fit, shown)
    beyond = [mark for mark in fit.marks if not min(read) <= mark.volume_m3 <= max(read)]
    if beyond:
        notes.append(
            f"Read from {shown.text(min(read), 'volume')} to {shown.text(max(read), 'volume')}: marks beyond are carried on."
        )
    length_m = float("inf") if fit.curve is None else float(fit.curve[0].max())
    off = [mark for mark in fit.marks if not 0.0 <= mark.corrected_m <= length_m]
    if off:
        named = ", ".join(shown.text(mark.volume_m3, "volume") for mark in off)
        notes.append(f"Not on the stick any more, which has {shown.text(length_m, 'length')}: {named}.")
    return Table(
        f"{test.tank}-filltest-dipstick",
        f"Dipstick of tank {test.tank} by the test",
        columns,
        rows,
        tuple(notes),
        shown,
    )


def _lamps(test: FillTest, shown: Shown) -> Table:
    columns = (
        Column("lamp"),
        Column("event"),
        Column("seen from", "volume"),
        Column("seen to", "volume"),
        Column("expected", "volume"),
        Column("expected from", "volume"),
        Column("expected to", "volume"),
        Column("verdict"),
        Column("remark"),
    )
    rows = tuple(
        (
            one.switch,
            one.event,
            *(one.seen_m3 or (None, None)),
            one.predicted_m3,
            *(one.window_m3 or (None, None)),
            one.verdict,
            one.why,
        )
        for one in test.lamps
    )
    by = "the corrected model" if test.fit else "the model as drawn, which no stick corrects"
    notes = (
        f"Expected by {by}, at {test.attitude.text}: a lamp goes out where its switch resets (rising), comes on where it trips"
        " (falling); from and to: the mark's tolerance and the correction's doubt.",
        "Contradicted: seen and expected do not meet. To be looked at: too coarse to tell, or not seen.",
    )
    return Table(f"{test.tank}-filltest-lamps", f"Lamps of tank {test.tank}", columns, rows, notes, shown)


def _at_marks(test: FillTest, shown: Shown) -> Table:
    """What is in the tank when each lamp lights, at each attitude, and what of it is counted on."""
    columns = (
        Column("lamp"),
        Column("attitude"),
        Column("drawn", "volume"),
        Column("by the test", "volume"),
        Column("within", "volume"),
        Column("by the lamp from", "volume", rank=1),
        Column("by the lamp to", "volume", rank=2),
        Column("sure", "volume"),
    )
    rows = tuple(
        (
            one.switch,
            one.attitude.text,
            one.drawn_m3,
            one.held_m3,
            one.within_m3,
            *(one.seen_m3 or (None, None)),
            one.sure_m3,
        )
        for one in test.at_marks
    )
    notes = (
        "Below the mark's level, other pools included. Sure: minutes count no more, once the design names this test, and the mark's"
        " tolerance is taken off besides.",
        "Within: 95 %, and what the correction leaves unexplained at the readings next to it; the tilt that the test found may be"
        " the tank's own or the ground's, and the worse of the two counts.",
        "By the lamp: the totals between which it was seen to change, carried to the mark and to that attitude.",
    )
    title = f"What surely is in tank {test.tank} when its lamps light"
    return Table(f"{test.tank}-filltest-marks", title, columns, rows, notes, shown)
