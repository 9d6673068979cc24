"""`fuelsys drill`: the sheet that a tank is drilled by before it is closed."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

import click

from fuelsys_cli import options, starting
from fuelsys_cli.progress import Steps


@click.command("drill")
@click.argument("design", type=options.PATH)
@click.option("--tank", required=True, help="The tank.")
@click.option("--into", type=options.PATH, required=True, help="The file to write: .svg, .pdf or .dxf.")
@click.option(
    "--paper",
    type=click.Choice(["a4", "letter"]),
    help="The page of an SVG or PDF; a4, or letter where lengths are in inches.",
)
@click.option("--replace", is_flag=True, help="Write over a file that is there already.")
@click.option(
    "--length", "length_unit", type=options.LENGTH_UNIT, help="Unit of lengths; the design's [show] or mm without it."
)
def command(
    design: Path, tank: str, into: Path, paper: Literal["a4", "letter"] | None, replace: bool, length_unit: str | None
) -> None:
    """Write the sheet that a tank is drilled by before it is closed.

    An SVG or PDF is one page to print at 100 %: three views, dimensions from walls, sections, a table to tick. A DXF holds the
    views and templates of all openings at full size, in mm.
    """
    starting.on_design(design, tank)

    from fuelsys import review
    from fuelsys.analysis.tank.drill import drill_list
    from fuelsys.load.designs.door import load_design
    from fuelsys.report.drill import dxf as drill_dxf
    from fuelsys.report.drill import files as drill_files
    from fuelsys.report.files import check_free

    kind = into.suffix.lower()
    if kind not in drill_files.KINDS:
        raise click.UsageError(
            f'--into: "{into.name}" is no {", ".join(drill_files.KINDS[:-1])} or {drill_files.KINDS[-1]} file.'
        )
    check_free(into, replace=replace)
    if kind == ".dxf":
        if paper is not None:
            raise click.UsageError("--paper is for an SVG or PDF; a DXF is drawn at full size.")
        drill_dxf.check_installed()
    with Steps() as step:
        step("reading the design")
        layout = load_design(design)
        shown = options.units_of(None, length_unit, layout.design)
        (found,) = review.study(layout, step, only=tank).tanks
        step("drawing")
        sheet = drill_files.sheet_of(layout, found, drill_list(found), shown, paper)
        content = drill_files.as_bytes(sheet, kind)
    options.write(into, content, replace=replace)
