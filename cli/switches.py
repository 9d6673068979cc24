"""`fuelsys switches`: what is left when each low-level switch trips and resets."""

from __future__ import annotations

from pathlib import Path

import click

from fuelsys_cli import options, starting


@click.command("switches")
@click.argument("design", type=options.PATH)
@click.option("--tank", help="One tank; all without it.")
@options.answers
def command(design: Path, tank: str | None, form: str, volume_unit: str | None, length_unit: str | None) -> None:
    """Show what is left when each low-level switch trips and resets."""
    starting.on_design(design, tank)

    from fuelsys import review
    from fuelsys.load.designs.door import load_design
    from fuelsys.report.tables import exchange as exchange_tables
    from fuelsys.report.tables import switches as switches_tables

    study = review.study(load_design(design), only=tank)
    shown = options.units_of(volume_unit, length_unit, study.layout.design)
    tables = [table for one in review.switched(study, tank) for table in switches_tables.switches(one, shown)]
    options.show([*tables, *exchange_tables.lamps(study.exchange, shown)], form)
