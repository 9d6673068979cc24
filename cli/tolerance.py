"""`fuelsys tolerance`: how the answers spread when what is built is not what was drawn, and what the spreads come from."""

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
@click.option("--density", type=options.SHARE, help='The fuel\'s density off, such as "4 %"; floats ride by it.')
@click.option("--samples", type=int, default=500, show_default=True, help="How many are drawn.")
@click.option(
    "--seed", type=click.IntRange(0), default=0, show_default=True, help="Another number draws other samples."
)
@click.option("--shares", is_flag=True, help="Say besides what each spread comes from: shares of its variance.")
@click.option(
    "--combined",
    is_flag=True,
    help="Say besides when switches trip where tilts come together, false alarms and missed ones.",
)
@click.option(
    "--early", type=options.VOLUME, help="A trip in normal flight with more than this is a false alarm (--combined)."
)
@sweeping.with_picture
@sweeping.by_workers
@options.answers
def command(
    design: Path, tank: str | None, set_off: float | None, mounted: float | None, flow: float | None,
    capacity: float | None, density: float | None, samples: int, seed: int, shares: bool, combined: bool, early: float | None,
    picture: Path | None, replace: bool, workers: int | None, cluster: str | None, form: str, volume_unit: str | None,
    length_unit: str | None,
) -> None:  # fmt: skip
    """Show how the answers spread when what is built is not what was drawn.

    Each of --set-off, --mounted, --flow, --capacity and --density says how far something may be off either way; what is left
    out is as drawn. Every figure is drawn uniformly within its bounds, and each switch's own tolerance too. --picture draws the
    shares of one tank.
    """
    stated = (set_off, mounted, flow, capacity, density)
    if all(bound is None for bound in stated):
        raise click.UsageError("Say what may be off: --set-off, --mounted, --flow, --capacity or --density.")
    if early is not None and not combined:
        raise click.UsageError("--early: it is asked for with --combined only.")
    if picture and tank is None:
        raise click.UsageError("--picture: name its tank with --tank.")
    sweeping.check_picture(picture, replace=replace)
    starting.on_design(design, tank)

    from fuelsys import review
    from fuelsys.analysis.sweeping.tolerance import tolerance_study
    from fuelsys.load.designs import door
    from fuelsys.model.found.tolerance import Tolerances
    from fuelsys.report.tables import tolerance as tables_of

    tolerances = Tolerances(*(bound or 0.0 for bound in stated))
    layout = review.read(design)
    shown = options.units_of(volume_unit, length_unit, layout.design)
    tables = []
    chosen = door.chosen(layout, tank)
    with sweeping.workers(workers, cluster, chosen) as (executor, ahead):
        for fitted in chosen:
            with Bar(f"tank {fitted.name}") as told:
                study = tolerance_study(layout, fitted, tolerances, samples, seed, executor, told, ahead)
            tables += tables_of.tolerance(study, shown)
            if shares or picture:
                from fuelsys.analysis.sweeping.shares import variance_shares

                with Bar(f"tank {fitted.name}: shares") as told:
                    found = variance_shares(layout, fitted, tolerances, seed, progress=told)
                tables.append(tables_of.shares(fitted.name, found, seed, shown))
                if picture:
                    from fuelsys.report.charts.tolerance import bars
                    from fuelsys.report.drawing import files as pictures

                    drawn = pictures.as_bytes(bars(fitted.name, found, seed), picture.suffix)
                    options.write(picture, drawn, replace=replace)
            if combined and fitted.design.switch:
                from fuelsys.analysis.sweeping.bands import switch_bands

                over = switch_bands(layout, fitted, tolerances, samples, seed, early)
                tables.append(tables_of.bands(fitted.name, over, tolerances, seed, shown))
    options.show(tables, form)
