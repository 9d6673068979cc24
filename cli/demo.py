"""`fuelsys demo`: the review of the example aircraft."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import click

from fuelsys_cli import options, starting
from fuelsys_cli.progress import Steps


@click.command("demo")
@click.option("--into", type=options.PATH, default="demo-review", show_default=True, help="The folder to write.")
@click.option("--replace", is_flag=True, help="Write into a folder that holds other files, and over changed ones.")
@options.flown
@options.in_units
def command(into: Path, replace: bool, failures: bool, volume_unit: str | None, length_unit: str | None) -> None:
    """Write the review of the example aircraft, and its files.

    An invented two-seat high-wing taildragger with two wing tanks and an aluminium header, errors left in on purpose.
    """
    starting.compile_first()

    from fuelsys import review
    from fuelsys.load.designs import inputs
    from fuelsys.load.designs.door import load_design
    from fuelsys.report import workbook
    from fuelsys.report.page.folder import DESIGN, check_folder, write_review
    from fuelsys.report.verdict import verdict

    check_folder(into, replace=replace)
    with resources.as_file(resources.files("fuelsys_meshes")) as meshes, Steps() as step:
        step("reading the design")
        design = meshes / "taildragger.toml"
        layout = load_design(design)
        shown = options.units_of(volume_unit, length_unit, layout.design)
        study = review.study(layout, step, marks_in=shown.volume, failures=failures)
        found = review.findings(study)
        kept, _ = inputs.to_keep(design, layout)
        files = {f"{DESIGN}{name}": data for name, data in kept.items()}
        write_review(into, study, found, shown, files=files, replace=replace, progress=step)
    click.echo(verdict(study, found).headline)
    click.echo(options.summary(found))
    if not workbook.installed():
        click.echo(workbook.MISSING)
    click.echo(f"wrote {into}: open {into / 'index.html'}; its design is {into / 'design' / 'taildragger.toml'}")
