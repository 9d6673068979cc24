"""`fuelsys place`: where a low-level mark must sit for a target of minutes."""

from __future__ import annotations

from pathlib import Path

import click

from fuelsys import review
from fuelsys.analysis.placement import place
from fuelsys.load.design import load_design
from fuelsys.report import tables
from fuelsys_cli import options


@click.command("place")
@click.argument("design", type=options.PATH)
@click.option("--tank", required=True, help="The tank that the switch sits in.")
@click.option("--x", type=options.LENGTH, required=True, help="Where the switch's stem stands along the mesh's x axis.")
@click.option("--y", type=options.LENGTH, required=True, help="Its place along the mesh's y axis.")
@click.option("--reserve", type=options.TIME, required=True, help='The target, such as "30 min".')
@click.option("--guaranteed", is_flag=True, help="At every flight attitude, not the normal one alone.")
@options.answers
def command(
    design: Path,
    tank: str,
    x: float,
    y: float,
    reserve: float,
    guaranteed: bool,
    form: str,
    volume_unit: str,
    length_unit: str | None,
) -> None:
    """Find the height of a low-level mark for a target of minutes."""
    layout = load_design(design)
    (fitted,) = review.chosen(layout, tank)
    placed = place(layout, fitted, (x, y), reserve, guaranteed=guaranteed)
    options.show(tables.placement(placed, tables.mesh_axes(fitted), options.units_of(volume_unit, length_unit)), form)
