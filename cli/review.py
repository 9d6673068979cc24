"""`fuelsys review`: everything about a design in a folder."""

from __future__ import annotations

from pathlib import Path

import click

from fuelsys_cli import options, starting
from fuelsys_cli.progress import Steps


@click.command("review")
@click.argument("design", type=options.PATH)
@click.option("--into", type=options.PATH, help="The folder to write; NAME-review here without it.")
@click.option("--replace", is_flag=True, help="Write into a folder that holds other files, and over changed ones.")
@click.option(
    "--explorer/--no-explorer",
    default=None,
    help="The page with its attitude explorer or without; with it up to 70 000 triangles, where nothing is said.",
)
@options.in_units
def command(
    design: Path,
    into: Path | None,
    replace: bool,
    explorer: bool | None,
    volume_unit: str | None,
    length_unit: str | None,
) -> None:
    """Write tables, pictures and a page to print into a folder."""
    starting.on_design(design)

    from fuelsys import review
    from fuelsys.load.designs.door import load_design
    from fuelsys.report.page.folder import check_folder, write_review
    from fuelsys.report.verdict import verdict

    folder = into or Path(f"{design.stem}-review")
    check_folder(folder, replace=replace)
    with Steps() as step:
        step("reading the design")
        layout = load_design(design)
        shown = options.units_of(volume_unit, length_unit, layout.design)
        study = review.study(layout, step, marks_in=shown.volume)
        found = review.findings(study)
        write_review(folder, study, found, shown, replace=replace, explorer=explorer, progress=step)
    click.echo(verdict(study, found).headline)
    click.echo(options.summary(found))
    click.echo(f"wrote {folder}: open {folder / 'index.html'}")
