"""`fuelsys checklist`: what to see, to test and to write for each published paragraph, to print and to sign."""

from __future__ import annotations

from pathlib import Path

import click

from fuelsys_cli import options, starting, streams

# Those of fuelsys.rules.coverage; a test holds them to it.
SECTIONS = ("inside", "outside", "lines", "flow", "tanks", "paper")


@click.command("checklist")
@click.argument("design", type=options.PATH)
@click.option("--section", type=click.Choice(SECTIONS), help="One part alone.")
@click.option("--tank", help="One tank's inside alone: the sheet to sign before it is closed.")
@options.answers
def command(
    design: Path, section: str | None, tank: str | None, form: str, volume_unit: str | None, length_unit: str | None
) -> None:
    """Print what to see, test and write before flight, paragraph by paragraph, to tick and sign."""
    starting.on_design(design, tank)

    from fuelsys import review
    from fuelsys.load.designs import door
    from fuelsys.report.tables import checklist, checklist_text

    layout = door.load_design(design)
    shown = options.units_of(volume_unit, length_unit, layout.design)
    if tank is not None:
        door.chosen(layout, tank)
        if section not in (None, "inside"):
            raise click.UsageError("--tank is for the section inside; the others are for the whole aircraft.")
    study = review.study(layout)
    made = checklist.sheets(study, review.findings(study), shown)
    chosen = [sheet for sheet in made if (section in (None, sheet.section)) and (tank in (None, sheet.tank))]
    if form == "table":
        click.echo(checklist_text.sheets(chosen, streams.columns()), nl=False)
    else:
        options.show(checklist.tables(chosen, shown), form)
