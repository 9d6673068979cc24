"""`fuelsys flow`: what the feed lines bring to the engine, to pumps and into tanks."""

from __future__ import annotations

from pathlib import Path

import click

from fuelsys import review
from fuelsys.report.tables import flow as flow_tables
from fuelsys_cli import options


@click.command("flow")
@click.argument("design", type=options.PATH)
@options.answers
def command(design: Path, form: str, volume_unit: str | None, length_unit: str | None) -> None:
    """Show what the feed lines bring to the engine, to pumps and into tanks."""
    layout = review.read(design)
    shown = options.units_of(volume_unit, length_unit, layout.design)
    options.show(flow_tables.flows(review.carried(layout), shown), form)
