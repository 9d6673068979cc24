"""`fuelsys dipstick`: the graduations of each tank's dipstick."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fuelsys_cli import options, starting

if TYPE_CHECKING:
    from fuelsys.model.built.layout import FittedTank
    from fuelsys.model.found.dipstick import DipstickStudy
    from fuelsys.report.shown import Shown


KINDS = (".pdf", ".svg", ".txt")


@click.command("dipstick")
@click.argument("design", type=options.PATH)
@click.option("--tank", help="One tank; all that have a stick without it.")
@click.option(
    "--attitude", "attitudes", multiple=True,
    help="An attitude of the envelope that the stick is made for, the normal one on the ground without it;"
    " given twice, the stick gets a face for each.",
)  # fmt: skip
@click.option(
    "--into",
    type=options.PATH,
    help="Write the sticks at full size into this .pdf, to print at 100 %; one in one piece as .svg; a list to engrave by as .txt.",
)
@click.option(
    "--paper",
    type=click.Choice(["a4", "letter"]),
    help="The paper of a .pdf; a4, or letter where lengths are in inches.",
)
@click.option("--replace", is_flag=True, help="Write over a file that is there already.")
@options.answers
def command(
    design: Path, tank: str | None, attitudes: tuple[str, ...], into: Path | None, paper: str | None, replace: bool,
    form: str, volume_unit: str | None, length_unit: str | None,
) -> None:  # fmt: skip
    """Show the graduations of each tank's dipstick."""
    _check(into, paper, replace, attitudes)
    starting.on_design(design, tank)

    from fuelsys import review
    from fuelsys.report.tables import dipstick as stick_tables

    layout = review.read(design)
    shown = options.units_of(volume_unit, length_unit, layout.design)
    at = [options.named_attitude(layout, name) for name in attitudes]
    found = review.dipsticks(layout, shown.volume, tank, at)
    if into is not None:
        options.write(into, _file(found, shown, into.suffix.lower(), paper), replace=replace)
    options.show([table for one, sticks in found for table in stick_tables.faces(one, sticks, shown)], form)


def _check(into: Path | None, paper: str | None, replace: bool, attitudes: tuple[str, ...]) -> None:
    """Refuse options that do not go together, before anything is computed."""
    if len(set(attitudes)) != len(attitudes) or len(attitudes) > 2:
        raise click.UsageError("a stick has two faces: give --attitude once or twice, each another one.")
    if into is None:
        if paper or replace:
            raise click.UsageError(f"--{'paper' if paper else 'replace'} needs --into.")
        return
    if into.suffix.lower() not in KINDS:
        raise click.UsageError("--into writes a .pdf, .svg or .txt.")
    if paper and into.suffix.lower() != ".pdf":
        raise click.UsageError("--paper is for a .pdf: an .svg has the stick in one piece.")
    from fuelsys.report.files import check_free

    check_free(into, replace=replace)


def _file(
    found: Sequence[tuple[FittedTank, Sequence[DipstickStudy]]], shown: Shown, kind: str, paper: str | None
) -> str | bytes:
    """The sticks as a file of a kind."""
    from fuelsys.report import text
    from fuelsys.report.charts import dipstick as chart
    from fuelsys.report.drawing import files as pictures
    from fuelsys.report.tables import dipstick as tables

    if kind == ".txt":
        lists = [table for one, sticks in found for table in tables.engraving(one, sticks, chart.length_m(one), shown)]
        return text.tables(lists, width=100) + text.cautions(100)
    if kind == ".svg":
        if len(found) > 1:
            raise click.UsageError("an .svg has one stick: name its tank with --tank.")
        ((one, sticks),) = found
        (drawn,) = chart.dipstick(one, sticks, shown, whole=True)
        return pictures.as_bytes(drawn, kind)
    pages = [page for one, sticks in found for page in chart.dipstick(one, sticks, shown)]
    return pictures.as_pdf(pages, paper or ("letter" if shown.length in ("in", "ft") else "a4"))
