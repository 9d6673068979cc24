"""`fuelsys levels`: volume against level at an attitude."""

from __future__ import annotations

from math import degrees
from pathlib import Path

import click

from fuelsys_cli import options, starting


@click.command("levels")
@click.argument("file", type=options.PATH)
@click.option("--unit", help="Unit of a bare mesh: mm, cm, m, in or ft.")
@options.of_mesh
@click.option("--axes", default="aft, right, up", show_default=True, help="Where x, y and z of a bare mesh point.")
@click.option("--tank", help="One tank of a design; all without it.")
@click.option("--at", "name", help="A named attitude of the design.")
@click.option("--pitch", type=options.TILT, default="0 deg", show_default=True, help="Nose up positive.")
@click.option("--roll", type=options.TILT, default="0 deg", show_default=True, help="Right wing down positive.")
@click.option("--level-step", type=options.LENGTH, help='Rows at equal steps of level, such as "5 mm".')
@click.option("--volume-step", type=options.VOLUME, help='Rows at equal steps of volume, such as "1 L".')
@options.answers
def command(
    file: Path,
    unit: str | None,
    body: str,
    tolerance: float | None,
    axes: str,
    tank: str | None,
    name: str | None,
    pitch: float,
    roll: float,
    level_step: float | None,
    volume_step: float | None,
    form: str,
    volume_unit: str | None,
    length_unit: str | None,
) -> None:
    """Show volume against level at any pitch and roll.

    FILE is a design file (.toml), or a mesh of one tank's inside.
    """
    if level_step is not None and volume_step is not None:
        raise click.UsageError("Give --level-step or --volume-step, not both.")
    choice = options.bare_mesh(file, body, tolerance)
    starting.on_meshes(file) if choice else starting.on_design(file, tank)

    from fuelsys.analysis.tank.levels import level_table
    from fuelsys.load.designs import door
    from fuelsys.load.meshes.door import load_cavity
    from fuelsys.model.stated.attitude import Attitude
    from fuelsys.report.tables import levels as levels_tables

    attitude = Attitude.of_degrees(degrees(pitch), degrees(roll))
    if choice is None:
        from fuelsys import review

        layout = review.read(file)
        shown = options.units_of(volume_unit, length_unit, layout.design)
        attitude = options.named_attitude(layout, name) if name else attitude
        cavities = [fitted.cavity for fitted in door.chosen(layout, tank)]
    elif name or tank:
        raise click.UsageError("--at and --tank need a design file; give --pitch and --roll for a mesh.")
    else:
        cavities = [load_cavity(file, unit, axes, choice=choice)]
        shown = options.units_of_mesh(volume_unit, length_unit, unit)
    found = [(cavity, level_table(cavity, attitude, level_step, volume_step)) for cavity in cavities]
    options.show([levels_tables.levels(*one, shown) for one in found], form)
