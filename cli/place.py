"""`fuelsys place`: where a low-level mark must sit for a target of minutes."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from fuelsys_cli import options, staging, starting, sweeping
from fuelsys_cli.progress import Bar


@click.command("place")
@click.argument("design", type=options.PATH)
@click.option("--tank", required=True, help="The tank that the switch sits in.")
@click.option("--x", type=options.LENGTH, help="Where the switch's stem stands along the mesh's x axis.")
@click.option("--y", type=options.LENGTH, help="Its place along the mesh's y axis.")
@click.option("--search", type=options.LENGTH, help='Instead of x and y: try places all over the tank, every "25 mm".')
@click.option("--reserve", type=options.RESERVE, help='The target, such as "30 min".')
@click.option(
    "--guaranteed", is_flag=True, help="At every flight attitude, not the normal one alone; --search always is."
)
@staging.in_stages
@sweeping.with_picture
@sweeping.by_workers
@options.answers
def command(
    design: Path, tank: str, x: float | None, y: float | None, search: float | None, reserve: float | None, guaranteed: bool,
    picture: Path | None, replace: bool, workers: int | None, cluster: str | None, form: str, volume_unit: str | None,
    length_unit: str | None, **by_stages: Any,
) -> None:  # fmt: skip
    """Find where a low-level mark must sit for a target of minutes.

    At --x and --y: its height. With --search: the places of the plan where no flight attitude trips it long before the
    target; csv and json list them all. With --stages: all marks of a warning in stages, with their stems and bands.
    """
    staging.check(by_stages, design, (x, y), search, reserve)
    if (search is None) == (x is None or y is None) or (search is not None and (x is not None or y is not None)):
        raise click.UsageError("Give --x and --y, or --search.")
    if picture and search is None:
        raise click.UsageError("--picture needs --search.")
    sweeping.check_picture(picture, replace=replace)
    starting.on_design(design, tank)

    from fuelsys import review
    from fuelsys.analysis.sweeping.place_search import search as search_places
    from fuelsys.analysis.tank.place import place
    from fuelsys.load.designs import door
    from fuelsys.report.tables import place as place_tables
    from fuelsys.report.tables import shared as shared_tables

    layout = review.read(design)
    (fitted,) = door.chosen(layout, tank)
    shown = options.units_of(volume_unit, length_unit, layout.design)
    layout, axes = options.showing(layout, shown), shared_tables.mesh_axes(fitted)
    built = staging.built_of(by_stages, layout)
    if search is None:
        placed = place(layout, fitted, (x or 0.0, y or 0.0), reserve or 0.0, guaranteed=guaranteed, built=built)
        options.show(place_tables.warned(place_tables.placement(placed, axes, shown), fitted), form)
        return
    with sweeping.workers(workers, cluster, [fitted]) as (executor, ahead), Bar(f"tank {tank}") as told:
        if reserve is None:
            together = staging.place(layout, fitted, by_stages, search, executor, told, ahead)
        else:
            found = search_places(layout, fitted, reserve, search, executor, told, ahead, built)
    if reserve is None:
        staging.answer(fitted, together, shown, form, into=by_stages["into"], picture=picture, replace=replace)
        return
    if picture:
        from fuelsys.report.charts import place as place_chart
        from fuelsys.report.drawing import files as pictures

        drawn = pictures.as_bytes(place_chart.plan(fitted, found, shown), picture.suffix)
        options.write(picture, drawn, replace=replace)
    tables = [place_tables.places(found, axes, shown, everything=form != "table")]
    tables += place_tables.around_best(found, shown) if form == "table" else []
    options.show(place_tables.warned(tables, fitted), form)
