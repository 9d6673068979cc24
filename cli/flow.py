"""`fuelsys flow`: what the feed lines bring to the engine, to pumps and into tanks."""

from __future__ import annotations

from pathlib import Path

import click

from fuelsys import review
from fuelsys.analysis.breathing import breathing
from fuelsys.analysis.overfilling import overfills
from fuelsys.report import flow_tables, vent_tables
from fuelsys_cli import options


@click.command("flow")
@click.argument("design", type=options.PATH)
@options.answers
def command(design: Path, form: str, volume_unit: str | None, length_unit: str | None) -> None:
    """Show what the feed lines bring to the engine, to pumps and into tanks."""
    layout = review.read(design)
    shown = options.units_of(volume_unit, length_unit, layout.design)
    vents = vent_tables.breathing(breathing(layout), overfills(layout), shown)
    options.show([*flow_tables.flows(review.carried(layout), shown), *vents], form)
