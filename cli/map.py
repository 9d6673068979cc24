"""`fuelsys map`: what stays behind over a grid of pitch and roll."""

from __future__ import annotations

from pathlib import Path

import click

from fuelsys_cli import options, starting, sweeping
from fuelsys_cli.progress import Bar


@click.command("map")
@click.argument("design", type=options.PATH)
@click.option("--tank", required=True, help="The tank.")
@click.option("--pitch", type=sweeping.Angles(), default="-12..20 deg", show_default=True, help="Nose up positive.")
@click.option(
    "--roll", type=sweeping.Angles(), default="-16..16 deg", show_default=True, help="Right wing down positive."
)
@click.option("--steps", type=click.IntRange(2, 1000), default=9, show_default=True, help="Figures along each of them.")
@sweeping.with_picture
@sweeping.by_workers
@options.answers
def command(
    design: Path, tank: str, pitch: tuple[float, float], roll: tuple[float, float], steps: int, picture: Path | None,
    replace: bool, workers: int | None, cluster: str | None, form: str, volume_unit: str | None, length_unit: str | None,
) -> None:  # fmt: skip
    """Show what stays behind over a grid of pitch and roll."""
    sweeping.check_picture(picture, replace=replace)
    starting.on_design(design, tank)
    import numpy as np

    from fuelsys import review
    from fuelsys.analysis.sweeping.map import unusable_map
    from fuelsys.load.designs import door
    from fuelsys.model.found.map import UnusableGrid
    from fuelsys.report.tables import map as map_tables

    layout = review.read(design)
    shown = options.units_of(volume_unit, length_unit, layout.design)
    (fitted,) = door.chosen(layout, tank)
    pitches, rolls = (np.linspace(*ends, steps) for ends in (pitch, roll))
    with sweeping.workers(workers, cluster, [fitted]) as (executor, ahead), Bar(f"tank {tank}") as told:
        found = unusable_map(fitted, pitches, rolls, executor, told, ahead, layout.file)
    grid = UnusableGrid(tank, pitches, rolls, found, fitted.remarks)
    if picture:
        from fuelsys.report.charts import map as map_chart
        from fuelsys.report.drawing import files as pictures

        drawn = map_chart.unusable_map(review.study(layout, only=tank).tanks[0], pitches, rolls, found, shown)
        options.write(picture, pictures.as_bytes(drawn, picture.suffix), replace=replace)
    table = map_tables.unusable_map if form == "table" else map_tables.unusable_list
    options.show([table(grid, shown)], form)
