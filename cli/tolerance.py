"""`fuelsys tolerance`: how the answers spread when what is built is not what was drawn."""

from __future__ import annotations

from pathlib import Path

import click

from fuelsys_cli import options, starting, sweeping
from fuelsys_cli.progress import Bar


@click.command("tolerance")
@click.argument("design", type=options.PATH)
@click.option("--tank", help="One tank; all without it.")
@click.option("--set-off", type=options.LENGTH, help='Marks and outlets off along each axis, such as "2 mm".')
@click.option("--mounted", type=options.ANGLE, help='The tank off in pitch and in roll, such as "0.5 deg".')
@click.option("--flow", type=options.SHARE, help='The fuel flow off, such as "5 %".')
@click.option("--capacity", type=options.SHARE, help='The cavity\'s volume off, such as "1 %".')
@click.option("--samples", type=int, default=500, show_default=True, help="How many are drawn.")
@click.option(
    "--seed", type=click.IntRange(0), default=0, show_default=True, help="Another number draws other samples."
)
@sweeping.by_workers
@options.answers
def command(
    design: Path, tank: str | None, set_off: float | None, mounted: float | None, flow: float | None,
    capacity: float | None, samples: int, seed: int, workers: int | None, cluster: str | None, form: str, volume_unit: str | None,
    length_unit: str | None,
) -> None:  # fmt: skip
    """Show how the answers spread when what is built is not what was drawn.

    Each of --set-off, --mounted, --flow and --capacity says how far something may be off either way; what is left out is
    as drawn. Every figure is drawn uniformly within its bounds.
    """
    stated = (set_off, mounted, flow, capacity)
    if all(bound is None for bound in stated):
        raise click.UsageError("Say what may be off: --set-off, --mounted, --flow or --capacity.")
    starting.on_design(design, tank)

    from fuelsys import review
    from fuelsys.analysis.sweeping.tolerance import tolerance_study
    from fuelsys.load.designs import door
    from fuelsys.model.found.tolerance import Tolerances
    from fuelsys.report.tables import tolerance as tolerance_tables

    tolerances = Tolerances(*(bound or 0.0 for bound in stated))
    layout = review.read(design)
    shown = options.units_of(volume_unit, length_unit, layout.design)
    tables = []
    chosen = door.chosen(layout, tank)
    with sweeping.workers(workers, cluster, chosen) as (executor, ahead):
        for fitted in chosen:
            with Bar(f"tank {fitted.name}") as told:
                study = tolerance_study(layout, fitted, tolerances, samples, seed, executor, told, ahead)
            tables += tolerance_tables.tolerance(study, shown)
    options.show(tables, form)
