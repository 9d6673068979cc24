"""`fuelsys capacity`: what the tanks hold."""

from __future__ import annotations

from pathlib import Path

import click

from fuelsys_cli import options, starting


@click.command("capacity")
@click.argument("file", type=options.PATH)
@click.option("--unit", help="Unit of a bare mesh: mm, cm, m, in or ft.")
@options.of_mesh
@click.option("--tank", help="One tank of a design; all without it.")
@options.answers
def command(
    file: Path,
    unit: str | None,
    body: str,
    tolerance: float | None,
    tank: str | None,
    form: str,
    volume_unit: str | None,
    length_unit: str | None,
) -> None:
    """Show what the tanks hold: gross, expansion space, fillable, unusable, usable.

    FILE is a design file (.toml), or a mesh of one tank's inside for its gross volume alone.
    """
    choice = options.bare_mesh(file, body, tolerance)
    starting.on_meshes(file) if choice else starting.on_design(file, tank)

    from fuelsys import review
    from fuelsys.load.designs.door import load_design
    from fuelsys.load.formats.files import label
    from fuelsys.load.meshes.door import load_cavity
    from fuelsys.report.tables import capacity as capacity_tables
    from fuelsys.report.tables import design as design_tables

    if choice:
        if tank:
            raise click.UsageError("--tank is for a design file; of a mesh --body picks one of several bodies.")
        shown = options.units_of_mesh(volume_unit, length_unit, unit)
        cavity = load_cavity(file, unit, choice=choice)
        options.show([capacity_tables.gross(cavity, label(file.name), shown, litres_asked=bool(volume_unit))], form)
        return
    study = review.study(load_design(file), only=tank)
    shown = options.units_of(volume_unit, length_unit, study.layout.design)
    totals = [] if tank else [design_tables.totals(study, shown)]
    options.show([*totals, *(capacity_tables.capacity(study, one, shown) for one in study.tanks)], form)
