"""`fuelsys demo`: the review of the example aircraft."""

from __future__ import annotations

from importlib import resources
from pathlib import Path

import click

from fuelsys_cli import options, starting
from fuelsys_cli.review import written


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

    from fuelsys.report.page.folder import check_folder

    check_folder(into, replace=replace)
    with resources.as_file(resources.files("fuelsys_meshes")) as meshes:
        written(meshes / "taildragger.toml", into, volume_unit, length_unit, failures=failures, replace=replace)
