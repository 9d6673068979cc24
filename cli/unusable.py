"""`fuelsys unusable`: what stays behind at each attitude, and where."""

from __future__ import annotations

from pathlib import Path

import click

from fuelsys_cli import options, starting


@click.command("unusable")
@click.argument("design", type=options.PATH)
@click.option("--tank", help="One tank; all without it.")
@options.answers
def command(design: Path, tank: str | None, form: str, volume_unit: str | None, length_unit: str | None) -> None:
    """Show what stays behind at each attitude, and where.

    Below, what joined tanks keep together; usable fuel as flight time above the reserves, and what each tank's placard says.
    """
    starting.on_design(design, tank)

    from fuelsys import review
    from fuelsys.load.designs.door import load_design
    from fuelsys.report.tables import exchange as exchange_tables
    from fuelsys.report.tables import reserves as reserve_tables
    from fuelsys.report.tables import unusable as unusable_tables

    study = review.study(load_design(design), only=tank)
    shown = options.units_of(volume_unit, length_unit, study.layout.design)
    tables = [table for one in study.tanks for table in unusable_tables.unusable(one, shown)]
    joined = exchange_tables.exchange(study.exchange, shown)
    options.show([*tables, *joined, reserve_tables.reserves(study, shown)], form)
