"""`fuelsys filltest`: the finished tank, filled in measured steps, corrects its model."""

from __future__ import annotations

import datetime
import os
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fuelsys.errors import QuestionError
from fuelsys_cli import options, starting, sweeping

if TYPE_CHECKING:
    from fuelsys.model.built.layout import Layout
    from fuelsys.model.found.filltest import FillPlan, FillTest
    from fuelsys.model.stated.attitude import Attitude
    from fuelsys.report.shown import Shown

KINDS = (".csv", ".pdf")
NOTHING_TO_COUNT = 3  # the exit code of a sheet whose readings give no correction, or that has lines that do not belong


@click.command("filltest")
@click.argument("design", type=options.PATH)
@click.option("--tank", required=True, help="The tank that is filled.")
@click.option("--at", help="The ground attitude that it stands at; the normal one without it.")
@click.option(
    "--sheet",
    type=options.PATH,
    help="Write a sheet to fill in while pouring: a .csv to type, or the same as a .pdf to print.",
)
@click.option(
    "--paper",
    type=click.Choice(["a4", "letter"]),
    help="The paper of a .pdf; a4, or letter where lengths are in inches.",
)
@click.option("--from", "filled_in", type=options.PATH, help="Read the sheet that was filled in.")
@click.option(
    "--into",
    type=options.PATH,
    help="Name the sheet in this design file, so that all answers count the corrected tank.",
)
@click.option("--date", help="The day of the test, as 2026-05-30; today without it.")
@sweeping.with_picture
@options.answers
def command(
    design: Path, tank: str, at: str | None, sheet: Path | None, paper: str | None, filled_in: Path | None, into: Path | None,
    date: str | None, picture: Path | None, replace: bool, form: str, volume_unit: str | None, length_unit: str | None,
) -> None:  # fmt: skip
    """Correct the model by filling the finished tank in measured steps.

    First --sheet writes a sheet and shows how to go about it; then --from reads it and answers: what the readings say of
    capacity and dipstick, which lines do not belong, and whether each lamp went out where it should; the exit code is 3
    where its readings give no correction or it has lines that do not belong.
    """
    if (sheet is None) == (filled_in is None):
        raise click.UsageError("Give --sheet, to write a sheet, or --from, to read it.")
    if sheet and (picture or into):
        raise click.UsageError(f"{'--picture' if picture else '--into'} needs --from.")
    _check_sheet(sheet, paper, replace=replace)
    if date and not into:
        raise click.UsageError("--date needs --into.")
    day = _day(date)
    sweeping.check_picture(picture, replace=replace)
    starting.on_design(design, tank)

    from fuelsys.analysis.fills.filltest import fill_test
    from fuelsys.analysis.fills.measured import check_usable
    from fuelsys.analysis.fills.plan import plan
    from fuelsys.load.designs import door
    from fuelsys.load.designs.amend import with_test
    from fuelsys.load.designs.fillsheet import digest, read_sheet
    from fuelsys.model.stated.fittings import Measured
    from fuelsys.report.tables import fill_sheet
    from fuelsys.report.tables import filltest as filltest_tables

    layout = door.load_design(design, as_drawn=True)
    (fitted,) = door.chosen(layout, tank)
    attitude = _ground(layout, at)
    shown = options.units_of(volume_unit, length_unit, layout.design)
    if sheet:
        planned = plan(layout, fitted, attitude, shown.volume)
        options.write(sheet, _to_fill_in(sheet, planned, layout, shown, paper), replace=replace)
        options.show([fill_sheet.how_to(planned, shown)], form)
        return
    assert filled_in is not None
    read = read_sheet(filled_in, [switch.name for switch in fitted.design.switch])
    test = fill_test(layout, fitted, attitude, read, shown.volume)
    if picture:
        options.write(picture, _drawn(test, shown, picture.suffix), replace=replace)
    if into:
        check_usable(layout, test)
        told = Measured(sheet=_beside(filled_in, into), sha256=digest(filled_in), date=day, at=attitude.name)
        options.write(into, with_test(into, fitted.name, told), replace=True)
    options.show(filltest_tables.tables(test, shown), form)
    if not _counts(test):
        click.get_current_context().exit(NOTHING_TO_COUNT)


def _check_sheet(sheet: Path | None, paper: str | None, *, replace: bool) -> None:
    """Before anything is computed: the sheet's name says what it is, and may be written."""
    kind = sheet.suffix.lower() if sheet else ""
    if sheet and kind not in KINDS:
        raise click.UsageError(f'--sheet: "{sheet.name}" is neither a .csv nor a .pdf file.')
    if paper and kind != ".pdf":
        raise click.UsageError("--paper is for a --sheet that is a .pdf.")
    if sheet:
        from fuelsys.report.files import check_free

        check_free(sheet, replace=replace)


def _to_fill_in(sheet: Path, planned: FillPlan, layout: Layout, shown: Shown, paper: str | None) -> bytes | str:
    """The sheet to type, or as pages to print."""
    if sheet.suffix.lower() != ".pdf":
        from fuelsys.report.tables import fill_sheet

        return fill_sheet.sheet(planned, shown)
    from fuelsys.report.charts.fill_sheet import fill_sheet_pages
    from fuelsys.report.drill import files

    chosen = paper or ("letter" if shown.length in ("in", "ft") else "a4")
    return files.pdf(fill_sheet_pages(planned, layout, shown, chosen, datetime.date.today()))


def _counts(test: FillTest) -> bool:
    """Whether a sheet's readings, where it has any, give a correction, and all of its lines belong."""
    if test.fit is not None:
        return not test.fit.suspects
    return not any(row.read_m is not None or row.why for row in test.readings)


def _drawn(test: FillTest, shown: Shown, suffix: str) -> bytes:
    """The picture of the correction; QuestionError where there is none."""
    from fuelsys.report.charts import filltest as fill_chart
    from fuelsys.report.drawing import files as pictures

    if test.fit is None:
        why = f"The correction {test.why_no_fit}."
        raise QuestionError("there is nothing to draw", mend=why, file=test.file, field="--picture")
    return pictures.as_bytes(fill_chart.fit(test, test.fit, shown), suffix)


def _day(date: str | None) -> str:
    """The day of the test as it was given, or today."""
    try:
        return (datetime.date.fromisoformat(date) if date else datetime.date.today()).isoformat()
    except ValueError as fault:
        found = f'found "{date}"'
        raise QuestionError(found, mend="Give a day as 2026-05-30.", file="", field="--date") from fault


def _beside(sheet: Path, design: Path) -> str:
    """A sheet's path from the design file's folder."""
    return Path(os.path.relpath(sheet, design.parent)).as_posix()


def _ground(layout: Layout, name: str | None) -> Attitude:
    """The attitude on the ground of a name, or the normal one."""
    if name is None:
        return layout.design.normal("ground")
    attitude = options.named_attitude(layout, name)
    if attitude.phase != "ground":
        known = ", ".join(f'"{one.name}"' for one in layout.design.envelope if one.phase == "ground")
        found, mend = f'"{name}" is an attitude in flight', f"Tanks are filled on the ground: name one of {known}."
        raise QuestionError(found, mend=mend, file=layout.file, field="--at")
    return attitude
