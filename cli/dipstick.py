"""`fuelsys dipstick`: the graduations of each tank's dipstick."""

from __future__ import annotations

from pathlib import Path

import click

from fuelsys_cli import options, starting


@click.command("dipstick")
@click.argument("design", type=options.PATH)
@click.option("--tank", help="One tank; all that have a stick without it.")
@options.answers
def command(design: Path, tank: str | None, form: str, volume_unit: str | None, length_unit: str | None) -> None:
    """Show the graduations of each tank's dipstick."""
    starting.on_design(design, tank)

    from fuelsys import review
    from fuelsys.report.tables import stick as stick_tables

    layout = review.read(design)
    shown = options.units_of(volume_unit, length_unit, layout.design)
    found = review.dipsticks(layout, shown.volume, tank)
    options.show([stick_tables.dipstick(one, stick, shown) for one, stick in found], form)
