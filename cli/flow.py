"""`fuelsys flow`: what the feed lines bring to the engine, to pumps and into tanks, and how the vents breathe."""

from __future__ import annotations

from pathlib import Path

import click

from fuelsys_cli import options, starting, sweeping


@click.command("flow")
@click.argument("design", type=options.PATH)
@click.option(
    "--temperature",
    "temperatures",
    type=options.TEMPERATURE,
    multiple=True,
    help='With --picture: of the fuel, such as "35 degC", as often as wanted; else 15, 30 and 43.3 degC (110 degF).',
)
@sweeping.with_picture
@options.answers
def command(
    design: Path, temperatures: tuple[float, ...], picture: Path | None, replace: bool, form: str,
    volume_unit: str | None, length_unit: str | None,
) -> None:  # fmt: skip
    """Show what the feed lines bring to the engine, to pumps and into tanks.

    --picture draws how far the fuel is from boiling where it is sucked or runs by gravity, against altitude.
    """
    if temperatures and picture is None:
        raise click.UsageError("--temperature needs --picture.")
    sweeping.check_picture(picture, replace=replace)
    starting.on_design(design)

    from fuelsys import review
    from fuelsys.analysis.lines.airing import airings
    from fuelsys.analysis.lines.breathing import breathing
    from fuelsys.analysis.lines.heat import heated
    from fuelsys.analysis.lines.overfilling import overfills
    from fuelsys.report.tables import flow as flow_tables
    from fuelsys.report.tables import heat as heat_tables
    from fuelsys.report.tables import vents as vent_tables

    layout = review.read(design)
    shown = options.units_of(volume_unit, length_unit, layout.design)
    found = review.carried(layout)
    if picture:
        from fuelsys.analysis.lines.suction import TEMPERATURES_K, suctions
        from fuelsys.report.charts import flow as suction_chart
        from fuelsys.report.drawing import files as pictures

        drawn = suction_chart.margins(suctions(layout, found, temperatures or TEMPERATURES_K), shown)
        options.write(picture, pictures.as_bytes(drawn, picture.suffix), replace=replace)
    settings = airings(layout)
    vents = vent_tables.breathing(breathing(layout, settings), overfills(layout, settings), shown)
    options.show([*flow_tables.flows(found, shown), *vents, *heat_tables.warmth(heated(layout), shown)], form)
