"""`fuelsys dipstick`: the graduations of each tank's dipstick."""

from __future__ import annotations

from pathlib import Path

import click

from fuelsys import review
from fuelsys.load.design import load_design
from fuelsys.report import tables
from fuelsys_cli import options


@click.command("dipstick")
@click.argument("design", type=options.PATH)
@click.option("--tank", help="One tank; all that have a stick without it.")
@options.answers
def command(design: Path, tank: str | None, form: str, volume_unit: str, length_unit: str | None) -> None:
    """Show the graduations of each tank's dipstick."""
    found = review.dipsticks(load_design(design), tank)
    shown = options.units_of(volume_unit, length_unit)
    options.show([tables.dipstick(name, stick, shown) for name, stick in found], form)
