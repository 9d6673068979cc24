"""`fuelsys dipstick`: the graduations of each tank's dipstick."""

from __future__ import annotations

from pathlib import Path

import click

from fuelsys_cli import options, starting


@click.command("dipstick")
@click.argument("design", type=options.PATH)
@click.option("--tank", help="One tank; all that have a stick without it.")
@click.option("--into", type=options.PATH, help="Write the sticks at full size into this .pdf, to print at 100 %.")
@click.option(
    "--paper", type=click.Choice(["a4", "letter"]), help="Its paper; a4, or letter where lengths are in inches."
)
@click.option("--replace", is_flag=True, help="Write over a file that is there already.")
@options.answers
def command(
    design: Path, tank: str | None, into: Path | None, paper: str | None, replace: bool, form: str,
    volume_unit: str | None, length_unit: str | None,
) -> None:  # fmt: skip
    """Show the graduations of each tank's dipstick."""
    if into is None and (paper or replace):
        raise click.UsageError(f"--{'paper' if paper else 'replace'} needs --into.")
    if into is not None:
        if into.suffix.lower() != ".pdf":
            raise click.UsageError("--into writes a .pdf.")
        from fuelsys.report.files import check_free

        check_free(into, replace=replace)
    starting.on_design(design, tank)

    from fuelsys import review
    from fuelsys.report.tables import dipstick as stick_tables

    layout = review.read(design)
    shown = options.units_of(volume_unit, length_unit, layout.design)
    found = review.dipsticks(layout, shown.volume, tank)
    if into is not None:
        from fuelsys.report.charts import dipstick as stick_chart
        from fuelsys.report.drawing import files as pictures

        pages = [page for one, stick in found for page in stick_chart.dipstick(one, stick, shown)]
        on = paper or ("letter" if shown.length in ("in", "ft") else "a4")
        options.write(into, pictures.as_pdf(pages, on), replace=replace)
    options.show([stick_tables.dipstick(one, stick, shown) for one, stick in found], form)
