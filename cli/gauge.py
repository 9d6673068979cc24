"""`fuelsys gauge`: how each tank's gauge is calibrated, and what it shows wrong at each attitude."""

from __future__ import annotations

from pathlib import Path

import click

from fuelsys_cli import options, starting, sweeping


@click.command("gauge")
@click.argument("design", type=options.PATH)
@click.option("--tank", help="One tank; all that have a gauge without it.")
@click.option("--gauge", help="One gauge of the tank, by its name; all without it.")
@click.option(
    "--error",
    type=options.ERROR,
    default="1 L",
    show_default=True,
    help="How far straight lines between the points may lie off at the normal flight attitude.",
)
@sweeping.with_picture
@options.answers
def command(
    design: Path, tank: str | None, gauge: str | None, error: float, picture: Path | None, replace: bool, form: str,
    volume_unit: str | None, length_unit: str | None,
) -> None:  # fmt: skip
    """Show how to calibrate each tank's gauge, and its error at each attitude."""
    sweeping.check_picture(picture, replace=replace)
    starting.on_design(design, tank)

    from fuelsys import review
    from fuelsys.report.tables import gauge as gauge_tables

    layout = review.read(design)
    shown = options.units_of(volume_unit, length_unit, layout.design)
    found = review.gauged(layout, error, shown.volume, tank, gauge)
    if picture:
        from fuelsys.report.charts import gauge as gauge_chart
        from fuelsys.report.drawing import files as pictures

        if len(found) > 1:
            raise click.UsageError("--picture draws one gauge: name it with --tank and --gauge.")
        drawn = gauge_chart.errors(found[0][1], shown)
        options.write(picture, pictures.as_bytes(drawn, picture.suffix), replace=replace)
    options.show([table for fitted, one in found for table in gauge_tables.gauge(fitted, one, shown)], form)
